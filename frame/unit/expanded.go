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
	row      row
}{
	{170, 68, 68, row{symbol: "barrel (31 gal)", quantity: Volume}},
	{171, 68, 68, row{symbol: "std L", quantity: StandardVolume}},
	{172, 68, 68, row{symbol: "std m³", quantity: StandardVolume}},
	{174, 66, 66, row{symbol: "normal L/day", quantity: NormalVolumeFlow}},
	{175, 66, 66, row{symbol: "normal L/min", quantity: NormalVolumeFlow}},
	{176, 66, 66, row{symbol: "normal L/s", quantity: NormalVolumeFlow}},
	{177, 66, 66, row{symbol: "std L/day", quantity: StandardVolumeFlow}},
	{178, 66, 66, row{symbol: "std L/h", quantity: StandardVolumeFlow}},
	{179, 66, 66, row{symbol: "std L/min", quantity: StandardVolumeFlow}},
	{180, 66, 66, row{symbol: "std L/s", quantity: StandardVolumeFlow}},
	{181, 66, 66, row{symbol: "normal m³/day", quantity: NormalVolumeFlow}},
	{182, 66, 66, row{symbol: "normal m³/min", quantity: NormalVolumeFlow}},
	{183, 66, 66, row{symbol: "normal m³/s", quantity: NormalVolumeFlow}},
	{184, 66, 66, row{symbol: "std ft³/day", quantity: StandardVolumeFlow}},
	{185, 66, 66, row{symbol: "std ft³/h", quantity: StandardVolumeFlow}},
	{186, 66, 66, row{symbol: "std ft³/s", quantity: StandardVolumeFlow}},
	{187, 66, 66, row{symbol: "std m³/day", quantity: StandardVolumeFlow}},
	{188, 66, 66, row{symbol: "std m³/h", quantity: StandardVolumeFlow}},
	{189, 66, 66, row{symbol: "std m³/min", quantity: StandardVolumeFlow}},
	{190, 66, 66, row{symbol: "std m³/s", quantity: StandardVolumeFlow}},
	{189, 103, 103, row{symbol: "barrel (31.5 gal)/s", quantity: VolumeFlow}},
	{189, 104, 104, row{symbol: "barrel (31.5 gal)/min", quantity: VolumeFlow}},
	{189, 105, 105, row{symbol: "barrel (31.5 gal)/h", quantity: VolumeFlow}},
	{189, 106, 106, row{symbol: "barrel (31.5 gal)/day", quantity: VolumeFlow}},
}
