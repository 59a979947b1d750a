package payload

import "testing"

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
