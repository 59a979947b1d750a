// Package linefile turns a line description, a TOML file, into a simulated line
// with its devices.
//
//	[line]
//	name = "Quillmere"           # required; all else of [line] has a default
//	supply_v = 24.0
//	resistor_ohm = 250
//	seed = 1                     # every random choice on the line follows from it
//	grid_ms = 100                # how far apart transmitters compute
//
//	[[device]]                   # 1 to 64 of them
//	tag = "FT-102"               # names it in this file too
//	polling = 2
//	kind = "flow"                # pressure, level, flow or temperature
//	revision = 7                 # 5 to 7
//	latency_ms = 80              # 50
//	loop_current_mode = "fixed"  # not in revision 5; "modulated" at polling address 0
//	damping_s = 0.4              # 0
//	  [device.sensor]            # its limits
//	  lower = 0.0
//	  upper = 50.0
//	  unit = "kPa"
//	  [device.range]             # what 0 and 100 % are; the sensor's limits
//	  lower = 0.0
//	  upper = 25.0
//	  unit = "kPa"               # the sensor's
//	  [device.transfer]          # square root for flow, else linear
//	  power = "1/2"              # "linear", "1/2", "3/2", "5/2" or a number
//	  cut_off_percent = 2.0      # 0
//	  [device.user_unit]         # what 0 and 100 % read as; else the range counts
//	  lower = 0.0
//	  upper = 120.0
//	  unit = "m³/h"
//	  [device.output]
//	  saturation_ma = [3.8, 20.5]
//	  failure_ma = 21.5
//	  [device.process]           # what the sensor meets, in its unit
//	  model = "sine"             # low, high, period_s; or constant: value;
//	  low = 4.0                  # ramp: from, to, start_s, length_s;
//	  high = 16.0                # step: before, after, start_s
//	  period_s = 120
//	  noise = 0.05               # standard deviation; 0
//
//	[[fault]]
//	device = "FT-102"
//	kind = "late reply"          # or "no reply", which has no delay_chars
//	delay_chars = 30
//	probability = 0.1            # 1
//
// Behind # stands the default where it is another than the example. A device may
// also carry long_tag (its tag), descriptor, message, date, maker (249),
// device_type (by kind), device_id (100 and its place in the file), preambles and
// reply_preambles (5), amplitude_v (0.5), and allow_duplicate for two devices that
// are to share a polling address.
//
// What is wrong is refused with an [*Error], which has the place and says what
// would be right.
package linefile
