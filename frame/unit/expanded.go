package unit

// expanded holds the codes from 170 to 219 whose meaning is known for the
// classes from to to. The groups are published; that gas flows belong to class
// 66 and volumes to class 68 is from memory.
//
// Source: Siemens SITRANS FST030 A5E37367739-AD pp.149, 156 (all but classes
// 103 to 106); FieldComm Group support article 8000091234 (classes 103 to 106).
var expanded = []struct {
	code     Code
	from, to Class
	symbol   string
}{
	{170, 68, 68, "barrel (31 US gal)"},
	{171, 68, 68, "std L"},
	{172, 68, 68, "std m³"},
	{174, 66, 66, "normal L/day"},
	{175, 66, 66, "normal L/min"},
	{176, 66, 66, "normal L/s"},
	{177, 66, 66, "std L/day"},
	{178, 66, 66, "std L/h"},
	{179, 66, 66, "std L/min"},
	{180, 66, 66, "std L/s"},
	{181, 66, 66, "normal m³/day"},
	{182, 66, 66, "normal m³/min"},
	{183, 66, 66, "normal m³/s"},
	{184, 66, 66, "std ft³/day"},
	{185, 66, 66, "std ft³/h"},
	{186, 66, 66, "std ft³/s"},
	{187, 66, 66, "std m³/day"},
	{188, 66, 66, "std m³/h"},
	{189, 66, 66, "std m³/min"},
	{190, 66, 66, "std m³/s"},
	{189, 103, 103, "US liquid barrel/s"},
	{189, 104, 104, "US liquid barrel/min"},
	{189, 105, 105, "US liquid barrel/h"},
	{189, 106, 106, "US liquid barrel/day"},
}
