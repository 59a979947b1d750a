package payload

import "testing"

// Source: Allen-Bradley 1794-UM063A appendix C (what 6, 17, 18, 34, 35 write);
// Biffi ICON3000 HART manual MDE 254 p.38 (59).
func TestSetter(t *testing.T) {
	for _, tt := range []struct {
		revision uint8
		words    []string
		want     uint16
	}{
		{7, []string{"damping=1"}, 34},
		{7, []string{"device_variable_code=1", "damping=1"}, 55},
		{7, []string{"upper_range_value=1"}, 35},
		{5, []string{"unit=kPa", "lower_range_value=0"}, 35},
		{5, []string{"polling_address=1"}, 6},
		{7, []string{"loop_current_mode=enabled"}, 6},
		{5, []string{"tag=A"}, 18},
		{5, []string{"message=A"}, 17},
		{7, []string{"response_preambles=7"}, 59},
		{7, []string{"primary_variable_unit=bar"}, 44},
	} {
		d, err := (*Book)(nil).Setter(AnyDevice, tt.revision, tt.words)
		if err != nil || d.Command != tt.want {
			t.Errorf("%v: got %v, %v, want command %d", tt.words, d, err, tt.want)
		}
	}
}

// A revision that has no such field is no reason to write another one.
func TestSetterOfRevision5(t *testing.T) {
	for word, want := range map[string]string{
		"loop_current_mode=enabled": "loop_current_mode",
		"long_tag=A":                "long_tag",
	} {
		if d, err := (*Book)(nil).Setter(AnyDevice, 5, []string{word}); err == nil {
			t.Errorf("%s: got command %d, want none: revision 5 has no %s", word, d.Command, want)
		}
	}
}

// Who names what is to be set does not mean a trim, a reset, or a test.
func TestSetterLeavesActionsOut(t *testing.T) {
	for words, want := range map[string]string{
		"device_variable_code=1": "device variable code only says what a command is about: name what is to be set",
		"fixed_loop_current=0":   "fixed_loop_current belongs to command 40 (enter or exit fixed current mode), which has to be meant: give --command 40",
		"EEPROM_control=0":       "eeprom_control belongs to command 39 (EEPROM control), which has to be meant: give --command 39",
		"analog_channel=0":       "analog channel only says what a command is about: name what is to be set",
		"nonsense=1":             `no such field that can be set: got "nonsense"`,
		"range_upper=3":          `no such field that can be set: got "range_upper"`,
		"uper_range_value=3":     `no such field: got "uper_range_value", did you mean upper_range_value?`,
	} {
		if d, err := (*Book)(nil).Setter(AnyDevice, 7, []string{words}); err == nil || err.Error() != want {
			t.Errorf("%s: got %v, %v\nwant %s", words, d, err, want)
		}
	}
}

func TestTeller(t *testing.T) {
	for _, tt := range []struct {
		fields []string
		want   uint16
	}{
		{[]string{"descriptor", "date"}, 13},
		{[]string{"unit", "lower range value"}, 15},
		{[]string{"polling address"}, 7},
	} {
		d, ok := (*Book)(nil).Teller(AnyDevice, 7, tt.fields)
		if !ok || d.Command != tt.want {
			t.Errorf("%v: got %v, want command %d", tt.fields, d, tt.want)
		}
	}
	if d, ok := (*Book)(nil).Teller(AnyDevice, 5, []string{"loop current mode"}); ok {
		t.Errorf("got command %d, want none in revision 5", d.Command)
	}
}
