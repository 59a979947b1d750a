// Package commandfile reads and writes definitions of commands as TOML: those of
// a user, and the built-in ones in the same form.
//
//	[[command]]
//	manufacturer = 249            # 0 to 255, with
//	device_type = 3               # 0 to 255: devices of revision 5 and 6; or
//	# expanded_device_type = 0xe1a2 of revision 7; without any: every device
//	number = 146                  # 128 to 253, or another that is not universal
//	name = "write set point"
//	write = true                  # true; it changes something in the device
//	reply_repeats_request = true  # false; the reply has the layouts of the request
//	  [[command.request]]         # a layout; empty where requests carry no data
//	  revisions = "5-6"           # "5-"; universal revisions: "7", "5-6", "6-" (6 and newer)
//	  fields = [                  # in the order of the bytes
//	    { name = "selector", type = "enumeration", size = 1, table = "set point source" },
//	    { name = "set point", type = "float", unit = "%" },
//	  ]
//	  # [[command.reply]]         has the same keys, where replies differ from requests
//	  [command.codes]             # what response codes mean for this command
//	  9 = "set point too high"
//
//	[[table]]
//	name = "set point source"
//	rows = [
//	  { code = 0, text = "analog input" },
//	  { code = 1, text = "bus" },
//	]
//
// Behind # stands the default first, where a key may be left out. A direction
// without a layout is one of which nothing is known: its data are shown in hex.
//
// # Layouts
//
// Fields stand in the order of the bytes. The last ones may be left out of the
// data where need says how many must be there. Behind fields, group is a list of
// fields that is repeated min (1) to max times, and tail what follows behind the
// last repetition:
//
//	fields = [ { name = "status", type = "flags", size = 1 } ]
//	group = [ { name = "variable code", type = "unsigned", size = 1 } ]
//	min = 1
//	max = 8
//	tail = [ { name = "time stamp", type = "time", unit = "s" } ]
//
// # Fields
//
// The types are
//
//	unsigned      whole number of 1 to 4 bytes
//	enumeration   1 to 4 bytes; table names a code table
//	flags         1 to 4 bytes, each bit on its own; table likewise
//	float         4 bytes
//	unit code     1 byte; class_field names the field with the classification on
//	              which the codes 170 to 219 depend
//	packed ascii  four characters in three bytes; size counts bytes
//	latin-1       one character a byte
//	date          3 bytes
//	time          4 bytes, counts of 1/32 ms
//	bytes         uninterpreted; size_field, in place of size, names the field that
//	              holds their number
//
// Types of one size only need no size. A whole number may be some bits of its
// bytes, as bits = "7-3" or bits = "2"; fields that share bytes follow each other
// from the top bit down to bit 0. A float, an unsigned or a time may have a unit:
// unit = "kPa" by symbol or by code, or unit_field = "…", the name of the field
// that holds it. A byte that tells the universal revision, and so which layout
// holds, carries tells_revision = true.
//
// A size_field names an unsigned of one byte that stands before it in the same
// list, in fields or in group. The bytes are then the last of their list, and
// nothing follows them but the next repetition of the group:
//
//	group = [
//	  { name = "byte count", type = "unsigned", size = 1 },
//	  { name = "parameter data", type = "bytes", size_field = "byte count" },
//	]
//	max = 40
//
// # Tables
//
// A table is one of the file or a built-in one. Rows of flags say bit = 3 in
// place of code; several bits that are read together are rows with a code and the
// mask of the bits. A table may name its source.
//
// What is wrong is refused with an [*Error], which has the place and says what
// would be right.
package commandfile
