package drawing

import (
	"math"
	"testing"
)

// scene is a line with two masters and two devices: a request that is answered after
// 50 ms, one of which nobody takes notice, and two devices that answer at once. A bit is
// 1/1200 s and a character 11 bits; a carrier goes on 5 bits before, and off 3 bits behind.
const scene = `
	const stations = [
		{ id: 0, name: "primary master", kind: "master" }, { id: 1, name: "secondary master", kind: "master" },
		{ id: 2, name: "A", kind: "device" }, { id: 3, name: "B", kind: "device" },
	];
	const character = 11 / 1200, carriers = [], messages = [];
	const say = (station, start, chars, message) => {
		const end = start + chars * character;
		carriers.push({ n: carriers.length + 1, station, on: start - 5 / 1200, off: end + 3 / 1200, start, chars, ff: 5 });
		if (message) messages.push({ n: messages.length + 1, from: station, start, end, reply_to: 0, sentence: "", ...message });
		return end;
	};
	let end = say(0, 1, 10, { kind: "request", to: 2 });
	end = say(2, end + 0.050, 20, { kind: "reply", to: 0, reply_to: 1 });
	const answered = end;
	end = say(1, end + 0.090, 10, { kind: "request", to: 3 });
	const asked = end;
	say(0, end + 0.400, 10, { kind: "request", to: 2 });
	end = messages.at(-1).end;
	say(2, end + 0.050, 20);
	say(3, end + 0.060, 20);
	const spoken = new Spoken();
	spoken.set(carriers, messages);
`

type timer struct {
	Kind           string
	Station        int
	Length, Full   float64
	Over, Answered bool
}

// The lengths are those of the timer table: 28, 8, 33 and 41 characters.
//
// Source: FieldComm Group support article 8000040648 (timer table).
func TestTimersThatRun(t *testing.T) {
	var got []timer
	node(t, scene+`
		answer(spoken.running(1, 3, 3, stations).map((timer) => ({
			Kind: timer.kind, Station: timer.station, Length: timer.end - timer.start, Full: timer.full,
			Over: timer.over, Answered: Boolean(timer.answered),
		})));`, &got)
	const character = 11.0 / 1200
	want := []timer{
		{"time-out", 2, 0.050, 28 * character, false, true},
		{"grant", 0, 8 * character, 8 * character, true, false},
		{"time-out", 3, 28 * character, 28 * character, true, false},
		{"time-out", 2, 0.050, 28 * character, false, true},
		{"quiet", 0, 33 * character, 33 * character, true, false}, // behind the unanswered request
		{"quiet", 1, 41 * character, 41 * character, true, false},
		{"quiet", 0, 33 * character, 33 * character, true, false}, // in the end
		{"quiet", 1, 41 * character, 41 * character, true, false},
	}
	// 90 ms are less than link grant and hold, so no link quiet is shown behind the reply.
	if len(got) != len(want) {
		t.Fatalf("got %d timers, want %d: %+v", len(got), len(want), got)
	}
	for i, g := range got {
		w := want[i]
		near := math.Abs(g.Length-w.Length) < 1e-6 && math.Abs(g.Full-w.Full) < 1e-9
		if g.Length, g.Full, w.Length, w.Full = 0, 0, 0, 0; g != w || !near {
			t.Errorf("timer %d: got %+v, want %+v", i, got[i], want[i])
		}
	}
}

// A timer that still runs ends at the moment that is shown.
func TestTimerStillRuns(t *testing.T) {
	var got []timer
	node(t, scene+`
		answer(spoken.running(1, 3, asked + 0.1, stations).filter((timer) => timer.station === 3).map((timer) => ({
			Kind: timer.kind, Station: timer.station, Length: timer.end - timer.start, Full: timer.full,
			Over: timer.over, Answered: Boolean(timer.answered),
		})));`, &got)
	if len(got) != 1 || math.Abs(got[0].Length-0.1) > 1e-6 || got[0].Over || got[0].Answered {
		t.Errorf("100 ms behind a request: got %+v, want one timer that has run 0.1 s", got)
	}
}

// Who talks instead of the device that was asked has not answered.
func TestAnotherTalksInstead(t *testing.T) {
	var got []bool
	node(t, scene+`
		const timers = (to) => {
			const request = { n: 9, kind: "request", from: 0, to, start: 1, end: 1 + 10 * character };
			return Boolean(spoken.timeOut(request, 3).answered);
		};
		answer([timers(2), timers(3), timers(-1)]);`, &got)
	if want := []bool{true, false, true}; len(got) != 3 || got[0] != want[0] || got[1] != want[1] || got[2] != want[2] {
		t.Errorf("asked A, B, somebody unknown, and A talks: answered %v, want %v", got, want)
	}
}

func TestCollisionsAndRoles(t *testing.T) {
	var got struct {
		Collisions [][2]float64
		Roles      []string
		Messages   []int
	}
	node(t, scene+`
		answer({
			Collisions: spoken.collisions(0, 10).map((c) => [c.from - end, c.to - end]),
			Roles: carriers.map((carrier) => spoken.role(carrier, stations[carrier.station])),
			Messages: carriers.map((carrier) => spoken.message(carrier)?.n ?? 0),
		});`, &got)
	const length = 20 * 11.0 / 1200
	if len(got.Collisions) != 1 || math.Abs(got.Collisions[0][0]-0.060) > 1e-6 || math.Abs(got.Collisions[0][1]-0.050-length) > 1e-6 {
		t.Errorf("collisions: got %v, want one from 60 ms to %v s behind the request", got.Collisions, 0.050+length)
	}
	for i, want := range []string{"host", "device", "host", "host", "device", "device"} {
		if got.Roles[i] != want {
			t.Errorf("carrier %d: role %s, want %s", i+1, got.Roles[i], want)
		}
	}
	for i, want := range []int{1, 2, 3, 4, 0, 0} {
		if got.Messages[i] != want {
			t.Errorf("carrier %d: message %d, want %d", i+1, got.Messages[i], want)
		}
	}
}

// What is found by times is what a search through everything finds, however many there are.
func TestFoundByTime(t *testing.T) {
	var wrong []string
	node(t, `
		const carriers = [], messages = [];
		let time = 0, seed = 7;
		const random = () => (seed = seed * 16807 % 2147483647) / 2147483647;
		for (let n = 1; n <= 5000; n++) {
			time += random() * 0.4;
			const long = random() < 0.01, station = long ? 100 + n : n % 7;
			const start = time, off = start + 0.1 + random() * (long ? 2.4 : 0.2);
			carriers.push({ n, station, on: start, off, start, chars: 10, ff: 5 });
			messages.push({ n, from: station, start, end: off, kind: "reply", reply_to: 0 });
			time = random() < 0.1 && !long ? start + 0.05 : off;
		}
		const spoken = new Spoken();
		spoken.set(carriers, messages);
		const wrong = [];
		for (let i = 0; i < 300; i++) {
			const from = random() * time, to = from + random() * 3;
			const [first, last] = spoken.carriersIn(from, to);
			carriers.forEach((carrier, k) => {
				if (carrier.off >= from && carrier.on <= to && (k < first || k >= last)) wrong.push("carrier " + k);
			});
			const found = new Set(spoken.messagesIn(from, to));
			for (const message of messages) {
				if (message.end >= from && message.start <= to && !found.has(message)) wrong.push("message " + message.n);
			}
		}
		for (const carrier of carriers) if (spoken.message(carrier)?.n !== carrier.n) wrong.push("of " + carrier.n);
		answer(wrong);`, &wrong)
	if len(wrong) > 0 {
		t.Errorf("%d not found, the first of them %v", len(wrong), wrong[0])
	}
}

// What comes in from outside comes in pieces, which may overlap by what clocks differ: one
// station does not collide with itself, and all of them are the message.
func TestPiecesFromOutside(t *testing.T) {
	var got struct {
		Collisions int
		Messages   []int
		Roles      []string
	}
	node(t, `
		const character = 11 / 1200, carriers = [];
		for (let n = 1, start = 1; n <= 3; n++, start += 4 * character - 0.003) {
			carriers.push({ n, station: 5, on: start, off: start + 4 * character, start, chars: 4, ff: n === 1 ? 4 : 0 });
		}
		const spoken = new Spoken();
		spoken.set(carriers, [{ n: 1, from: 5, start: 1, end: carriers[2].off, kind: "request", to: -1, reply_to: 0 }]);
		answer({
			Collisions: spoken.collisions(0, 5).length,
			Messages: carriers.map((carrier) => spoken.message(carrier)?.n ?? 0),
			Roles: carriers.map((carrier) => spoken.role(carrier, { id: 5, kind: "outside" })),
		});`, &got)
	if got.Collisions != 0 {
		t.Errorf("got %d collisions of a station with itself", got.Collisions)
	}
	for i := range got.Messages {
		if got.Messages[i] != 1 || got.Roles[i] != "host" {
			t.Errorf("piece %d: message %d of a %s, want 1 of a host", i+1, got.Messages[i], got.Roles[i])
		}
	}
}
