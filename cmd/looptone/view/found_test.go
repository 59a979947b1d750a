package view_test

import (
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/master"
)

// What a scan finds, all constructed: a device of revision 7 with everything, one
// of revision 5 that has told only who it is, and something unreadable.
func TestFound(t *testing.T) {
	kPa := unit.Code(12)
	all := master.Found{
		Polling: 3, Tries: 1, Unique: frame.Unique(0x3902, 8), Manufacturer: 0x00f9, DeviceType: 0xf902,
		UniversalRevision: 7, DeviceRevision: 2, Preambles: 5, ResponseTime: 52 * sim.Second / 1000,
		Tag: new("LT-103"), LongTag: new("Behälter \"2\""), Descriptor: new(""), Modulated: new(true),
		LoopCurrentMA: new(float64(float32(12.1))), PV: new(float64(float32(24.91))), PVUnit: &kPa,
		Status: frame.ColdStart | frame.LoopCurrentFixed,
	}
	parked := all
	parked.Modulated = new(false)
	for _, tt := range []struct {
		name     string
		f        master.Found
		json     string
		sentence string
	}{
		{"with everything", all, `{"line":"Quillmere","polling":3,"unique":"3902000008","manufacturer":249,"device_type":63746,"device_id":8,` +
			`"universal_revision":7,"device_revision":2,"preambles":5,"tag":"LT-103","long_tag":"Behälter \"2\"","descriptor":"",` +
			`"loop_current_mode":"modulated","loop_current_ma":12.1,"pv":24.91,"pv_unit":"kPa",` +
			`"device_status":["cold start","loop current fixed"],"response_time":0.052}`,
			"  3  LT-103    24.91 kPa         12.100 mA moving     revision 7, unique address 3902000008, after 52 ms"},
		{"parked", parked, `{"line":"Quillmere","polling":3,"unique":"3902000008","manufacturer":249,"device_type":63746,"device_id":8,` +
			`"universal_revision":7,"device_revision":2,"preambles":5,"tag":"LT-103","long_tag":"Behälter \"2\"","descriptor":"",` +
			`"loop_current_mode":"fixed","loop_current_ma":12.1,"pv":24.91,"pv_unit":"kPa",` +
			`"device_status":["cold start","loop current fixed"],"response_time":0.052}`,
			"  3  LT-103    24.91 kPa         12.100 mA parked     revision 7, unique address 3902000008, after 52 ms"},
		{"with its identity alone", master.Found{Polling: 12, Tries: 1, Unique: device5, Manufacturer: 249, DeviceType: 1,
			UniversalRevision: 5, DeviceRevision: 1, Preambles: 8, ResponseTime: sim.Second / 4},
			`{"line":"Quillmere","polling":12,"unique":"3901000007","manufacturer":249,"device_type":1,"device_id":7,` +
				`"universal_revision":5,"device_revision":1,"preambles":8,"tag":null,"long_tag":null,"descriptor":null,` +
				`"loop_current_mode":null,"loop_current_ma":null,"pv":null,"pv_unit":null,"device_status":[],"response_time":0.25}`,
			" 12  (no tag)  no value                               revision 5, unique address 3901000007, after 250 ms"},
		{"unreadable", master.Found{Polling: 5, Unreadable: true, Tries: 3}, `{"polling":5,"unreadable":true,"tries":3}`,
			"  5  something answers that cannot be read, 3 times asked"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			sameJSON(t, string(view.AppendFound(nil, "Quillmere", &tt.f)), tt.json)
			if got := view.FoundSentence(&tt.f); got != tt.sentence {
				t.Errorf("\ngot  %q\nwant %q", got, tt.sentence)
			}
		})
	}
}
