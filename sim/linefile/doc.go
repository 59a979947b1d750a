// Package linefile turns a line description, a TOML file, into a simulated line
// with its devices.
//
//	[line]
//	name = "Quillmere"           # required; all else of [line] has a default
//	seed = 1                     # every random choice on the line follows from it
//	grid_ms = 100                # how far apart transmitters compute
//	store_ms = 5                 # how long a write takes until it is durable
//	supply_v = 24.0              # of the loop's supply
//	supply_ohm = 1.0             # its impedance for the tones
//	supply_ma = 100              # that it can carry; not known
//	resistor_ohm = 250           # that tones and current are read across; 0 is none
//	barrier_ohm = 0              # of an intrinsically safe barrier
//	series = [ { name = "indicator", ohm = 10 } ] # what else the current goes through; nothing
//	host_at = "resistor"         # where hosts are clipped on: "resistor", "supply" or a tag
//	host_ohm = 100               # output impedance of a host that talks
//	host_v = 0.5                 # its tones across 250 ohm, peak to peak
//	host_nf = 0                  # its capacitance
//	host_swapped = false         # its leads are
//
//	[[line.cable]]               # up to 1000 stretches of cable, a pair of cores each
//	name = "trunk"
//	behind = ""                  # name of the cable that it goes on from, "" for none; the one before it
//	length_m = 600
//	awg = 18                     # gauge of a core, 0 to 40, or instead of it
//	# ohm_per_km = 21.0          # resistance of one core
//	nf_per_km = 100              # between the cores
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
//	behind = "trunk"             # the cable at whose end it hangs, "" for none; the last one, if there is one
//	lift_off_v = 10.5            # least voltage that it works with; not known, and it never goes dark
//	input_nf = 5.0               # capacitance, or capacitance_number = 1, which is 5 nF; 0
//	amplitude_v = 0.5            # of its tones across 250 ohm, peak to peak
//	reversed = false             # its leads are swapped
//	clock_ppm = 500              # error of the clock that it sends by: bits so much longer, tones lower; 0
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
//	  [[device.burst]]           # what it publishes by itself: burst mode is on
//	  command = 3                # 1, 2, 3, 9, 33 or 48
//	  every = "1s"               # 0.5s to 32s in doublings, or 60s to 3600s; 0.5s
//	  maximum = "60s"            # where nothing triggers it; 60s, or every
//	  trigger = "rising"         # continuous, window, rising, falling or on change; continuous
//	  level = 20.0               # of the trigger, in the unit of what is published; 0
//
//	[[master]]                   # that is simulated, one of each kind at the most
//	kind = "primary"             # or "secondary"
//	retries = 3                  # 0 to 10 times where there is no answer
//	clock_ppm = -200             # 0
//	poll = [                     # without it: command 3 of every device, in turn
//	  { device = "LT-103", command = 3, every = "2s" },
//	  { device = "LT-103", command = 9, data = "00f6" }, # whenever there is a turn left
//	]
//
//	[[fault]]
//	kind = "late reply"          # what kinds there are says package fault, and their settings
//	device = "LT-103"
//	delay_chars = 30
//	probability = 0.1            # of each occasion; 1
//	count = 100                  # how often at the most; no limit
//	from = "12s"                 # 0s
//	until = "20s"                # no end
//	name = "old amplifier"       # by which it is removed; its kind, with a number if that is taken
//
//	[[fault]]
//	kind = "line cut"
//	behind = "FC-102"            # with some kinds another device has part in it
//	from = "1h"
//
//	[[at]]                       # something that is done at a moment
//	time = "12s"
//	set = "LT-103.process.value"
//	to = 20.0
//
//	[[at]]
//	time = "14s"
//	mute = "FC-102"
//
// Behind # stands the default where it is another than the example. A device may
// also carry long_tag (its tag), descriptor, message, date, maker (249),
// device_type (by kind), device_id (100 and its place in the file), preambles and
// reply_preambles (5), loop_current_mode ("fixed" or
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
// A time is a text such as "12s", "500ms" or "1h30m", or a number of seconds.
//
// # Electricity
//
// [Description.Loop] is the electricity of a line, and [Description.Budget] reckons it.
// On the running line it acts where the file says something of it: one of the keys from
// supply_v to host_swapped, a cable, or one of a device's keys behind, lift_off_v,
// input_nf, capacitance_number and reversed. A device with less than its lift-off voltage
// goes dark at the next grid point, and comes back with a cold start; one whose leads are
// swapped is dark; and tones reach each receiver as strongly as the wires let them.
// Simulated masters, and hosts outside, are where host_at says. What happens is told
// ([Assembly.News]). Only the budget judges what the supply can carry: on the running
// line it gives what is drawn.
//
// Places and "line" below are never taken for tags, which have no lower-case letters:
// host_at = "RESISTOR" is a device of that tag, host_at = "resistor" is the resistor.
//
// # Faults
//
// [fault.Kinds] lists the kinds, what each can strike, and its settings. "device" is
// the tag of a device; "talker" is that of a device too, or "primary master",
// "secondary master" or "host", which is everybody outside. Without both, a fault
// strikes whoever talks. What lasts, such as a line cut, has neither probability nor
// count; what strikes now and then counts only where it has changed something.
// A simulated master goes on beside a second primary master. [Description.ReadFault]
// reads the same keys from the argument of a flag: "late reply, device=LT-103,
// delay_chars=30".
//
// # Actions
//
// An [[at]] has a time and one of these keys; actions of one moment are done in the
// order of the file:
//
//	set     TAG.KEY, a key of the device's table by its path: damping_s, range.upper,
//	        burst[0].every, a whole table such as range. "to" is its value. The table is
//	        read anew, and what is wrong then is refused, as is what makes the device:
//	        its tag, identity, stages, grid, the unit of its sensor. It is as if somebody
//	        had done it at the device: what a host wrote there counts no more.
//	        process.value makes the process a constant, in the sensor's unit, which no
//	        valve acts upon; its noise, and the failure of the sensor, stay.
//	        Or line.KEY, a key of the electricity, for instance line.supply_v or
//	        line.cable[0].length_m. A supply may be set to less than a device needs.
//	mute    TAG: the device does not reply any more; it hears, and does what it is asked
//	unmute  TAG: it replies again
//	move    TAG: the device hangs behind another one on the wires, whose tag is "behind", or
//	        at their beginning without that, and at the same cable; in a file, the wires
//	        go from device to device in the order of the file. A line cut knows their
//	        order, and the cables.
//	fault   a table, as a [[fault]] is one: it is added
//	remove  the name of a fault: it is taken away
//	stop    true: line time stands still, where it follows a clock
//	go      true: it goes on; only without a time, to which no line comes that stands still
//
// A JSON object with the same keys, such as {"mute": "FC-102"}, is an action too
// ([Description.ReadAction]). There time may be missing: then it is done at once.
//
// What is wrong is refused with an [*Error], which has the place and says what
// would be right.
package linefile
