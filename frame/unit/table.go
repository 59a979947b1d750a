package unit

// table holds every code that has a meaning without a class.
//
// Source: ABB 266 Modbus manual 2105216 p.87; KROHNE IFC 010 HART command
// specification p.28; KROHNE UFC 500 HART command specification p.14; Honeywell
// Enraf 990 service manual 4417.762 table 6-7; Buerkert, Type 8605 description
// of communication pp.16-18; Buerkert mass flow controllers, serial
// communication supplement p.29; Rosemount 3300 reference manual
// 00809-0100-4811 table C-17; VEGAPULS 69 Modbus instructions 47252-EN p.81;
// Siemens SITRANS FST030 A5E37367739-AD pp.149, 156; 2flow MAG-11 manual p.44.
// Rows marked m are from memory.
var table = [256]row{
	1:   {"inH2O 68 °F", Pressure, inch * gravity * water68F, 1, 0}, // m
	2:   {"inHg 0 °C", Pressure, inch * gravity * mercury, 1, 0},
	3:   {"ftH2O 68 °F", Pressure, foot * gravity * water68F, 1, 0},
	4:   {"mmH2O 68 °F", Pressure, gravity * water68F, 1000, 0},
	5:   {"mmHg 0 °C", Pressure, gravity * mercury, 1000, 0},
	6:   {"psi", Pressure, poundInch, 1, 0},
	7:   {"bar", Pressure, 100_000, 1, 0},
	8:   {"mbar", Pressure, 100, 1, 0},
	9:   {"g/cm²", Pressure, 10 * gravity, 1, 0},
	10:  {"kg/cm²", Pressure, 10_000 * gravity, 1, 0},
	11:  {"Pa", Pressure, 1, 1, 0},
	12:  {"kPa", Pressure, 1000, 1, 0},
	13:  {"torr", Pressure, 101_325, 760, 0},
	14:  {"atm", Pressure, 101_325, 1, 0},
	15:  {"ft³/min", VolumeFlow, foot * foot * foot, minute, 0}, // m
	16:  {"US gal/min", VolumeFlow, gallon, minute, 0},
	17:  {"L/min", VolumeFlow, 1, 1000 * minute, 0},
	18:  {"imp gal/min", VolumeFlow, impGallon, minute, 0}, // m
	19:  {"m³/h", VolumeFlow, 1, hour, 0},
	20:  {"ft/s", Velocity, foot, 1, 0}, // m
	21:  {"m/s", Velocity, 1, 1, 0},     // m
	22:  {"gal/s", VolumeFlow, gallon, 1, 0},
	23:  {"Mgal/day", VolumeFlow, 1_000_000 * gallon, day, 0}, // m
	24:  {"L/s", VolumeFlow, 1, 1000, 0},
	25:  {"ML/day", VolumeFlow, 1000, day, 0},                // m
	26:  {"ft³/s", VolumeFlow, foot * foot * foot, 1, 0},     // m
	27:  {"ft³/day", VolumeFlow, foot * foot * foot, day, 0}, // m
	28:  {"m³/s", VolumeFlow, 1, 1, 0},
	29:  {"m³/day", VolumeFlow, 1, day, 0},              // m
	30:  {"imp gal/h", VolumeFlow, impGallon, hour, 0},  // m
	31:  {"imp gal/day", VolumeFlow, impGallon, day, 0}, // m
	32:  {"°C", Temperature, 1, 1, 0},
	33:  {"°F", Temperature, 5, 9, 32},
	34:  {"°R", Temperature, 5, 9, 491.67},
	35:  {"K", Temperature, 1, 1, 273.15},
	36:  {"mV", Voltage, 1, 1000, 0},  // m
	37:  {"ohm", Resistance, 1, 1, 0}, // m
	38:  {"Hz", Frequency, 1, 1, 0},   // m
	39:  {"mA", Current, 1, 1000, 0},
	40:  {"gal", Volume, gallon, 1, 0},
	41:  {"L", Volume, 1, 1000, 0},
	42:  {"imp gal", Volume, impGallon, 1, 0},
	43:  {"m³", Volume, 1, 1, 0},
	44:  {"ft", Length, foot, 1, 0},
	45:  {"m", Length, 1, 1, 0},
	46:  {"barrel (42 gal)", Volume, barrel, 1, 0},
	47:  {"in", Length, inch, 1, 0},
	48:  {"cm", Length, 1, 100, 0},
	49:  {"mm", Length, 1, 1000, 0},
	50:  {"min", Time, minute, 1, 0}, // m
	51:  {"s", Time, 1, 1, 0},
	52:  {"h", Time, hour, 1, 0},                      // m
	53:  {"day", Time, day, 1, 0},                     // m
	54:  {"cSt", KinematicViscosity, 1, 1_000_000, 0}, // m
	55:  {"cP", DynamicViscosity, 1, 1000, 0},         // m
	56:  {"µmho", Conductance, 1, 1_000_000, 0},       // m
	57:  {"%", Ratio, 1, 100, 0},
	58:  {"V", Voltage, 1, 1, 0},
	59:  {symbol: "pH", quantity: Acidity}, // m
	60:  {"g", Mass, 1, 1000, 0},
	61:  {"kg", Mass, 1, 1, 0},
	62:  {"t", Mass, 1000, 1, 0},
	63:  {"lb", Mass, pound, 1, 0},
	64:  {"short ton", Mass, shortTon, 1, 0},
	65:  {"long ton", Mass, longTon, 1, 0},
	66:  {"mS/cm", Conductivity, 1, 10, 0},                // m
	67:  {"µS/cm", Conductivity, 1, 10_000, 0},            // m
	68:  {"N", Force, 1, 1, 0},                            // m
	69:  {"N·m", Energy, 1, 1, 0},                         // m
	70:  {"g/s", MassFlow, 1, 1000, 0},                    // m
	71:  {"g/min", MassFlow, 1, 1000 * minute, 0},         // m
	72:  {"g/h", MassFlow, 1, 1000 * hour, 0},             // m
	73:  {"kg/s", MassFlow, 1, 1, 0},                      // m
	74:  {"kg/min", MassFlow, 1, minute, 0},               // m
	75:  {"kg/h", MassFlow, 1, hour, 0},                   // m
	76:  {"kg/day", MassFlow, 1, day, 0},                  // m
	77:  {"t/min", MassFlow, 1000, minute, 0},             // m
	78:  {"t/h", MassFlow, 1000, hour, 0},                 // m
	79:  {"t/day", MassFlow, 1000, day, 0},                // m
	80:  {"lb/s", MassFlow, pound, 1, 0},                  // m
	81:  {"lb/min", MassFlow, pound, minute, 0},           // m
	82:  {"lb/h", MassFlow, pound, hour, 0},               // m
	83:  {"lb/day", MassFlow, pound, day, 0},              // m
	84:  {"short ton/min", MassFlow, shortTon, minute, 0}, // m
	85:  {"short ton/h", MassFlow, shortTon, hour, 0},     // m
	86:  {"short ton/day", MassFlow, shortTon, day, 0},    // m
	87:  {"long ton/h", MassFlow, longTon, hour, 0},       // m
	88:  {"long ton/day", MassFlow, longTon, day, 0},      // m
	89:  {symbol: "decatherm", quantity: Energy},          // m
	90:  {symbol: "specific gravity", quantity: Density},  // m
	91:  {"g/cm³", Density, 1000, 1, 0},                   // m
	92:  {"kg/m³", Density, 1, 1, 0},
	93:  {"lb/gal", Density, pound, gallon, 0}, // m
	94:  {"lb/ft³", Density, pound, foot * foot * foot, 0},
	95:  {"g/mL", Density, 1000, 1, 0},                               // m
	96:  {"kg/L", Density, 1000, 1, 0},                               // m
	97:  {"g/L", Density, 1, 1, 0},                                   // m
	98:  {"lb/in³", Density, pound, inch * inch * inch, 0},           // m
	99:  {"short ton/yd³", Density, shortTon, yard * yard * yard, 0}, // m
	100: {symbol: "°Twaddell", quantity: HydrometerScale},            // m
	101: {symbol: "°Brix", quantity: HydrometerScale},                // m
	102: {symbol: "°Baumé heavy", quantity: HydrometerScale},         // m
	103: {symbol: "°Baumé light", quantity: HydrometerScale},         // m
	104: {symbol: "°API", quantity: HydrometerScale},
	105: {symbol: "% solids weight", quantity: SolidsContent}, // m
	106: {symbol: "% solids volume", quantity: SolidsContent}, // m
	107: {symbol: "°Balling", quantity: HydrometerScale},      // m
	108: {symbol: "proof/volume", quantity: AlcoholContent},   // m
	109: {symbol: "proof/mass", quantity: AlcoholContent},     // m
	110: {"bushel", Volume, bushel, 1, 0},
	111: {"yd³", Volume, yard * yard * yard, 1, 0},
	112: {"ft³", Volume, foot * foot * foot, 1, 0},
	113: {"in³", Volume, inch * inch * inch, 1, 0},
	114: {"in/s", Velocity, inch, 1, 0},              // m
	115: {"in/min", Velocity, inch, minute, 0},       // m
	116: {"ft/min", Velocity, foot, minute, 0},       // m
	117: {"°/s", AngularVelocity, pi, 180, 0},        // m
	118: {"rev/s", AngularVelocity, 2 * pi, 1, 0},    // m
	119: {"rpm", AngularVelocity, 2 * pi, minute, 0}, // m
	120: {"m/h", Velocity, 1, hour, 0},               // m
	121: {"normal m³/h", NormalVolumeFlow, 1, hour, 0},
	122: {"normal L/h", NormalVolumeFlow, 1, 1000 * hour, 0},
	123: {"std ft³/min", StandardVolumeFlow, foot * foot * foot, minute, 0},
	124: {"barrel liquid (31.5 gal)", Volume, 31.5 * gallon, 1, 0},
	125: {"oz", Mass, ounce, 1, 0},
	126: {"ft·lbf", Energy, poundFoot, 1, 0}, // m
	127: {"kW", Power, 1000, 1, 0},
	128: {"kWh", Energy, 1000 * hour, 1, 0},                 // m
	129: {"hp", Power, hp, 1, 0},                            // m
	130: {"ft³/h", VolumeFlow, foot * foot * foot, hour, 0}, // m
	131: {"m³/min", VolumeFlow, 1, minute, 0},
	132: {"barrel/s", VolumeFlow, barrel, 1, 0},        // m
	133: {"barrel/min", VolumeFlow, barrel, minute, 0}, // m
	134: {"barrel/h", VolumeFlow, barrel, hour, 0},     // m
	135: {"barrel/day", VolumeFlow, barrel, day, 0},    // m
	136: {"gal/h", VolumeFlow, gallon, hour, 0},
	137: {"imp gal/s", VolumeFlow, impGallon, 1, 0}, // m
	138: {"L/h", VolumeFlow, 1, 1000 * hour, 0},
	139: {"ppm", Ratio, 1, 1_000_000, 0}, // m
	140: {"Mcal/h", Power, 1_000_000 * calorie, hour, 0},
	141: {"MJ/h", Power, 1_000_000, hour, 0},
	142: {"BTU/h", Power, btu, hour, 0},                             // m
	143: {"degree", Angle, pi, 180, 0},                              // m
	144: {"radian", Angle, 1, 1, 0},                                 // m
	145: {"inH2O 60 °F", Pressure, inch * gravity * water60F, 1, 0}, // m
	146: {"µg/L", MassConcentration, 1, 1_000_000, 0},               // m
	147: {"µg/m³", MassConcentration, 1, 1_000_000_000, 0},          // m
	148: {symbol: "% consistency", quantity: Consistency},           // m
	149: {"vol %", VolumeFraction, 1, 100, 0},                       // m
	150: {symbol: "% steam quality", quantity: SteamQuality},        // m
	151: {symbol: "ft-in-1/16", quantity: Length},                   // m
	152: {"ft³/lb", SpecificVolume, foot * foot * foot, pound, 0},   // m
	153: {"pF", Capacitance, 1, 1_000_000_000_000, 0},               // m
	154: {"mL/L", VolumeFraction, 1, 1000, 0},                       // m
	155: {"µL/L", VolumeFraction, 1, 1_000_000, 0},                  // m
	160: {symbol: "°Plato (%)", quantity: HydrometerScale},          // m
	161: {symbol: "% LEL", quantity: ExplosiveLimit},                // m
	162: {"Mcal", Energy, 1_000_000 * calorie, 1, 0},                // m
	163: {"kohm", Resistance, 1000, 1, 0},                           // m
	164: {"MJ", Energy, 1_000_000, 1, 0},                            // m
	165: {"BTU", Energy, btu, 1, 0},                                 // m
	166: {"normal m³", NormalVolume, 1, 1, 0},
	167: {"normal L", NormalVolume, 1, 1000, 0},
	168: {"std ft³", StandardVolume, foot * foot * foot, 1, 0},
	169: {"ppb", Ratio, 1, 1_000_000_000, 0},     // m
	235: {"gal/day", VolumeFlow, gallon, day, 0}, // m
	236: {"hL", Volume, 1, 10, 0},
	237: {"MPa", Pressure, 1_000_000, 1, 0},                       // m
	238: {"inH2O 4 °C", Pressure, inch * gravity * water4C, 1, 0}, // m
	239: {"mmH2O 4 °C", Pressure, gravity * water4C, 1000, 0},     // m
	250: {symbol: "not used", quantity: None},
	251: {symbol: "none", quantity: None},
	252: {symbol: "unknown", quantity: None},
	253: {symbol: "special", quantity: None},
}
