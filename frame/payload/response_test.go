package payload

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
)

// What documents print for the response codes that have a meaning of their own,
// by command.
//
// Source: Flowserve LMENIM2340-00 pp.61-70 (but those of the lines below).
var publishedCodes = map[uint16]string{
	1: "8 update failure", 2: "8 update failure", 3: "8 update failure",
	6:  "2 invalid polling address; 12 invalid mode selection",
	9:  "8 update failure; 14 dynamic variables returned for device variables",
	18: "9 invalid date",
	38: "9 configuration change counter mismatch",
	48: "8 update in progress; 14 status bytes mismatch",
	53: "11 invalid device variable code; 12 invalid units code",
	59: "8 set to nearest possible value",
	71: "10 invalid lock code; 11 cannot lock device",
	78: "8 update failure; 9 invalid command request",
	79: "8 family status bits not set; 10 invalid write device variable code",
	91: "11 invalid trend number",
	92: "8 set to nearest possible value; 11 invalid trend number",
	93: "8 trend not active; 11 invalid trend number",
	// Source: Biffi ICON3000 HART manual MDE 254 pp.39-44.
	103: "8 update times adjusted; 9 invalid burst message",
	104: "9 invalid burst message; 13 invalid burst trigger mode",
	106: "8 all but running delayed responses flushed",
	107: "8 burst condition conflict; 9 invalid burst message",
	108: "8 burst condition conflict; 9 invalid burst message",
	109: "8 update period increased; 9 insufficient bandwidth",
	// Source: ABB Endura AZ manual IM/AZ20E-EN rev F table 7.4; Spectrum Controls 1756sc
	// manual p.153; KROHNE UFC 500 HART command specification pp.24, 44, 48.
	35: "9 lower range value too high; 10 lower range value too low; 11 upper range value too high; " +
		"12 upper range value too low; 13 both range values out of limits; 14 span too small; 28 invalid range units code",
	36: "9 applied process too high; 10 applied process too low",
	37: "9 applied process too high; 10 applied process too low; 14 upper range value pushed over limit",
	40: "11 in multidrop mode",
	43: "9 applied process too high; 10 applied process too low",
	45: "9 not in fixed current mode; 11 in multidrop mode",
	46: "9 not in fixed current mode; 11 in multidrop mode",
}

// recalledCodes are those from memory.
var recalledCodes = map[uint16][]uint8{
	33: {8}, 34: {8}, 36: {14}, 52: {9, 10, 11}, 55: {8}, 60: {8}, 61: {8}, 62: {8}, 64: {8},
	65: {9, 10, 11, 12, 13, 14, 28}, 67: {9}, 68: {9}, 82: {9, 10}, 110: {8},
}

func TestPublishedResponseCodes(t *testing.T) {
	for _, d := range All() {
		var rows []string
		recalled := 0
		for _, code := range slices.Sorted(maps.Keys(d.Codes)) {
			if slices.Contains(recalledCodes[d.Command], code) {
				recalled++
				continue
			}
			rows = append(rows, fmt.Sprintf("%d %s", code, d.ResponseText(code)))
		}
		if got, want := strings.Join(rows, "; "), publishedCodes[d.Command]; got != want {
			t.Errorf("command %d: got %s, want %s", d.Command, got, want)
		}
		if recalled != len(recalledCodes[d.Command]) {
			t.Errorf("command %d: %d codes from memory, want %v", d.Command, recalled, recalledCodes[d.Command])
		}
	}
}

// Source: Flowserve LMENIM2340-00 pp.61-70; ABB Endura AZ manual IM/AZ20E-EN rev F
// table 7.4 (single meanings).
func TestResponseText(t *testing.T) {
	for _, c := range []struct {
		command uint16
		code    uint8
		want    string
	}{
		{0, 0, "success"},
		{6, 2, "invalid polling address"},
		{9, 2, "invalid selection"},
		{6, 12, "invalid mode selection"},
		{9, 14, "dynamic variables returned for device variables"},
		{48, 14, "status bytes mismatch"},
		{1, 8, "update failure"},
		{48, 8, "update in progress"},
		{38, 9, "configuration change counter mismatch"},
		{1, 32, "busy"},
		{1, 64, "command not implemented"},
		{1, 9, "response code 9"},
		{146, 7, "in write protect mode"},
		{146, 127, "response code 127"},
		{146, 200, "response code 200"},
	} {
		d, _ := Lookup(c.command)
		if got := d.ResponseText(c.code); got != c.want {
			t.Errorf("command %d, code %d: got %q, want %q", c.command, c.code, got, c.want)
		}
	}
}

// Source: Flowserve LMENIM2340-00 pp.61-70 (E and W); KROHNE UFC 500 HART command
// specification pp.44, 48 (112).
func TestWarning(t *testing.T) {
	for _, code := range []uint8{8, 14, 30, 112} {
		if !Warning(code) || !Executed(code) {
			t.Errorf("%d is no warning", code)
		}
	}
	for _, code := range []uint8{2, 5, 6, 7, 9, 12, 16, 32, 33, 64} {
		if Warning(code) || Executed(code) {
			t.Errorf("%d is no error", code)
		}
	}
	if Warning(0) || !Executed(0) {
		t.Error("success is no success")
	}
}
