package payload

import "fmt"

// responses are the response codes that mean the same for every command.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F table 7.4; Moore Industries
// THZ2/TDZ2 transmitter manual p.29 (18 and most below 65); Biffi ICON3000 HART
// manual MDE 254 pp.25, 39 (30, 33 to 36); Flowserve LMENIM2340-00 pp.68, 69
// (17, 19). 20 to 23 and 31 are from memory.
var responses = [128]string{
	0:  "success",
	2:  "invalid selection",
	3:  "parameter too large",
	4:  "parameter too small",
	5:  "too few data bytes",
	6:  "device-specific command error",
	7:  "in write protect mode",
	16: "access restricted",
	17: "invalid device variable index",
	18: "invalid units code",
	19: "device variable index not allowed",
	20: "invalid extended command number",
	21: "invalid I/O card number",
	22: "invalid channel number",
	23: "sub-device response too long",
	30: "response truncated",
	32: "busy",
	33: "delayed response initiated",
	34: "delayed response running",
	35: "delayed response dead",
	36: "delayed response conflict",
	64: "command not implemented",
}

// ResponseText is the meaning of a response code for this command, or
// "response code 9" where it has none. d may be nil: a command that nothing is
// known of.
func (d *Definition) ResponseText(code uint8) string {
	if d != nil {
		if text, ok := d.Codes[code]; ok {
			return text
		}
	}
	if code < uint8(len(responses)) && responses[code] != "" {
		return responses[code]
	}
	return fmt.Sprintf("response code %d", code)
}

// Warning reports whether a response code says that the command was executed,
// but not quite as asked.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.25, 34-44 (8, 14, 30); KROHNE UFC
// 500 HART command specification pp.44, 48 (112 to 116); the others from memory.
func Warning(code uint8) bool {
	switch {
	case code == 8, code == 14, code >= 24 && code <= 27, code == 30, code == 31:
		return true
	}
	return code >= 96 && code <= 127
}

// Executed reports whether a response code says that the command was executed:
// success or a warning. Other replies carry no data.
func Executed(code uint8) bool { return code == 0 || Warning(code) }
