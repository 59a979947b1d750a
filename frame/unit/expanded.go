package unit

import "slices"

// Classed is what a code from 170 to 219 means for variables of a class.
type Classed struct {
	Code            Code
	Class           Class
	Symbol          string
	ClassFromMemory bool // the document names the group, not the number of its class
}

// WithClass lists what is known of the codes that need a class.
func WithClass() []Classed { return slices.Clone(expanded) }

// The classes of flow and of volume; from memory.
const (
	flow   Class = 66
	volume Class = 68
)

// expanded holds the codes that need a class. The groups are published; that gas
// flows belong to class 66 and volumes to class 68 is from memory.
//
// Source: Siemens SITRANS FST030 A5E37367739-AD pp.149, 156 (all but classes
// 103 to 106); FieldComm Group support article 8000091234 (classes 103 to 106).
var expanded = []Classed{
	{170, volume, "barrel (31 US gal)", true},
	{171, volume, "std L", true},
	{172, volume, "std m³", true},
	{174, flow, "normal L/day", true},
	{175, flow, "normal L/min", true},
	{176, flow, "normal L/s", true},
	{177, flow, "std L/day", true},
	{178, flow, "std L/h", true},
	{179, flow, "std L/min", true},
	{180, flow, "std L/s", true},
	{181, flow, "normal m³/day", true},
	{182, flow, "normal m³/min", true},
	{183, flow, "normal m³/s", true},
	{184, flow, "std ft³/day", true},
	{185, flow, "std ft³/h", true},
	{186, flow, "std ft³/s", true},
	{187, flow, "std m³/day", true},
	{188, flow, "std m³/h", true},
	{189, flow, "std m³/min", true},
	{190, flow, "std m³/s", true},
	{189, 103, "US liquid barrel/s", false},
	{189, 104, "US liquid barrel/min", false},
	{189, 105, "US liquid barrel/h", false},
	{189, 106, "US liquid barrel/day", false},
}
