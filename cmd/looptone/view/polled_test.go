package view_test

import (
	"strings"
	"testing"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/master"
)

// What a poll of two devices has counted, all constructed: one answers, the other
// is silent now and then, and its second command is under way.
var polledTwo = view.Polled{
	Took: 10 * time.Second, Now: 20 * sim.Second,
	Late: view.Lateness{Turns: 2, Latest: 31 * time.Millisecond},
	Tallies: []master.Tally{
		{Name: "PT-1", Command: 0, Asked: 1, Answered: 1, Occupied: sim.Second / 2, Last: 11 * sim.Second, Response: times(1, 45)},
		{Name: "PT-1", Command: 3, Asked: 8, Answered: 8, Occupied: 4 * sim.Second, Last: 19 * sim.Second, Response: times(8, 45)},
		{Name: "PT-1", Command: -1, Asked: 9, Answered: 9, Occupied: 9 * sim.Second / 2, Last: 19 * sim.Second, Response: times(9, 45)},
		{Name: "PT-2", Command: 1, Asked: 7, Answered: 3, Silent: 2, Damaged: 1, Busy: 1, Retries: 3, Occupied: sim.Second, Last: 18 * sim.Second, Response: times(3, 60)},
		{Name: "PT-2", Command: 48, Asked: 1},
		{Name: "PT-2", Command: -1, Asked: 8, Answered: 3, Silent: 2, Damaged: 1, Busy: 1, Retries: 3, Occupied: sim.Second, Last: 18 * sim.Second, Response: times(3, 60)},
		{Command: -1, Asked: 17, Answered: 12, Silent: 2, Damaged: 1, Busy: 1, Retries: 3, Occupied: 11 * sim.Second / 2, Last: 19 * sim.Second, Response: times(12, 50)},
	},
}

func times(n int64, ms time.Duration) exchange.Quantiles {
	ms *= time.Millisecond
	return exchange.Quantiles{Count: n, Min: ms, Median: ms, Most95: ms + 5e6, Most99: ms + 6e6, Max: ms + 7e6}
}

func TestPolled(t *testing.T) {
	const want = `PT-1
  who it is (0): 1 asked, 1 answered
  read dynamic variables and loop current (3): 8 asked, 8 answered
    after 45 ms in the median, 95 % within 50, 99 % within 51, worst 52
    0.80 a second, on the line 40.0 % of the time, its value is 1.0 s old

PT-2
  read primary variable (1): 7 asked, 3 answered, 1 damaged, 2 silent, 1 busy; 3 of them asked again
    after 60 ms in the median, 95 % within 65, 99 % within 66, worst 67
    0.70 a second, on the line 10.0 % of the time, its value is 2.0 s old
  read additional device status (48): 1 asked, 0 answered, 1 under way
    0.10 a second, on the line 0.0 % of the time, no value
  all its commands: 8 asked, 3 answered, 1 damaged, 2 silent, 1 busy, 1 under way; 3 of them asked again
    after 60 ms in the median, 95 % within 65, 99 % within 66, worst 67
    0.80 a second, on the line 10.0 % of the time, the oldest value is 2.0 s old

all together in 10.0 s: 17 asked, 12 answered, 1 damaged, 2 silent, 1 busy, 1 under way; 3 of them asked again
  after 50 ms in the median, 95 % within 55, 99 % within 56, worst 57
  1.70 a second, on the line 55.0 % of the time, the oldest value is 2.0 s old
  2 turns were taken late, by 31 ms at the most
`
	if got := polledTwo.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestPolledAsObjects(t *testing.T) {
	lines := strings.Split(strings.TrimSuffix(string(polledTwo.AppendJSON(nil)), "\n"), "\n")
	if len(lines) != len(polledTwo.Tallies) {
		t.Fatalf("%d objects, want %d", len(lines), len(polledTwo.Tallies))
	}
	sameJSON(t, lines[3], `{"event":"tally","device":"PT-2","command":1,"asked":7,"answered":3,"damaged":1,"silent":2,"busy":1,"under_way":0,"retries":3,`+
		`"response_time":{"median":0.06,"most_95":0.065,"most_99":0.066,"worst":0.067},"per_second":0.7,"utilisation":0.1,"age":2}`)
	sameJSON(t, lines[4], `{"event":"tally","device":"PT-2","command":48,"asked":1,"answered":0,"damaged":0,"silent":0,"busy":0,"under_way":1,"retries":0,`+
		`"response_time":null,"per_second":0.1,"utilisation":0,"age":null}`)
	sameJSON(t, lines[6], `{"event":"tally","device":null,"command":null,"asked":17,"answered":12,"damaged":1,"silent":2,"busy":1,"under_way":1,"retries":3,`+
		`"response_time":{"median":0.05,"most_95":0.055,"most_99":0.056,"worst":0.057},"per_second":1.7,"utilisation":0.55,"age":2,`+
		`"took":10,"late_turns":2,"latest_turn":0.031}`)
}

// Readings of command 1: answered, refused, busy, heard with errors by the device,
// damaged, silent. All constructed.
func TestReadings(t *testing.T) {
	a := frame.Unique(0x3902, 8)
	address := `"address":{"unique":"3902000008"},"command":1,"name":"read primary variable"`
	value := `"values":[{"name":"primary variable","value":12.5,"unit":"m³/h","unit_code":19}],"revision":7,"revision_assumed":true`
	tests := []struct {
		name, data, outcome, rest, sentence string
		response                            frame.Response
		result                              master.Outcome
	}{
		{"answered", "13 41 48 00 00", "answered", `"response":{"code":0,"text":"success"},"device_status":[],"data":"1341480000",` + value + `,"response_time":0.052`,
			"3902000008 → primary  12.5 m³/h  after 52 ms  (try 2)", 0, master.Answered},
		{"refused", "", "answered", `"response":{"code":64,"text":"command not implemented"},"device_status":[],"data":"","values":[],"response_time":0.052`,
			"3902000008 → primary  command not implemented (response code 64)  after 52 ms  (try 2)", 64, master.Answered},
		{"busy", "", "busy", `"response":{"code":32,"text":"busy"},"device_status":[],"data":"","values":[],"response_time":0.052`,
			"3902000008 → primary  busy (response code 32)  after 52 ms  (try 2)", 32, master.Answered},
		{"misheard", "", "damaged", `"response":{"communication_errors":["vertical parity"]},"device_status":[],"data":"","values":[],"response_time":0.052`,
			"3902000008 → primary  heard the request with errors: vertical parity  after 52 ms  (try 2)", 0xc0, master.Answered},
		{"damaged", "", "damaged", "", "3902000008 does not answer primary  read primary variable  (damage was heard instead)  within 303 ms  (try 2)", 0, master.Unreadable},
		{"silent", "", "silent", "", "3902000008 does not answer primary  read primary variable  within 303 ms  (try 2)", 0, master.Silent},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := conversation{t: t}
			asked := request(a, 1, "")
			m := c.say(asked, nil)
			r := &master.Reading{Try: 2, Transaction: &master.Transaction{Address: a, Command: 1, Outcome: tt.result, Ended: 2 * sim.Second}}
			if tt.result == master.Answered {
				f := answered(reply(a, 1, tt.data), tt.response, 0)
				m = c.say(f, nil)
				m.Response = exchange.Elapsed{Known: true, Time: 52 * time.Millisecond}
				r.Reply, r.ResponseTime = f, sim.Ticks(52*time.Millisecond)
			} else {
				m.Unanswered, m.Waited = 1, exchange.Elapsed{Known: true, Time: 303 * time.Millisecond}
				if tt.result == master.Unreadable {
					m.Damage = 1
				}
			}
			m.Span = exchange.Span{Known: true}
			want := `{"event":"reading","time":2,"device":"LT-1",` + address + `,"try":2,"outcome":"` + tt.outcome + `"`
			if tt.rest != "" {
				want += "," + tt.rest
			}
			sameJSON(t, string(new(view.JSON).AppendReading(nil, r, m, "LT-1")), want+"}")
			if got := view.ReadingSentence(r, m, "LT-1"); got != tt.sentence {
				t.Errorf("\ngot  %s\nwant %s", got, tt.sentence)
			}
		})
	}
}

// What comes, goes and changes from scan to scan, all constructed.
func TestSightings(t *testing.T) {
	at := exchange.Span{Known: true, Start: 12500 * time.Millisecond}
	now := master.Found{Polling: 9, Unique: device5, UniversalRevision: 5, Tag: new("LT-1"), ResponseTime: sim.Second / 20}
	was := now
	was.Polling, was.Tag = 3, new("")
	keys := `"line":"Quillmere","polling":9,"unique":"3901000007","manufacturer":0,"device_type":0,"device_id":7,"universal_revision":5,` +
		`"device_revision":0,"preambles":0,"tag":"LT-1","long_tag":null,"descriptor":null,"loop_current_mode":null,"loop_current_ma":null,` +
		`"pv":null,"pv_unit":null,"device_status":[],"response_time":0.05`
	found := "  9  LT-1      no value                               revision 5, unique address 3901000007, after 50 ms"
	for _, tt := range []struct {
		s              master.Sighting
		json, sentence string
	}{
		{master.Sighting{Change: master.Came, Found: &now}, `{"event":"came","time":12.5,` + keys + `}`, "came     " + found},
		{master.Sighting{Change: master.Changed, Found: &now, Was: &was},
			`{"event":"changed","time":12.5,` + keys + `,"was":{"polling":3,"tag":"","long_tag":null}}`,
			"changed  " + found + "; before: polling address 3, tag (no tag)"},
		{master.Sighting{Change: master.Went, Found: &now}, `{"event":"went","time":12.5,` + keys + `}`, "went       9  LT-1      unique address 3901000007"},
		{master.Sighting{Change: master.Went, Found: &master.Found{Polling: 4, Unreadable: true, Tries: 3}},
			`{"event":"went","time":12.5,"polling":4,"unreadable":true,"tries":3}`, "went       4  what could not be read"},
	} {
		sameJSON(t, string(view.AppendSighting(nil, "Quillmere", &tt.s, &at)), tt.json)
		if got := view.SightingSentence(&tt.s); got != tt.sentence {
			t.Errorf("\ngot  %s\nwant %s", got, tt.sentence)
		}
	}
}
