package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"
)

// shelf keeps the files of a recorder in memory. Writes wait while it is closed, and
// fail as long as fault is set.
type shelf struct {
	mu    sync.Mutex
	open  *sync.Cond
	shut  bool
	fault error
	room  int // for so many bytes, all the same
	files []*paperFile
}

type paperFile struct {
	on     *shelf
	text   bytes.Buffer
	closed bool
}

func newShelf() *shelf {
	s := &shelf{}
	s.open = sync.NewCond(&s.mu)
	return s
}

func (s *shelf) Open() (File, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fault != nil {
		return nil, s.fault
	}
	f := &paperFile{on: s}
	s.files = append(s.files, f)
	return f, nil
}

// set closes or opens it, and has writes fail or succeed.
func (s *shelf) set(shut bool, fault error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.shut, s.fault, s.room = shut, fault, 5
	s.open.Broadcast()
}

func (f *paperFile) Write(b []byte) (int, error) {
	f.on.mu.Lock()
	defer f.on.mu.Unlock()
	for f.on.shut {
		f.on.open.Wait()
	}
	if f.on.fault != nil {
		n := min(len(b), f.on.room)
		f.text.Write(b[:n]) // which leaves a torn line
		f.on.room -= n
		return n, f.on.fault
	}
	return f.text.Write(b)
}

func (f *paperFile) Close() error   { f.closed = true; return nil }
func (f *paperFile) Discard() error { return f.Close() }

// lines are the lines of file i behind what describes it, without their CRCs.
func (s *shelf) lines(t *testing.T, i int) (lines []string) {
	t.Helper()
	for line := range strings.Lines(s.files[i].text.String()) {
		text, _, sealed := cutSeal([]byte(strings.TrimSuffix(line, "\n")))
		if !sealed || !strings.HasPrefix(string(text), "! st") && !strings.HasPrefix(string(text), magic) {
			lines = append(lines, string(text))
		}
	}
	return lines
}

// wholesome wants each file to be read without damage.
func (s *shelf) wholesome(t *testing.T, damages int) {
	t.Helper()
	for i, f := range s.files {
		rd, _, err := Open(bytes.NewReader(f.text.Bytes()), fmt.Sprint("file ", i), "capture")
		check(t, err)
		for rec := new(Record); ; {
			if err := rd.Next(rec); err != nil {
				if err != io.EOF {
					t.Error(err)
				}
				break
			}
			if rec.Damage != nil {
				if damages--; damages < 0 {
					t.Errorf("%v in\n%s", rec.Damage, f.text.String())
				}
			}
		}
	}
}

func wantLines(t *testing.T, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

var oneStream = []Stream{{Name: "loop", Times: EndTimes, Late: 16 * time.Millisecond}}

func started(t *testing.T, r Recording) *Recorder {
	t.Helper()
	rec, err := r.Start()
	check(t, err)
	return rec
}

// hear hands characters to a recorder now.
func hear(r *Recorder, stream uint8, chars ...byte) {
	r.Heard(stream, &frame.Arrival{At: time.Now(), Chars: chars})
}

func TestRecorder(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		r := started(t, Recording{Open: s.Open, Streams: append(oneStream, Stream{Name: "other", Times: EndTimes})})
		time.Sleep(1500 * time.Millisecond)
		r.Heard(0, &frame.Arrival{At: time.Now(), Chars: []byte{0xff, 2}, Marks: []frame.MarkAt{{Pos: 1, Mark: frame.Parity}}})
		r.Heard(1, &frame.Arrival{At: time.Now(), Carrier: 1})
		time.Sleep(time.Second + 1234567)
		hear(r, 1, 6)
		r.Heard(1, &frame.Arrival{At: time.Now(), Carrier: -1})
		r.Gone(0, time.Now(), "loop is gone")
		time.Sleep(time.Minute)
		r.Resumed(0, time.Now())
		time.Sleep(time.Second)
		hear(r, 0, 7)
		check(t, r.Close())
		hear(r, 0, 8) // which nobody records
		wantLines(t, s.lines(t, 0), "1.5 0 ff 02p", "1.5 1 carrier on", "2.501234 1 06", "2.501234 1 carrier off",
			"# 2.501234 loop is gone", "2.501234 0 carrier off", "! end", "1 0 07", "! end")
		if s.wholesome(t, 0); !s.files[0].closed || r.Lost() != 0 {
			t.Error("not closed, or something lost")
		}
		if text := s.files[0].text.String(); !strings.Contains(text, "! started 2000-01-01T00:00:00Z ") || !strings.Contains(text, "! started 2000-01-01T00:01:02.501234Z ") {
			t.Errorf("wall clocks in\n%s", text)
		}
	})
}

// A writer that blocks for 10 s holds nobody up. What finds no room is counted, and as
// soon as there is room the file tells.
func TestRecorderNeverBlocks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		const waiting = 100 // characters that find room
		r := started(t, Recording{Open: s.Open, Streams: oneStream, Buffer: waiting * (entrySize + 1)})
		s.set(true, nil)
		for range 1000 {
			before := time.Now()
			time.Sleep(10 * time.Millisecond)
			hear(r, 0, 1)
			if took := time.Since(before); took != 10*time.Millisecond {
				t.Fatalf("it took %v", took)
			}
		}
		synctest.Wait()
		s.set(false, nil)
		synctest.Wait()
		lines := s.lines(t, 0)
		if len(lines) != waiting+1 || lines[waiting] != "10 0 lost 900" || lines[waiting-1] != "1 0 01" {
			t.Fatalf("%d lines, at the end %q", len(lines), lines[max(0, len(lines)-3):])
		}
		time.Sleep(time.Second)
		hear(r, 0, 2)
		check(t, r.Close())
		wantLines(t, s.lines(t, 0)[waiting+1:], "11 0 02", "! end")
		if s.wholesome(t, 0); r.Lost() != 900 {
			t.Errorf("%d lost, want 900", r.Lost())
		}
	})
}

// A buffer of the usual size lasts for longer than 10 s, whatever the characters come as.
func TestRecorderLasts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		r := started(t, Recording{Open: s.Open, Streams: append(oneStream, oneStream...)})
		s.set(true, nil)
		for range 10 * 1200 / 11 {
			hear(r, 0, 1)
			hear(r, 1, 1)
			time.Sleep(frame.Characters(1))
		}
		s.set(false, nil)
		if check(t, r.Close()); r.Lost() > 0 {
			t.Errorf("%d lost", r.Lost())
		}
		s.wholesome(t, 0)
	})
}

// The carrier is told right even where its changes found no room.
func TestRecorderKeepsTheCarrier(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		r := started(t, Recording{Open: s.Open, Streams: oneStream, Buffer: entrySize * 3 / 2})
		s.set(true, nil)
		carrier := func(change int8) { r.Heard(0, &frame.Arrival{At: time.Now(), Carrier: change}) }
		carrier(1)
		synctest.Wait()
		for i := range byte(4) {
			time.Sleep(time.Second)
			hear(r, 0, i)
		}
		time.Sleep(time.Second)
		carrier(-1)
		carrier(1)
		carrier(-1)
		s.set(false, nil)
		synctest.Wait()
		check(t, r.Close())
		wantLines(t, s.lines(t, 0), "0 0 carrier on", "4 0 lost 4", "5 0 carrier off", "! end")
		s.wholesome(t, 0)
	})
}

// A disk that is full is told once, and so is that it has room again; what was lost
// meanwhile stands in the file.
func TestRecorderOnAFullDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		var told []error
		r := started(t, Recording{Open: s.Open, Streams: oneStream, Trouble: func(err error) { told = append(told, err) }})
		hear(r, 0, 1)
		synctest.Wait()
		s.set(false, errFull)
		for i := range byte(5) {
			time.Sleep(100 * time.Millisecond)
			hear(r, 0, i)
		}
		synctest.Wait()
		s.set(false, nil)
		time.Sleep(2 * time.Second) // without anybody who talks
		synctest.Wait()
		if lines := s.lines(t, 0); lines[len(lines)-1] != "0.5 0 lost 5" {
			t.Errorf("got %q", lines)
		}
		hear(r, 0, 9)
		check(t, r.Close())
		if s.wholesome(t, 1); !slices.Equal(told, []error{errFull, nil}) || r.Lost() != 5 {
			t.Errorf("told %v, %d lost", told, r.Lost())
		}
		lines := s.lines(t, 0)
		wantLines(t, lines[len(lines)-3:], "0.5 0 lost 5", "2.5 0 09", "! end")
	})
}

func TestRecorderThatCannotEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		r := started(t, Recording{Open: s.Open, Streams: oneStream})
		s.set(false, errFull)
		hear(r, 0, 1)
		if err := r.Close(); !errors.Is(err, errFull) {
			t.Errorf("got %v", err)
		}
		s.set(false, errFull)
		if _, err := (Recording{Open: s.Open}).Start(); !errors.Is(err, errFull) {
			t.Errorf("got %v", err)
		}
	})
}

// talk has one message of 20 characters a second, over a line that is silent otherwise.
func talk(r *Recorder, messages int, pause time.Duration) {
	for range messages {
		time.Sleep(pause)
		for c := range byte(20) {
			time.Sleep(frame.Characters(1))
			hear(r, 0, c)
		}
	}
}

// No message is divided where files end, and each is complete.
func TestRotation(t *testing.T) {
	for _, tt := range []struct {
		name       string
		r          Recording
		pause      time.Duration
		files      int
		undividing bool
	}{
		{"by size", Recording{RotateSize: 2000}, time.Second, 60, true},
		{"by time", Recording{RotateEvery: 10 * time.Second}, time.Second, 36, true},
		{"where nobody is silent for long", Recording{RotateEvery: 10 * time.Second}, 100 * time.Millisecond, 5, true},
		{"where nobody is ever silent", Recording{RotateEvery: time.Second}, 0, 3, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := newShelf()
				tt.r.Open, tt.r.Streams = s.Open, oneStream
				r := started(t, tt.r)
				const messages = 300
				talk(r, messages, tt.pause)
				check(t, r.Close())
				s.wholesome(t, 0)
				total := 0
				for i, f := range s.files {
					lines := s.lines(t, i)
					heard := len(lines) - 1
					if total += heard; tt.undividing && heard%20 != 0 || lines[heard] != "! end" || !f.closed {
						t.Errorf("file %d:\n%s", i, strings.Join(lines, "\n"))
					}
				}
				if total != 20*messages || len(s.files) != tt.files {
					t.Errorf("%d characters in %d files, want %d in %d", total, len(s.files), 20*messages, tt.files)
				}
			})
		})
	}
}

// Time goes by without anybody who talks, too; and what cannot be opened is tried again.
func TestRotationInSilence(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		var told []error
		r := started(t, Recording{Open: s.Open, Streams: oneStream, RotateEvery: time.Minute, Trouble: func(err error) { told = append(told, err) }})
		time.Sleep(5*time.Minute + 30*time.Second)
		synctest.Wait()
		if len(s.files) != 6 {
			t.Errorf("%d files, want 6", len(s.files))
		}
		s.set(false, errFull)
		time.Sleep(time.Minute)
		s.set(false, nil)
		time.Sleep(10 * time.Second)
		if check(t, r.Close()); len(s.files) != 7 || !slices.Equal(told, []error{errFull, nil}) {
			t.Errorf("%d files, told %v", len(s.files), told)
		}
		s.wholesome(t, 0)
	})
}

func TestMaxSize(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		r := started(t, Recording{Open: s.Open, Streams: oneStream, MaxSize: 2000, RotateSize: 500})
		talk(r, 100, time.Second)
		<-r.Full()
		check(t, r.Close())
		size := 0
		for _, f := range s.files {
			size += f.text.Len()
		}
		if size < 2000 || size > 2100 || r.Lost() > 0 {
			t.Errorf("%d bytes, %d lost", size, r.Lost())
		}
		s.wholesome(t, 0)
	})
}

// voidFile is a file that keeps nothing.
type voidFile struct{ io.Writer }

func (voidFile) Close() error   { return nil }
func (voidFile) Discard() error { return nil }

// BenchmarkRecorder hands messages over and has them written: bytes are those of the file.
func BenchmarkRecorder(b *testing.B) {
	written := new(counter)
	r, err := Recording{Open: func() (File, error) { return voidFile{written}, nil }, Streams: oneStream, Buffer: 1 << 30}.Start()
	if err != nil {
		b.Fatal(err)
	}
	chars := []byte("\xff\xff\xff\xff\xff\x86\xb9\x02\x00\x00\x67\x03\x0b\x00\x08\x40\x80\x00\x00\x2d\x40\x0d\xac\x08\x5f")
	at := time.Now()
	b.ReportAllocs()
	for b.Loop() {
		r.Heard(0, &frame.Arrival{At: at, Chars: chars})
	}
	if err := r.Close(); err != nil || r.Lost() > 0 {
		b.Fatal(err, r.Lost())
	}
	b.SetBytes(int64(*written) / int64(b.N))
}

type counter int64

func (c *counter) Write(b []byte) (int, error) {
	*c += counter(len(b))
	return len(b), nil
}
