//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// A sitting is a program on a terminal of its own, and what it has drawn there.
type sitting struct {
	cmd  *exec.Cmd
	ptmx *os.File

	before string // how the terminal was set when the program began

	mu     sync.Mutex
	screen *terminal
	gone   chan struct{} // nobody writes any more
}

// onTerminal starts the program on a terminal of so many columns and rows, with
// more of an environment.
func onTerminal(t *testing.T, width, height int, environ []string, args ...string) *sitting {
	t.Helper()
	s := &sitting{cmd: program(t, args...), screen: newTerminal(width, height), gone: make(chan struct{})}
	s.cmd.Env = append(without(os.Environ(), "NO_COLOR", "TERM"), environ...)
	ptmx, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer tty.Close()
	s.ptmx = ptmx
	t.Cleanup(func() { ptmx.Close() })
	if err := pty.Setsize(ptmx, &pty.Winsize{Rows: uint16(height), Cols: uint16(width)}); err != nil {
		t.Fatal(err)
	}
	s.before = s.settings(t)
	s.cmd.Stdin, s.cmd.Stdout, s.cmd.Stderr = tty, tty, tty
	s.cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.cmd.Process.Kill() })
	go s.read()
	return s
}

func without(environ []string, names ...string) (kept []string) {
	for _, e := range environ {
		name, _, _ := strings.Cut(e, "=")
		if !strings.Contains(" "+strings.Join(names, " ")+" ", " "+name+" ") {
			kept = append(kept, e)
		}
	}
	return kept
}

func (s *sitting) read() {
	defer close(s.gone)
	buf := make([]byte, 4096)
	var rest []byte // of a character that was cut
	for {
		n, err := s.ptmx.Read(buf)
		if err != nil {
			return
		}
		rest = append(rest, buf[:n]...)
		s.mu.Lock()
		whole := wholeSequences(rest)
		s.screen.write(string(rest[:whole]))
		s.mu.Unlock()
		rest = append(rest[:0], rest[whole:]...)
	}
}

// wholeSequences is how much of b does not end within a control sequence or a
// character.
func wholeSequences(b []byte) int {
	if at := bytes.LastIndexByte(b, 0x1b); at >= 0 && !sequence.Match(b[at:]) {
		return at
	}
	for at := len(b) - 1; at >= max(0, len(b)-utf8.UTFMax); at-- {
		if utf8.RuneStart(b[at]) {
			if !utf8.FullRune(b[at:]) {
				return at
			}
			break
		}
	}
	return len(b)
}

func (s *sitting) look() (text string, t terminal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.screen.text(), *s.screen
}

// until waits until something stands on the screen.
func (s *sitting) until(t *testing.T, what string) string {
	t.Helper()
	if err := poll(func() bool { text, _ := s.look(); return strings.Contains(text, what) }); err != nil {
		text, _ := s.look()
		t.Fatalf("%q does not come; the screen shows\n%s", what, text)
	}
	text, _ := s.look()
	return text
}

// end waits for the program to end, and gives its exit code.
func (s *sitting) end(t *testing.T) int {
	t.Helper()
	ended := make(chan struct{})
	go func() { s.cmd.Wait(); close(ended) }()
	select {
	case <-ended:
	case <-time.After(20 * time.Second):
		t.Fatal("the program does not end")
	}
	<-s.gone
	return s.cmd.ProcessState.ExitCode()
}

// fifteenDevices is a line with names and units that are not ASCII.
func fifteenDevices(t *testing.T) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("[line]\nname = \"Fünfzehn µ³\"\n")
	for i := range 15 {
		fmt.Fprintf(&b, `
[[device]]
tag = "FT-%d"
long_tag = "Durchfluß µ³ %d"
polling = %d
kind = "flow"
latency_ms = %d
sensor = { lower = 0.0, upper = 50.0, unit = "kPa" }
range = { lower = 0.0, upper = 25.0, unit = "kPa" }
user_unit = { lower = 0.0, upper = 120.0, unit = "m³/h" }
process = { model = "sine", low = 5.0, high = 20.0, period_s = 20.0 }
`, 101+i, i, 1+i, 5+15*i)
	}
	name := filepath.Join(t.TempDir(), "fifteen.toml")
	if err := os.WriteFile(name, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// A table of fifteen devices on a small terminal and on a large one: it is redrawn
// in place, and whatever ends it leaves the terminal as it was.
func TestTimingPollOnATerminal(t *testing.T) {
	tests := []struct {
		name          string
		width, height int
		end           func(s *sitting)
	}{
		{"interrupted", 80, 24, func(s *sitting) { s.cmd.Process.Signal(os.Interrupt) }},
		{"terminated, on a large one", 200, 50, func(s *sitting) { s.cmd.Process.Signal(syscall.SIGTERM) }},
		{"Ctrl-C", 120, 30, func(s *sitting) { s.ptmx.WriteString("\x03") }},
		{"q, on a low one", 80, 12, func(s *sitting) { s.ptmx.WriteString("q") }},
	}
	line := fifteenDevices(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			args := []string{"poll", "--line", line}
			for i := range 15 {
				args = append(args, "--ask", fmt.Sprintf("FT-%d:3", 101+i))
			}
			s := onTerminal(t, tt.width, tt.height, []string{"TERM=xterm-256color"}, args...)
			s.until(t, "3 asked, 3 answered; ")
			during, drawn := s.look()
			t.Logf("the screen shows\n%s", during)
			if s.settings(t) == s.before {
				t.Error("what is typed is echoed into the table")
			}
			checkTable(t, during, drawn)
			tt.end(s)
			if code := s.end(t); code != 0 {
				t.Errorf("it exits with %d, want 0", code)
			}
			if after := s.settings(t); after != s.before {
				t.Errorf("the terminal is set to %+v, was %+v", after, s.before)
			}
			text, left := s.look()
			if left.other || !left.shows || len(left.unknown) > 0 {
				t.Errorf("other screen: %v, cursor: %v, unknown sequences: %v", left.other, left.shows, left.unknown)
			}
			if !strings.Contains(text, "all together in ") || strings.Contains(text, "lately") {
				t.Errorf("in the end the screen shows\n%s", text)
			}
		})
	}
}

// Who does not want a terminal to be drawn on gets a sentence a reading there too,
// and nothing that moves the cursor.
func TestTimingPollOnAPlainTerminal(t *testing.T) {
	for _, environ := range [][]string{{"TERM=dumb"}, {"TERM=xterm-256color", "NO_COLOR=1"}} {
		t.Run(strings.Join(environ, " "), func(t *testing.T) {
			t.Parallel()
			s := onTerminal(t, 200, 50, environ, "poll", "--device", "LT-103", "--command", "1", "--rounds", "1")
			if code := s.end(t); code != 0 {
				t.Errorf("it exits with %d, want 0", code)
			}
			text, drawn := s.look()
			if !strings.Contains(text, "LT-103 → primary  18.") || !strings.Contains(text, "all together in ") {
				t.Errorf("the screen shows\n%s", text)
			}
			if drawn.sequences > 0 || len(drawn.unknown) > 0 {
				t.Errorf("%d control sequences, %v", drawn.sequences, drawn.unknown)
			}
		})
	}
}

// checkTable wants a table that was drawn in place: no line wraps, nothing was wiped
// meanwhile, and the cursor is hidden.
func checkTable(t *testing.T, text string, drawn terminal) {
	t.Helper()
	if !drawn.other || drawn.shows || drawn.wraps > 0 || drawn.clears > 1 || len(drawn.unknown) > 0 {
		t.Errorf("other screen: %v, cursor: %v, wrapped %d times, wiped %d times, unknown sequences: %v",
			drawn.other, drawn.shows, drawn.wraps, drawn.clears, drawn.unknown)
	}
	want := min(15, drawn.height-9) // without what stands above and below, and what says how many are left out
	if rows := strings.Count(text, "\nFT-1"); rows < want {
		t.Errorf("%d rows, want at least %d", rows, want)
	}
	for _, what := range []string{"Fünfzehn µ³, simulated  0:00:0", " m³/h  ", "  5 ms  "} {
		if !strings.Contains(text, what) {
			t.Errorf("%q is not on the screen:\n%s", what, text)
		}
	}
}

// settings are those of the terminal, as far as can be compared.
func (s *sitting) settings(t *testing.T) string {
	t.Helper()
	state, err := term.GetState(int(s.ptmx.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%+v", *state)
}
