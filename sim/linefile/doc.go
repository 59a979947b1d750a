// Package linefile turns a line description, a TOML file, into a simulated line
// with its devices.
//
//	[line]
//	name = "Quillmere"           # required; all else of [line] has a default
//	supply_v = 24.0              # not used yet
//	resistor_ohm = 250           # not used yet
//	seed = 1                     # every random choice on the line follows from it
//	grid_ms = 100                # how far apart transmitters compute
//	store_ms = 5                 # how long a write takes until it is durable
//
//	[[device]]                   # 1 to 64 of them
//	tag = "FC-102"               # names it in this file too
//	polling = 2
//	kind = "flow"                # differential, gauge, absolute, level, flow, temperature
//	revision = 5                 # 5 to 7; 7
//	latency_ms = 80              # 50
//	multidrop_current = true     # revision 5: a controller drives the current at any address; false
//	write_ms = 200               # what a write takes; past 256 ms its reply is a delayed one; 0
//	write_protect = true         # false
//	damping_s = 0.4              # 0
//	stages = [                   # their order; left out, this is the usual one
//	  "sensor", "characterisation", "damping", "trim", "range", "transfer",
//	  "table", "user_unit", "totaliser", "controller", "output",
//	]
//	  [device.sensor]
//	  lower = -10.0              # its limits; 0 or more of an absolute pressure
//	  upper = 50.0
//	  unit = "kPa"
//	  minimum_span = 2.5         # of the range; 0
//	  low_side = 1.0             # what acts on its low side, in its unit: differential, level, flow; 0
//	  at_c = 35.0                # its temperature; 20
//	  zero_per_k = 0.01          # what every kelvin from 20 °C moves it by; 0
//	  span_per_k_percent = 0.02  # and makes of its values more; 0
//	  [device.characterisation]  # what is known of the two, and taken off; all of it
//	  zero_per_k = 0.008
//	  span_per_k_percent = 0.02
//	  [device.trim]
//	  gain = 1.0
//	  offset = 0.0
//	  [device.range]             # what 0 and 100 % are; the sensor's limits
//	  lower = 0.0
//	  upper = 25.0
//	  unit = "kPa"               # the sensor's
//	  [device.transfer]          # square root for flow, else linear
//	  power = "1/2"              # "linear", "1/2", "3/2", "5/2" or a number
//	  cut_off_percent = 2.0      # 0
//	  [device.table]             # percent to percent, 2 to 32 points
//	  points = [[0, 0], [50, 52], [100, 100]]
//	  [device.user_unit]         # what 0 and 100 % read as; else the range counts
//	  lower = 0.0
//	  upper = 120.0
//	  unit = "m³/h"
//	  [device.totaliser]
//	  unit = "m³"
//	  save_every = "10s"         # 100ms to 1h
//	  [device.controller]
//	  mode = "auto"              # off, manual or auto
//	  action = "reverse"         # or "direct": its output rises with the process variable
//	  set_point_percent = 50.0
//	  manual_percent = 40.0      # its output in manual, and where it begins; the lower limit
//	  gain = 1.2                 # 1
//	  integral_s = 20.0          # 0 is none, so is 0 below
//	  derivative_s = 2.0
//	  output_percent = [0, 100]
//	  [device.output]
//	  source = "manipulated"     # "pv"; or "fixed", with fixed_ma; all currents are 3 to 25 mA
//	  saturation_ma = [3.8, 20.5]
//	  failure_ma = 21.5
//	  converter_gain = 1.0       # what is wrong with the current before it is trimmed
//	  converter_offset_ma = 0.0
//	  [device.process]           # what acts on the sensor
//	  model = "orifice"
//	  pipe_mm = 150.0
//	  bore_mm = 95.2
//	  discharge = 0.606          # discharge coefficient
//	  expansibility = 1.0
//	  density_kg_m3 = 1000.0
//	  flow_kg_h = 110e3          # with the valve open
//	  swing_kg_h = 5e3           # a sine on top of it, of period_s; 0
//	  period_s = 60
//	  lag_s = 2.0                # 0
//	  valve = "FC-102"           # whose current opens it; none: it is open
//	  noise = 0.05               # standard deviation, in kPa here; 0
//	  fails_at_s = 3600          # from then on the sensor reads nothing; never
//
//	[[device]]
//	tag = "LT-103"
//	polling = 3
//	kind = "level"
//	sensor = { lower = 0.0, upper = 40.0, unit = "kPa" }
//	  [device.table]             # made for a vessel: sphere, lying cylinder, standing
//	  shape = "sphere"           # cylinder, cone apex up, cone apex down
//	  points = 16
//	  [device.process]
//	  model = "tank"
//	  shape = "sphere"
//	  volume_m3 = 33.5
//	  height_m = 4.0             # as usual for such a volume
//	  density_kg_m3 = 1000.0
//	  level_percent = 50.0
//	  inflow_m3h = 12.0          # 0
//	  outflow_m3h = 24.0         # of the full tank; twice the inflow
//	  valve_on = "outflow"       # or "inflow"
//	  above_kpa = 0.0            # presses on what is in it; 101.325 for kind absolute
//
//	[[fault]]
//	device = "LT-103"
//	kind = "late reply"          # or "no reply", which has no delay_chars
//	delay_chars = 30
//	probability = 0.1            # 1
//
// Behind # stands the default where it is another than the example. A device may
// also carry long_tag (its tag), descriptor, message, date, maker (249),
// device_type (by kind), device_id (100 and its place in the file), preambles and
// reply_preambles (5), amplitude_v (0.5), loop_current_mode ("fixed" or
// "modulated", which is usual at polling address 0; not in revision 5), and
// allow_duplicate for two devices that are to share a polling address. "pressure"
// is another word for the kind gauge.
//
// The other processes are constant (value), ramp (from, to, start_s, length_s),
// step (before, after, start_s), sine (low, high, period_s), csv (file, of times
// and values; repeat) and thermal (ambient, rise, time_constant_s, start; a valve
// too). Their numbers are in the sensor's unit; tank and orifice make kPa, which
// are converted. What a process gives acts on the high side of the sensor.
//
// What is wrong is refused with an [*Error], which has the place and says what
// would be right.
package linefile
