package payload

import (
	"fmt"
	"strings"
	"testing"
)

// publishedRows are the rows that documents print, read from these once more,
// by table: numbers of enumerations in decimals, bits in hex.
var publishedRows = map[string]string{
	// Source: Allen-Bradley 1794-UM063A appendix C, note 1.
	"EEPROM control": "0 burn; 1 copy to RAM",
	// Source: Siemens SITRANS F US A5E34981613-AC p.41; Flowserve LMENIM2340-00 p.58.
	"alarm selection": "1 low; 250 not used",
	// Source: Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 p.58.
	"analog channel flags": "01 input channel",
	// Source: Flowserve LMENIM2340-00 p.25.
	"analog channels": "01 analog channel 1; 02 analog channel 2; 04 analog channel 3; 08 analog channel 4",
	// Source: Biffi ICON3000 HART manual MDE 254 p.48.
	"burst control": "0 off; 1 on token-passing link; 2 on TDMA link; 3 on token-passing and TDMA link",
	// Source: Biffi ICON3000 HART manual MDE 254 table 133.
	"burst trigger": "0 continuous; 1 window; 2 rising; 3 falling; 4 on change",
	// Source: Biffi ICON3000 HART manual MDE 254 p.49; FieldComm Group support article 8000091234.
	"classification": "0 not classified; 64 temperature; 70 time; 80 frequency; 83 electromotive force; 91 valve actuator; " +
		"103 volumetric liquid flow per second; 104 volumetric liquid flow per minute; " +
		"105 volumetric liquid flow per hour; 106 volumetric liquid flow per day",
	// Source: Flowserve LMENIM2340-00 p.59.
	"clock flags": "01 buffered clock; 02 never set",
	// Source: Biffi ICON3000 HART manual MDE 254 p.48.
	"device flags": "01 multi-sensor device; 02 EEPROM control; 04 protocol bridge; 08 IEEE 802.15.4; " +
		"40 C8PSK capable; 80 C8PSK in multidrop only",
	// Source: Biffi ICON3000 HART manual MDE 254 table 134.
	"device profile": "1 process automation device; 2 discrete device; 3 hybrid device; 4 I/O system; " +
		"129 wireless process automation device; 130 wireless discrete device; 131 wireless hybrid device; " +
		"132 wireless gateway; 141 wireless process adapter; 142 wireless discrete adapter; 144 wireless handheld",
	// Source: WirelessHART gateway manual appendix p.122; Siemens SITRANS F US A5E34981613-AC p.40.
	"device variable code": "243 battery life; 244 percent of range; 245 loop current; 246 primary variable; " +
		"247 secondary variable; 248 tertiary variable; 249 quaternary variable",
	// Source: Biffi ICON3000 HART manual MDE 254 table 130.
	"device variable family": "4 temperature; 5 pressure; 6 valve actuator; 7 simple PID control; 8 pH; 9 conductivity; " +
		"10 totalizer; 11 level; 12 vortex flow; 13 magnetic flow; 14 Coriolis flow; 250 not used",
	// Source: Biffi ICON3000 HART manual MDE 254 p.52.
	"device variable status": "c0 of c0 good; 80 of c0 manual or fixed; 40 of c0 poor accuracy; 00 of c0 bad; " +
		"00 of 30 not limited; 10 of 30 low limited; 20 of 30 high limited; 30 of 30 constant; " +
		"08 more device variable status available",
	// Source: Biffi ICON3000 HART manual MDE 254 p.49; Flowserve LMENIM2340-00 p.57.
	"extended device status": "01 maintenance required; 02 device variable alert; 04 critical power failure; 08 failure; " +
		"10 out of specification; 20 function check",
	// Source: Flowserve LMENIM2340-00 pp.58, 59.
	"lock code": "0 unlocked; 1 temporary; 2 permanent; 3 all",
	// Source: Flowserve LMENIM2340-00 p.59.
	"lock status": "01 locked; 02 permanent; 04 locked by primary master; 08 configuration locked for all; 10 locked by gateway",
	// Source: Biffi ICON3000 HART manual MDE 254 p.49.
	"loop current mode": "0 disabled; 1 enabled",
	// Source: Biffi ICON3000 HART manual MDE 254 p.48.
	"physical signalling": "0 Bell 202 current; 1 Bell 202 voltage; 2 RS-485; 3 RS-232; 4 wireless; 6 special",
	// Source: ABB Endura AZ manual IM/AZ20E-EN rev F table 7.4; Biffi ICON3000 HART manual MDE 254
	// pp.25, 39; Flowserve LMENIM2340-00 pp.68, 69.
	"response code": "0 success; 2 invalid selection; 3 parameter too large; 4 parameter too small; 5 too few data bytes; " +
		"6 device-specific command error; 7 in write protect mode; 16 access restricted; " +
		"17 invalid device variable index; 18 invalid units code; 19 device variable index not allowed; " +
		"30 response truncated; 32 busy; 33 delayed response initiated; 34 delayed response running; " +
		"35 delayed response dead; 36 delayed response conflict; 64 command not implemented",
	"squawk control": "",
	// Source: Flowserve LMENIM2340-00 p.25.
	"standardized status 0": "01 device variable simulation active; 02 non-volatile memory defect; 04 volatile memory defect; " +
		"08 watchdog reset executed; 10 power supply out of range; 20 environment out of range; 40 electronic defect; " +
		"80 device configuration locked",
	"standardized status 1": "",
	"standardized status 2": "",
	// Source: Rosemount wireless pressure gauge reference manual 00809-0100-4045 p.62.
	"standardized status 3": "01 capacity denied",
	// Source: Siemens SITRANS F US A5E34981613-AC p.41; Flowserve LMENIM2340-00 p.58.
	"transfer function": "0 linear; 250 not used",
	// Source: Flowserve LMENIM2340-00 p.59.
	"trend control":         "0 off; 1 single samples; 2 filtered; 3 average",
	"trim point":            "",
	"trim points supported": "",
	// Source: Flowserve LMENIM2340-00 p.59.
	"write device variable": "0 normal; 1 fixed value",
	// Source: Biffi ICON3000 HART manual MDE 254 p.48.
	"write protect": "0 no; 1 yes; 250 not used; 251 none; 252 unknown; 253 special",
}

// The rows that are not marked as from memory are those that documents print. The
// outputs of revision 5 are 24 of one kind.
func TestPublishedRows(t *testing.T) {
	for _, table := range Tables() {
		want, ok := publishedRows[table.Name]
		if table.Name == "analog outputs" { // Source: Spectrum Controls 1734sc-IE2CH manual 0300257-01 p.B-5, note 4
			want, ok = strings.TrimSuffix(outputs(24), "; "), true
		}
		if !ok {
			t.Errorf("table %q is not compared", table.Name)
		}
		var rows []string
		for _, r := range table.Rows {
			if !r.FromMemory {
				rows = append(rows, printed(r))
			}
		}
		if got := strings.Join(rows, "; "); got != want {
			t.Errorf("%s:\ngot  %s\nwant %s", table.Name, got, want)
		}
		if (len(rows) > 0) != (table.Source != "") {
			t.Errorf("table %q has %d rows with a source, and names %q", table.Name, len(rows), table.Source)
		}
	}
}

func outputs(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%02x analog output %d; ", 1<<i, i+1)
	}
	return b.String()
}

func printed(r Row) string {
	switch {
	case r.Mask == 0:
		return fmt.Sprintf("%d %s", r.Code, r.Text)
	case r.Mask == r.Code && r.Mask&(r.Mask-1) == 0:
		return fmt.Sprintf("%02x %s", r.Code, r.Text)
	}
	return fmt.Sprintf("%02x of %02x %s", r.Code, r.Mask, r.Text)
}

// What the definitions and tables amount to. A change of these numbers is to be
// told where the project says how much it knows.
func TestExtent(t *testing.T) {
	var commands, withLayouts, layouts, fields, codes, tables, rows, recalled int
	for _, d := range All() {
		commands++
		codes += len(d.Codes)
		if len(d.Request) > 0 {
			withLayouts++
		}
		for _, direction := range [...][]Layout{d.Request, d.Reply} {
			layouts += len(direction)
			for _, l := range direction {
				fields += len(l.Head) + len(l.Group) + len(l.Tail)
			}
		}
	}
	for _, table := range Tables() {
		tables++
		rows += len(table.Rows)
		for _, r := range table.Rows {
			if r.FromMemory {
				recalled++
			}
		}
	}
	got := fmt.Sprintf("%d commands, %d of them with %d layouts of %d fields, %d meanings of response codes; "+
		"%d tables of %d rows, %d of these from memory", commands, withLayouts, layouts, fields, codes, tables, rows, recalled)
	if want := "112 commands, 79 of them with 190 layouts of 538 fields, 78 meanings of response codes; " +
		"31 tables of 224 rows, 61 of these from memory"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
