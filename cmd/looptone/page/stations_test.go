package page

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"looptone/frame"
)

// TestBackInTheOldLane: a master that leaves the line and comes back has the lane that it
// had, and is not gone any more.
func TestBackInTheOldLane(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		secondary := func() (found []Station) {
			for _, x := range r.late().Stations {
				if x.Name == "secondary master" {
					found = append(found, x)
				}
			}
			return found
		}
		poll, quiet := Wish{Do: "poll", As: "secondary", Command: 3, Every: 5}, Wish{Do: "quiet", As: "secondary"}
		r.must(poll)
		time.Sleep(3 * time.Second)
		before := secondary()
		r.must(quiet)
		time.Sleep(3 * time.Second)
		left := secondary()
		r.must(poll)
		time.Sleep(3 * time.Second)
		after := secondary()
		if len(before) != 1 || len(left) != 1 || len(after) != 1 || !left[0].Gone || after[0] != before[0] {
			t.Fatalf("it had %+v, left it as %+v, and has %+v, want the first again", before, left, after)
		}
		list := r.events()
		if m, _ := last[Message](t, list, "message"); m.From != before[0].ID && m.To != before[0].ID {
			t.Errorf("the last message %+v is not of station %d", m, before[0].ID)
		}
	})
}

// TestTheTimetableHasNoLane: what does actions at their time is not on the wires, and a
// device may have its name.
func TestTheTimetableHasNoLane(t *testing.T) {
	run(t, two+"[[at]]\ntime = \"100s\"\nmute = \"PT-1\"\n", Config{}, func(r *running) {
		if lanes := r.late().Stations; len(lanes) != 2 {
			t.Errorf("lanes %+v, want those of the two devices", lanes)
		}
	})
}

// A pipe is a wire from a host who types.
type pipe chan frame.Arrival

func (p pipe) Arrivals() <-chan frame.Arrival { return p }

func (pipe) Send(ctx context.Context, _ time.Time, _, _ time.Duration, _ []byte) error {
	return ctx.Err()
}

// TestPiecesAreOneCarrier: what a host outside sends character by character is one carrier,
// for who looks on and for who comes later; the next message is another one.
func TestPiecesAreOneCarrier(t *testing.T) {
	run(t, two, Config{Outside: true}, func(r *running) {
		host := make(pipe)
		r.scene.runner.Attach("host", host, nil)
		time.Sleep(time.Second)
		stations := r.late().Stations
		outside := stations[slices.IndexFunc(stations, func(x Station) bool { return x.Kind == "outside" })].ID
		const character = 9166667 * time.Nanosecond
		r.events()
		for _, pause := range [...]time.Duration{0, 2 * character} {
			for i, b := range []byte{0xff, 0xff, 0xff, 0x02, 0x89, 0x00, 0x00, 0x8b} { // to nobody
				time.Sleep(character - time.Duration(i%2)*100*time.Microsecond) // as operating systems have it
				if i == 5 {
					time.Sleep(pause)
				}
				host <- frame.Arrival{At: time.Now(), Chars: []byte{b}}
			}
			time.Sleep(time.Second)
		}
		said := map[int64]Carrier{} // by the host, as it was told last
		times := 0
		for _, e := range r.events() {
			if c, ok := last[Carrier](t, []told{e}, "carrier"); ok && c.Station == outside {
				said[c.N] = c
				times++
			}
		}
		if len(said) != 2 || times != 16 {
			t.Fatalf("told %d times of %+v, want one carrier a message, and of each character", times, said)
		}
		for _, c := range said {
			if c.Chars != 8 || c.FF != 3 || math.Abs(c.Off-c.Start-8*0.00916667-waited(&c)) > 0.005 {
				t.Errorf("%+v, want 8 characters one behind the other", c)
			}
		}
		if late := r.late(); len(late.Carriers) != 2 {
			t.Errorf("who comes late is told %+v, want two", late.Carriers)
		}
	})
}

// waited is what a carrier's pauses add up to.
func waited(c *Carrier) (s float64) {
	for _, p := range c.Pauses {
		s += p[1]
	}
	return s
}
