//go:build unix

package page

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"looptone/sim"
)

// look has n browsers look on from a process of their own.
func (s *site) look(n int) {
	s.t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), viewersAt+"="+s.at, viewersOf+"="+strconv.Itoa(n))
	if err := cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	s.t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
	})
	s.await("all viewers look on", func() bool { return s.viewers() >= n })
}

// await waits until something is so.
func (s *site) await(what string, is func() bool) {
	s.t.Helper()
	for deadline := time.Now().Add(20 * time.Second); !is(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			s.t.Fatalf("not even after 20 s %s", what)
		}
	}
}

// fifteen is a line with so many devices.
func fifteen() string {
	var b strings.Builder
	one := two[strings.Index(two, "[[device]]"):]
	one = one[:strings.LastIndex(one, "[[device]]")]
	b.WriteString("[line]\nname = \"fifteen\"\nsupply_v = 48\nresistor_ohm = 100\n")
	for i := 1; i <= 15; i++ {
		d := strings.Replace(one, `"PT-1"`, fmt.Sprintf(`"PT-%d"`, i), 1)
		d = strings.Replace(d, "polling = 1", fmt.Sprintf("polling = %d", i), 1)
		b.WriteString(strings.Replace(d, "device_id = 1", fmt.Sprintf("device_id = %d", i), 1))
	}
	return b.String()
}

// TestTimingOneViewer: under full traffic of 15 devices with one browser the program takes
// less than 2 % of a core, the line included.
func TestTimingOneViewer(t *testing.T) {
	const span, most = 6 * time.Second, 0.02
	s := serve(t, fifteen(), Config{Polls: true})
	s.look(1)
	before := processorTime(t)
	time.Sleep(span)
	if took := (processorTime(t) - before).Seconds() / span.Seconds(); took > most {
		t.Errorf("%.1f %% of a core, want at most %.0f %%", 100*took, 100*most)
	} else {
		t.Logf("%.2f %% of a core", 100*took)
	}
}

// processorTime is what the process has used so far.
func processorTime(t *testing.T) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// A metronome is a station that notes by how much it is stepped too late.
type metronome struct {
	began time.Time
	first sim.Tick
	late  []time.Duration
}

func (m *metronome) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if m.late == nil {
		m.began, m.first = time.Now(), now
	}
	m.late = append(m.late, time.Since(m.began)-(now-m.first).Duration())
	return nil, now + 2*sim.Millisecond
}

// TestTimingViewersHoldNothingUp: with 30 browsers and one that takes nothing, 99 of 100
// steps of a line with full traffic come at most 2 ms later than without any. Both are
// measured by turns and the better of each is judged: a machine that has something else
// to do makes either worse and neither better.
func TestTimingViewersHoldNothingUp(t *testing.T) {
	const tries, allowed = 3, 2 * time.Millisecond
	alone, watched := time.Hour, time.Hour
	for range tries {
		alone, watched = min(alone, punctuality(t, 0)), min(watched, punctuality(t, 30))
		if watched <= alone+allowed {
			return
		}
	}
	t.Errorf("99 of 100 steps are late by up to %v with 30 viewers, by %v without; want at most %v more", watched, alone, allowed)
}

// punctuality is by how much a line with viewers is late at the most, but for one step of
// a hundred.
func punctuality(t *testing.T, viewers int) time.Duration {
	const span = 2 * time.Second
	s := serve(t, fifteen(), Config{Polls: true})
	defer s.close()
	if viewers > 0 {
		s.look(viewers)
		conn, err := net.Dial("tcp", s.at)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		fmt.Fprintf(conn, "GET /events HTTP/1.1\r\nHost: %s\r\n\r\n", s.at) // and nothing is read
	}
	m := &metronome{}
	var seat *sim.Seat
	s.page.do(func(scene *Scene) { seat = scene.assembly.Line.Join(m) })
	time.Sleep(span)
	s.page.do(func(scene *Scene) { scene.assembly.Line.Leave(seat) })
	slices.Sort(m.late)
	n, least := len(m.late), m.late[0]
	late := m.late[n*99/100] - least
	t.Logf("%d viewers: late by %v in the middle, %v at 99 %%, %v at the most, of %d steps", viewers, m.late[n/2]-least, late, m.late[n-1]-least, n)
	return late
}
