package payload

// The tables of what command 48 and the extended status tell.

var extendedDeviceStatus = Table{
	Name:   "extended device status",
	Source: "Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 pp.25, 57",
	Rows: []Row{
		flag(0x01, "maintenance required"), flag(0x02, "device variable alert"),
		flag(0x04, "critical power failure"), flag(0x08, "failure"),
		flag(0x10, "out of specification"), flag(0x20, "function check"),
	},
}

var standardizedStatus0 = Table{
	Name:   "standardized status 0",
	Source: "Flowserve LMENIM2340-00 p.25",
	Rows: []Row{
		flag(0x01, "device variable simulation active"), flag(0x02, "non-volatile memory defect"),
		flag(0x04, "volatile memory defect"), flag(0x08, "watchdog reset executed"),
		flag(0x10, "power supply out of range"), flag(0x20, "environment out of range"),
		flag(0x40, "electronic defect"), flag(0x80, "device configuration locked"),
	},
}

var standardizedStatus1 = Table{
	Name: "standardized status 1",
	Rows: []Row{
		flag(0x01, "status simulation active").recalled(),
		flag(0x02, "discrete variable simulation active").recalled(),
		flag(0x04, "event notification overflow").recalled(),
	},
}

var standardizedStatus2 = Table{
	Name: "standardized status 2",
	Rows: []Row{
		flag(0x01, "sub-device list changed").recalled(), flag(0x02, "duplicate master detected").recalled(),
		flag(0x04, "sub-device mismatch").recalled(),
		flag(0x08, "sub-devices with duplicate identity").recalled(),
		flag(0x10, "stale data").recalled(),
	},
}

var standardizedStatus3 = Table{
	Name:   "standardized status 3",
	Source: "Rosemount wireless pressure gauge reference manual 00809-0100-4045 p.62",
	Rows:   []Row{flag(0x01, "capacity denied")},
}
