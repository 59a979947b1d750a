package payload

import "fmt"

// tables are the code tables by name, in the order of their names.
var tables = []*Table{
	&eepromControl, &alarmSelection, &analogChannelFlags, &analogChannels, &analogOutputs,
	&burstControl, &burstTrigger, &classification, &clockFlags, &deviceFlags, &deviceProfile,
	&deviceVariableCode, &deviceVariableFamily, &deviceVariableStatus, &extendedDeviceStatus,
	&lockCode, &lockStatus, &loopCurrentMode, &physicalSignalling, &responseCode, &squawkControl,
	&standardizedStatus0, &standardizedStatus1, &standardizedStatus2, &standardizedStatus3,
	&transferFunction, &trendControl, &trimPoint, &trimPointsSupported, &writeDeviceVariable,
	&writeProtect,
}

// byLength are the tables by the length of their names: to search the few that
// share one is quicker than a map, and every enumeration that is read searches.
var byLength = func() (groups [64][]*Table) {
	for _, t := range tables {
		groups[len(t.Name)] = append(groups[len(t.Name)], t)
	}
	return groups
}()

// tableNamed is the table of that name, nil for none.
func tableNamed(name string) *Table {
	if len(name) >= len(byLength) {
		return nil
	}
	for _, t := range byLength[len(name)] {
		if t.Name == name {
			return t
		}
	}
	return nil
}

var alarmSelection = Table{
	Name:   "alarm selection",
	Source: "Siemens SITRANS F US A5E34981613-AC p.41 (1); Flowserve LMENIM2340-00 p.58 (250)",
	Rows: []Row{
		code(0, "high").recalled(), code(1, "low"), code(239, "hold last value").recalled(),
		code(250, "not used"), code(251, "none").recalled(), code(252, "unknown").recalled(),
		code(253, "special").recalled(),
	},
}

var analogChannelFlags = Table{
	Name:   "analog channel flags",
	Source: "Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 p.58",
	Rows:   []Row{flag(0x01, "input channel")},
}

var analogChannels = Table{
	Name:   "analog channels",
	Source: "Flowserve LMENIM2340-00 p.25",
	Rows:   numbered("analog channel", 4),
}

// The lowest bit is the first output. Revisions from 6 on keep the low byte
// for the analog channels, so it is the last byte of the three.
var analogOutputs = Table{
	Name:   "analog outputs",
	Source: "Spectrum Controls 1734sc-IE2CH manual 0300257-01 p.B-5, note 4",
	Rows:   numbered("analog output", 24),
}

func numbered(name string, n int) (rows []Row) {
	for i := range n {
		rows = append(rows, flag(1<<i, fmt.Sprintf("%s %d", name, i+1)))
	}
	return rows
}

// Revisions before 7 know the first two only.
var burstControl = Table{
	Name:   "burst control",
	Source: "Biffi ICON3000 HART manual MDE 254 p.48",
	Rows: []Row{
		code(0, "off"), code(1, "on token-passing link"), code(2, "on TDMA link"),
		code(3, "on token-passing and TDMA link"),
	},
}

var burstTrigger = Table{
	Name:   "burst trigger",
	Source: "Biffi ICON3000 HART manual MDE 254 table 133; Flowserve LMENIM2340-00 p.59 (0, 1)",
	Rows: []Row{
		code(0, "continuous"), code(1, "window"), code(2, "rising"), code(3, "falling"),
		code(4, "on change"),
	},
}

var clockFlags = Table{
	Name:   "clock flags",
	Source: "Flowserve LMENIM2340-00 p.59",
	Rows:   []Row{flag(0x01, "buffered clock"), flag(0x02, "never set")},
}

var deviceFlags = Table{
	Name:   "device flags",
	Source: "Biffi ICON3000 HART manual MDE 254 p.48; Allen-Bradley 1794-UM063A appendix C (the first three)",
	Rows: []Row{
		flag(0x01, "multi-sensor device"), flag(0x02, "EEPROM control"), flag(0x04, "protocol bridge"),
		flag(0x08, "IEEE 802.15.4"), flag(0x40, "C8PSK capable"), flag(0x80, "C8PSK in multidrop only"),
	},
}

var deviceProfile = Table{
	Name:   "device profile",
	Source: "Biffi ICON3000 HART manual MDE 254 table 134",
	Rows: []Row{
		code(1, "process automation device"), code(2, "discrete device"), code(3, "hybrid device"),
		code(4, "I/O system"), code(129, "wireless process automation device"),
		code(130, "wireless discrete device"), code(131, "wireless hybrid device"),
		code(132, "wireless gateway"), code(141, "wireless process adapter"),
		code(142, "wireless discrete adapter"), code(144, "wireless handheld"),
	},
}

var eepromControl = Table{
	Name:   "EEPROM control",
	Source: "Allen-Bradley 1794-UM063A appendix C, note 1",
	Rows:   []Row{code(0, "burn"), code(1, "copy to RAM")},
}

var lockCode = Table{
	Name:   "lock code",
	Source: "Flowserve LMENIM2340-00 pp.58, 59",
	Rows:   []Row{code(0, "unlocked"), code(1, "temporary"), code(2, "permanent"), code(3, "all")},
}

var lockStatus = Table{
	Name:   "lock status",
	Source: "Flowserve LMENIM2340-00 p.59",
	Rows: []Row{
		flag(0x01, "locked"), flag(0x02, "permanent"), flag(0x04, "locked by primary master"),
		flag(0x08, "configuration locked for all"), flag(0x10, "locked by gateway"),
	},
}

var loopCurrentMode = Table{
	Name:   "loop current mode",
	Source: "Biffi ICON3000 HART manual MDE 254 p.49; Siemens SITRANS F US A5E34981613-AC p.39",
	Rows:   []Row{code(0, "disabled"), code(1, "enabled")},
}

var physicalSignalling = Table{
	Name:   "physical signalling",
	Source: "Biffi ICON3000 HART manual MDE 254 p.48",
	Rows: []Row{
		code(0, "Bell 202 current"), code(1, "Bell 202 voltage"), code(2, "RS-485"),
		code(3, "RS-232"), code(4, "wireless"), code(6, "special"),
	},
}

var squawkControl = Table{
	Name: "squawk control",
	Rows: []Row{code(0, "off").recalled(), code(1, "on").recalled(), code(2, "once").recalled()},
}

var transferFunction = Table{
	Name:   "transfer function",
	Source: "Siemens SITRANS F US A5E34981613-AC p.41 (0); Flowserve LMENIM2340-00 p.58 (0, 250)",
	Rows: []Row{
		code(0, "linear"), code(1, "square root").recalled(),
		code(2, "square root of third power").recalled(), code(3, "square root of fifth power").recalled(),
		code(4, "special curve").recalled(), code(5, "square").recalled(), code(230, "switch").recalled(),
		code(231, "square root and special curve").recalled(),
		code(232, "square root of third power and special curve").recalled(),
		code(233, "square root of fifth power and special curve").recalled(),
		code(250, "not used"), code(251, "none").recalled(), code(252, "unknown").recalled(),
		code(253, "special").recalled(),
	},
}

var trendControl = Table{
	Name:   "trend control",
	Source: "Flowserve LMENIM2340-00 p.59",
	Rows:   []Row{code(0, "off"), code(1, "single samples"), code(2, "filtered"), code(3, "average")},
}

var trimPoint = Table{
	Name: "trim point",
	Rows: []Row{code(1, "lower").recalled(), code(2, "upper").recalled()},
}

var trimPointsSupported = Table{
	Name: "trim points supported",
	Rows: []Row{
		code(1, "lower only").recalled(), code(2, "upper only").recalled(),
		code(3, "lower and upper").recalled(),
	},
}

var writeProtect = Table{
	Name:   "write protect",
	Source: "Biffi ICON3000 HART manual MDE 254 p.48; Flowserve LMENIM2340-00 p.58",
	Rows: []Row{
		code(0, "no"), code(1, "yes"), code(250, "not used"), code(251, "none"),
		code(252, "unknown"), code(253, "special"),
	},
}
