package payload

import (
	"encoding/hex"
	"errors"
	"math"
	"strings"
	"testing"

	"looptone/frame"
)

func layout(t testing.TB, command uint16, kind frame.Kind, rev uint8) *Layout {
	t.Helper()
	d, ok := Lookup(command)
	if !ok {
		t.Fatalf("no command %d", command)
	}
	l, err := d.Layout(kind, rev)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The frame that this reply makes was published.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestAppendPublishedFrame(t *testing.T) {
	data, err := layout(t, 1, frame.ACK, 5).Append(nil,
		Contents{"primary variable unit": {{Number: 57}}, "primary variable": {{Number: 25}}})
	if err != nil {
		t.Fatal(err)
	}
	f := frame.Frame{Kind: frame.ACK, Primary: true, Command: 1, Data: data}
	wire, err := f.AppendBinary(nil)
	if want := "06800107000039" + "41c8000030"; err != nil || hex.EncodeToString(wire) != want {
		t.Errorf("got %x, %v, want %s", wire, err, want)
	}
}

func TestParseAndAppend(t *testing.T) {
	for _, c := range []struct {
		name    string
		command uint16
		kind    frame.Kind
		rev     uint8
		words   string
		want    string
	}{
		{"no fields", 0, frame.STX, 0, "", ""},
		{"numbers and meanings", 6, frame.STX, 7, "polling_address=3|loop_current_mode=disabled", "0300"},
		{"hex", 6, frame.STX, 5, "polling address=0x0f", "0f"},
		{"unit by symbol", 1, frame.ACK, 7, "primary_variable_unit=kPa|primary_variable=25", "0c41c80000"},
		{"unit by code", 1, frame.ACK, 7, "primary_variable_unit=57|primary_variable=-150.0", "39c3160000"},
		{"not a number", 1, frame.ACK, 7, "primary_variable_unit=251|primary_variable=nan", "fb7fa00000"},
		{"infinity", 1, frame.ACK, 7, "primary_variable_unit=251|primary_variable=-inf", "fbff800000"},
		{"left out from the end", 3, frame.ACK, 7, "loop_current=12|primary_variable_unit=kPa|primary_variable=25",
			"41400000" + "0c41c80000"},
		{"slots", 9, frame.STX, 7, "device_variable_code=primary_variable|device_variable_code=244", "f6f4"},
		{"text and date", 13, frame.ACK, 5, "tag=TANK1|descriptor=|date=2031-03-01",
			"50138bc60820" + strings.Repeat("820820", 4) + "010383"},
		{"latin-1", 20, frame.ACK, 7, "long_tag=LT-103 µ", "4c542d31303320b5" + strings.Repeat("00", 24)},
		{"bits of a byte", 0, frame.ACK, 5, "expansion_code=254|manufacturer=0|device_type=17|request_preambles=5|" +
			"universal_revision=5|device_revision=1|software_revision=2|hardware_revision=1|physical_signalling=RS-485|" +
			"flags=EEPROM control,protocol_bridge|device_id=258", "fe001105050102" + "0a06000102"},
		{"status in part", 48, frame.ACK, 7, "device-specific_status=000000000000|extended_device_status=0x21|operating_mode=0|" +
			"standardized_status_0=electronic defect", "000000000000210040"},
		{"status not as read", 48, frame.STX, 7, "", ""},
		{"bytes that are counted", 78, frame.STX, 7, "number_of_commands=2|command_number=1|command_data=|" +
			"command_number=33|command_data=f6f7", "02000100002102f6f7"},
		{"bytes with their count", 78, frame.ACK, 7, "extended_device_status=0|number_of_commands=1|command_number=1|" +
			"byte_count=0x02|response_code_and_data=0020", "00010001020020"},
		{"no slots", 78, frame.STX, 7, "number_of_commands=0", "00"},
		{"seconds", 15, frame.ACK, 5, "alarm_selection=low|transfer_function=linear|unit=kPa|upper_range_value=250|" +
			"lower_range_value=0|damping=1.5|write_protect=no|private_label=0", "01000c437a0000000000003fc000000000"},
		{"time of day", 9, frame.ACK, 7, "extended_device_status=0|device_variable_code=246|device_variable_classification=pressure|" +
			"device_variable_unit=kPa|device_variable_value=25|device_variable_status=good,not_limited|time_stamp=1",
			"00f6410c41c80000c000007d00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := layout(t, c.command, c.kind, c.rev)
			var words []string
			if c.words != "" {
				words = strings.Split(c.words, "|")
			}
			contents, err := l.Parse(words)
			if err != nil {
				t.Fatal(err)
			}
			got, err := l.Append([]byte{0xaa}, contents)
			if err != nil || hex.EncodeToString(got) != "aa"+c.want {
				t.Errorf("got %x, %v, want aa%s", got, err, c.want)
			}
		})
	}
}

func TestParseErrors(t *testing.T) {
	for _, c := range []struct {
		command uint16
		kind    frame.Kind
		word    string
		want    string
		is      error
	}{
		{6, frame.STX, "kPa", `"kPa" gives no field a content, want name=content`, nil},
		{6, frame.STX, "polling_adress=3", `no such field: got "polling_adress": did you mean polling_address?`, ErrNoField},
		{6, frame.STX, "Loop Curent Mode=1", `no such field: got "Loop Curent Mode": did you mean loop_current_mode?`, ErrNoField},
		{6, frame.STX, "adress=3", `no such field: got "adress", want one of polling_address, loop_current_mode`, ErrNoField},
		{0, frame.STX, "tag=A", `no such field: got "tag", but there are none here`, ErrNoField},
		{6, frame.STX, "polling_address=three", `polling address is not a number: got "three"`, ErrNumber},
		{6, frame.STX, "loop_current_mode=on", `loop current mode has no such meaning: got "on", want a number or one of disabled, enabled`, ErrMeaning},
		{9, frame.STX, "device_variable_code=x", `slot 0: device variable code has no such meaning: got "x", want a number or one of ` +
			`battery life, percent of range, loop current, primary variable, secondary variable, tertiary variable, quaternary variable, not used`, ErrMeaning},
		{1, frame.ACK, "primary_variable_unit=kpa", `primary variable unit "kpa" is unknown: did you mean "kPa"?`, ErrUnit},
		{1, frame.ACK, "primary_variable_unit=bbar", `primary variable unit "bbar" is unknown: did you mean "bar"?`, ErrUnit},
		{1, frame.ACK, "primary_variable_unit=furlong", `primary variable unit "furlong" is unknown, want a symbol or a code from 0 to 255`, ErrUnit},
		{1, frame.ACK, "primary_variable_unit=256", `primary variable unit "256" is unknown, want a symbol or a code from 0 to 255`, ErrUnit},
		{1, frame.ACK, "primary_variable=1e999", `primary variable is too large: got "1e999"`, ErrTooLarge},
		{6, frame.STX, "polling_address=0xg", `polling address is not a number: got "0xg"`, ErrNumber},
		{6, frame.STX, "polling_address=0x100000000", `polling address is too large: got "0x100000000"`, ErrTooLarge},
		{48, frame.ACK, "device-specific_status=0x12", `device-specific status is not in hex: got "0x12", want two hex digits a byte`, ErrHex},
		{54, frame.ACK, "device_variable_properties=x", `device variable properties has no such meaning: got "x", want a number`, ErrMeaning},
	} {
		_, err := layout(t, c.command, c.kind, 7).Parse([]string{c.word})
		if err == nil || err.Error() != c.want || c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s: got %v, want %s", c.word, err, c.want)
		}
	}
	_, err := layout(t, 11, frame.STX, 7).Parse([]string{"tag=A", "tag=B"})
	if want := "tag is given too often: got 2 times, want at most 1"; err == nil || err.Error() != want || !errors.Is(err, ErrRepeated) {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestAppendErrors(t *testing.T) {
	number := func(x float64) []Content { return []Content{{Number: x}} }
	text := func(s string) []Content { return []Content{{Text: s}} }
	raw := func(n int) []Content { return []Content{{Bytes: make([]byte, n)}} }
	for _, c := range []struct {
		command uint16
		kind    frame.Kind
		src     Contents
		want    string
		is      error
	}{
		{6, frame.STX, Contents{}, "polling address and loop current mode are missing", ErrMissing},
		{6, frame.STX, Contents{"loop current mode": number(1)}, "polling address is missing", ErrMissing},
		{6, frame.STX, Contents{"polling address": number(3)}, "loop current mode is missing", ErrMissing},
		{6, frame.STX, Contents{"polling address": number(300)}, "polling address is too large: got 300, want 0 to 255", ErrTooLarge},
		{6, frame.STX, Contents{"polling address": number(-1)}, "polling address is too small: got -1, want 0 to 255", ErrTooSmall},
		{6, frame.STX, Contents{"polling address": number(2.5)}, "polling address is not a whole number: got 2.5", ErrWhole},
		{6, frame.STX, Contents{"polling address": number(math.NaN())}, "polling address is not a number", ErrNumber},
		{6, frame.STX, Contents{"polling address": raw(2)}, "polling address has 2 bytes, want 1", ErrLength},
		{1, frame.ACK, Contents{"primary variable unit": number(12), "primary variable": number(1e39)},
			"primary variable is too large: got 1e+39, want at most 3.4028235e+38 either way", ErrTooLarge},
		{1, frame.ACK, Contents{"primary variable unit": number(256)}, "primary variable unit is too large: got 256, want 0 to 255", ErrTooLarge},
		{11, frame.STX, Contents{"tag": text("LOOPTONE1")}, "tag has 9 characters, at most 8", ErrLength},
		{11, frame.STX, Contents{"tag": text("LT-103b")},
			"tag has the character 'b' at place 7: packed ASCII holds upper-case letters, digits and blank !\"#$%&'()*+,-./:;<=>?@[\\]^_", ErrCharacter},
		{20, frame.ACK, Contents{"long tag": text("5 €")}, "long tag has the character '€' at place 3: want characters of ISO 8859-1", ErrCharacter},
		{13, frame.ACK, Contents{"tag": text("A"), "descriptor": text(""), "date": text("2031-02-29")},
			`date is not a day: got "2031-02-29", want yyyy-mm-dd`, ErrDay},
		{13, frame.ACK, Contents{"tag": text("A"), "descriptor": text(""), "date": text("1899-12-31")},
			"date is not a day of a year that fits: got 1899, want 1900 to 2155", ErrDay},
		{3, frame.ACK, Contents{"loop current": number(4)}, "primary variable unit and primary variable are missing", ErrMissing},
		{3, frame.ACK, Contents{"loop current": number(4), "primary variable unit": number(12), "primary variable": number(1),
			"tertiary variable": number(1)}, "secondary variable unit, secondary variable and tertiary variable unit are missing", ErrMissing},
		{3, frame.ACK, Contents{"loop current": number(4), "primary variable unit": number(12), "primary variable": number(1),
			"secondary variable unit": number(12)}, "secondary variable is missing", ErrMissing},
		{9, frame.STX, Contents{}, "slot 0: device variable code is missing", ErrMissing},
		{9, frame.STX, Contents{"device variable code": make([]Content, 9)},
			"slot 8: device variable code is given too often: the last slot is 7", ErrRepeated},
		{9, frame.ACK, Contents{"extended device status": number(0), "device variable code": number(1)},
			"time stamp, slot 0: device variable classification, device variable unit, device variable value and device variable status are missing", ErrMissing},
		{9, frame.ACK, Contents{"device variable code": number(1), "device variable value": append(number(1), number(2)...)},
			"extended device status, time stamp, slot 0: device variable classification, device variable unit, device variable status, " +
				"slot 1: device variable code, device variable classification, device variable unit and device variable status are missing", ErrMissing},
		{78, frame.STX, Contents{"number of commands": number(1), "command number": number(1)}, "slot 0: command data is missing", ErrMissing},
		{78, frame.STX, Contents{"number of commands": number(1), "byte count": number(1)},
			"slot 0: command number and command data are missing", ErrMissing},
		{78, frame.STX, Contents{"number of commands": number(1), "command number": number(1), "command data": raw(256)},
			"slot 0: command data has 256 bytes, want at most 255", ErrLength},
		{78, frame.STX, Contents{"number of commands": number(2), "command number": append(number(1), number(2)...),
			"byte count": append(number(2), number(3)...), "command data": append(raw(2), raw(2)...)},
			"slot 1: byte count is not the number of bytes of command data: got 3, want 2", ErrCount},
		{78, frame.STX, Contents{"number of commands": number(1), "command number": number(1),
			"byte count": {{Bytes: []byte{0xff}}}, "command data": raw(2)},
			"slot 0: byte count is not the number of bytes of command data: got ff, want 2", ErrCount},
		{48, frame.ACK, Contents{"device-specific status": raw(5)}, "device-specific status has 5 bytes, want 6", ErrLength},
	} {
		got, err := layout(t, c.command, c.kind, 7).Append([]byte{1}, c.src)
		if err == nil || err.Error() != c.want || !errors.Is(err, c.is) || len(got) != 1 {
			t.Errorf("command %d: got % x, %v, want %s", c.command, got, err, c.want)
		}
	}
}

func TestAppendBitsErrors(t *testing.T) {
	f := &Field{Name: "hardware revision", Type: Unsigned, Size: 1, Bits: Bits{Low: 3, Width: 5}}
	if n, err := f.bitsOf(Content{Number: 32}); err == nil || err.Error() != "is too large: got 32, want 0 to 31" {
		t.Errorf("got %d, %v", n, err)
	}
	if n, err := f.bitsOf(Content{Bytes: []byte{1, 2}}); err == nil || err.Error() != "has 2 bytes, want 1" {
		t.Errorf("got %d, %v", n, err)
	}
	if n, err := f.bitsOf(Content{Bytes: []byte{0xff}}); n != 31 || err != nil {
		t.Errorf("got %d, %v, want 31", n, err)
	}
}

// Bits of one byte are left out together.
func TestAppendBitsLeftOut(t *testing.T) {
	high := Field{Name: "high", Type: Unsigned, Size: 1, Bits: Bits{4, 4}}
	low := Field{Name: "low", Type: Unsigned, Size: 1, Bits: Bits{0, 4}}
	l := &Layout{Head: []Field{high, low}}
	for _, c := range []struct {
		src       Contents
		want, err string
	}{
		{Contents{}, "", ""},
		{Contents{"high": {{Number: 5}}}, "", "low is missing"},
		{Contents{"high": {{Number: 5}}, "low": {{Number: 10}}}, "5a", ""},
	} {
		got, err := l.Append(nil, c.src)
		if hex.EncodeToString(got) != c.want || c.err == "" && err != nil || c.err != "" && (err == nil || err.Error() != c.err) {
			t.Errorf("%v: got % x, %v, want %s, %q", c.src, got, err, c.want, c.err)
		}
	}
}

func TestAppendTimeErrors(t *testing.T) {
	f := &Field{Name: "time stamp", Type: Time, Size: 4}
	for _, c := range []struct {
		seconds float64
		want    error
	}{{-1, ErrTooSmall}, {134218, ErrTooLarge}, {math.Inf(1), ErrTooLarge}, {math.NaN(), ErrNumber}} {
		if got, err := f.append(nil, Content{Number: c.seconds}, false); !errors.Is(err, c.want) || len(got) != 0 {
			t.Errorf("%v s: got % x, %v, want %v", c.seconds, got, err, c.want)
		}
	}
	got, err := f.append(nil, Content{Number: 0.00004}, false) // to the nearest 1/32 ms
	if err != nil || hex.EncodeToString(got) != "00000001" {
		t.Errorf("0.00004 s: got % x, %v", got, err)
	}
}

func TestAppendStatusBytesLength(t *testing.T) {
	l := layout(t, 48, frame.ACK, 7)
	src := Contents{}
	for _, f := range l.Head {
		src[f.Name] = []Content{{Bytes: make([]byte, f.Size)}}
	}
	for n, want := range map[int]string{
		0: "more device-specific status has 0 bytes, want 1 to 11",
		1: "", 11: "",
		12: "more device-specific status has 12 bytes, want 1 to 11",
	} {
		src["more device-specific status"] = []Content{{Bytes: make([]byte, n)}}
		got, err := l.Append(nil, src)
		if want == "" && (err != nil || len(got) != 14+n) || want != "" && (err == nil || err.Error() != want) {
			t.Errorf("%d bytes: got %d, %v, want %q", n, len(got), err, want)
		}
	}
}

func TestLayoutErrors(t *testing.T) {
	for _, c := range []struct {
		command uint16
		kind    frame.Kind
		rev     uint8
		want    string
	}{
		{20, frame.STX, 5, "command 20 (read long tag) has no request in revision 5, want revisions 6 to 7"},
		{1, frame.ACK, 8, "command 1 (read primary variable) has no reply in revision 8, want revisions 5 to 7"},
		{4, frame.STX, 7, "command 4 (reserved): its request is not known"},
	} {
		d, _ := Lookup(c.command)
		if _, err := d.Layout(c.kind, c.rev); err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
	d, _ := Lookup(0)
	if l, err := d.Layout(frame.ACK, 0); err != nil || l.For != revision7 {
		t.Errorf("newest: got %v, %v", l, err)
	}
}
