package payload

import "fmt"

// responseCode holds the response codes that mean the same for every command;
// the others have the meanings of [Definition.Codes].
var responseCode = Table{
	Name: "response code",
	Source: "ABB Endura AZ manual IM/AZ20E-EN rev F table 7.4; Moore Industries THZ2/TDZ2 transmitter " +
		"manual p.29; Biffi ICON3000 HART manual MDE 254 pp.25, 39 (30, 33 to 36); Flowserve " +
		"LMENIM2340-00 pp.68, 69 (17, 19)",
	Rows: []Row{
		code(0, "success"), code(2, "invalid selection"), code(3, "parameter too large"),
		code(4, "parameter too small"), code(5, "too few data bytes"),
		code(6, "device-specific command error"), code(7, "in write protect mode"),
		code(16, "access restricted"), code(17, "invalid device variable index"),
		code(18, "invalid units code"), code(19, "device variable index not allowed"),
		code(20, "invalid extended command number").recalled(), code(21, "invalid I/O card number").recalled(),
		code(22, "invalid channel number").recalled(), code(23, "sub-device response too long").recalled(),
		code(30, "response truncated"), code(32, "busy"), code(33, "delayed response initiated"),
		code(34, "delayed response running"), code(35, "delayed response dead"),
		code(36, "delayed response conflict"), code(64, "command not implemented"),
	},
}

// responseTexts are the texts of all codes, those without a meaning included,
// so that a text costs no search and no allocation.
var responseTexts = func() (texts [256]string) {
	for i := range texts {
		texts[i] = fmt.Sprintf("response code %d", i)
	}
	for _, r := range responseCode.Rows {
		texts[r.Code] = r.Text
	}
	return texts
}()

// ResponseText is the meaning of a response code for this command, or
// "response code 9" where it has none. d may be nil: a command that nothing is
// known of.
func (d *Definition) ResponseText(code uint8) string {
	if d != nil {
		if text, ok := d.Codes[code]; ok {
			return text
		}
	}
	return responseTexts[code]
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

// Unfinished reports whether a response code says that the device is busy, or that
// a delayed response goes on: it is to be asked again.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.39 (33, 34); FieldComm Group support
// article 8000090586 (32).
func Unfinished(code uint8) bool { return code == 32 || code == 33 || code == 34 }

// Executed reports whether a response code says that the command was executed:
// success or a warning. Other replies carry no data.
func Executed(code uint8) bool { return code == 0 || Warning(code) }
