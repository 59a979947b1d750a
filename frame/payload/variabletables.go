package payload

// The tables of device variables.

var classification = Table{
	Name: "classification",
	Source: "Biffi ICON3000 HART manual MDE 254 p.49 (0, 64, 70, 80, 83, 91); " +
		"FieldComm Group support article 8000091234 (103 to 106)",
	Rows: []Row{
		code(0, "not classified"), code(64, "temperature"), code(65, "pressure").recalled(),
		code(66, "volumetric flow").recalled(), code(67, "velocity").recalled(),
		code(68, "volume").recalled(), code(69, "length").recalled(), code(70, "time"),
		code(71, "mass").recalled(), code(72, "mass flow").recalled(),
		code(73, "mass per volume").recalled(), code(74, "viscosity").recalled(),
		code(75, "angular velocity").recalled(), code(76, "area").recalled(),
		code(77, "energy").recalled(), code(78, "force").recalled(), code(79, "power").recalled(),
		code(80, "frequency"), code(81, "analytical").recalled(), code(82, "capacitance").recalled(),
		code(83, "electromotive force"), code(84, "current").recalled(),
		code(85, "resistance").recalled(), code(86, "angle").recalled(),
		code(87, "conductance").recalled(), code(88, "volume per volume").recalled(),
		code(89, "volume per mass").recalled(), code(90, "concentration").recalled(),
		code(91, "valve actuator"), code(103, "volumetric liquid flow per second"),
		code(104, "volumetric liquid flow per minute"), code(105, "volumetric liquid flow per hour"),
		code(106, "volumetric liquid flow per day"),
	},
}

// The codes 0 to 242 are the device's own.
var deviceVariableCode = Table{
	Name: "device variable code",
	Source: "WirelessHART gateway manual appendix p.122; Siemens SITRANS F US A5E34981613-AC p.40 " +
		"(246 to 249)",
	Rows: []Row{
		code(243, "battery life"), code(244, "percent of range"), code(245, "loop current"),
		code(246, "primary variable"), code(247, "secondary variable"), code(248, "tertiary variable"),
		code(249, "quaternary variable"), code(250, "not used").recalled(),
	},
}

var deviceVariableFamily = Table{
	Name:   "device variable family",
	Source: "Biffi ICON3000 HART manual MDE 254 p.49, table 130",
	Rows: []Row{
		code(4, "temperature"), code(5, "pressure"), code(6, "valve actuator"),
		code(7, "simple PID control"), code(8, "pH"), code(9, "conductivity"), code(10, "totalizer"),
		code(11, "level"), code(12, "vortex flow"), code(13, "magnetic flow"), code(14, "Coriolis flow"),
		code(250, "not used"),
	},
}

var deviceVariableStatus = Table{
	Name:   "device variable status",
	Source: "Biffi ICON3000 HART manual MDE 254 p.52",
	Rows: []Row{
		part(0xc0, 0xc0, "good"), part(0xc0, 0x80, "manual or fixed"),
		part(0xc0, 0x40, "poor accuracy"), part(0xc0, 0x00, "bad"),
		part(0x30, 0x00, "not limited"), part(0x30, 0x10, "low limited"),
		part(0x30, 0x20, "high limited"), part(0x30, 0x30, "constant"),
		flag(0x08, "more device variable status available"),
	},
}

var writeDeviceVariable = Table{
	Name:   "write device variable",
	Source: "Flowserve LMENIM2340-00 p.59",
	Rows:   []Row{code(0, "normal"), code(1, "fixed value")},
}
