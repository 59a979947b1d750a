package serialio

import (
	"bytes"
	"fmt"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"

	"pgregory.net/rapid"
)

// epoch is when the messages of these tests begin; a character takes ten milliseconds.
var epoch = time.Date(2031, 3, 1, 3, 0, 0, 0, time.UTC)

func moment(ms int) time.Time { return epoch.Add(time.Duration(ms) * time.Millisecond) }

// echoOf is the echo of a port that is late by up to 50 ms and has begun a message of
// these characters.
func echoOf(message string) *echo {
	e := &echo{late: 50 * time.Millisecond}
	e.begin(len(message), epoch, moment(10*len(message)))
	e.sent([]byte(message))
	return e
}

// heard writes down what came in: as "= abc" a whole echo, as "! abc" a damaged one, and
// as "abc" what is none.
func heard(parts []frame.Arrival) string {
	signs := map[frame.Echo]string{frame.NoEcho: "", frame.EchoWhole: "= ", frame.EchoDamaged: "! "}
	var all []string
	for _, p := range parts {
		all = append(all, signs[p.Echo]+string(p.Chars))
	}
	return strings.Join(all, ", ")
}

func TestEchoIsComparedInOrder(t *testing.T) {
	type arrival struct {
		ms    int
		chars string
	}
	tests := []struct {
		name, message string
		in            []arrival
		want          string
	}{
		{"the same", "request", []arrival{{70, "request"}}, "= request"},
		{"in pieces", "request", []arrival{{30, "req"}, {70, "uest"}}, "= req, = uest"},
		{"later than it should, but in time", "request", []arrival{{119, "request"}}, "= request"},
		{"too late", "request", []arrival{{121, "request"}}, "request"},
		{"the reply right behind it", "request", []arrival{{71, "requestreply"}}, "= request, reply"},
		{"the reply begins as the request", "aaab", []arrival{{40, "aaab"}, {41, "aaac"}}, "= aaab, aaac"},
		{"a character is changed", "request", []arrival{{70, "reQuest"}}, "= re, ! Quest"},
		{"and then comes a reply", "request", []arrival{{70, "reQuest"}, {71, "reply"}}, "= re, ! Quest, reply"},
		{"a character is missing", "request", []arrival{{70, "reuest"}, {119, "x"}, {120, "y"}}, "= re, ! uest, ! x, y"},
		{"a character is missing, nothing else comes in time", "request", []arrival{{70, "reuest"}, {121, "x"}}, "= re, ! uest, x"},
		{"a character too many", "request", []arrival{{60, "reqquest"}, {71, "x"}}, "= req, ! quest, x"},
		{"somebody goes on talking", "ab", []arrival{{20, "aX"}, {30, "YZ"}}, "= a, ! X, YZ"},
		{"somebody else begins first", "ab", []arrival{{5, "X"}, {15, "ab"}, {25, "c"}}, "! X, ! ab, c"},
		{"it breaks off", "request", []arrival{{30, "req"}, {121, "reply"}}, "= req, reply"},
		{"nothing comes back", "request", []arrival{{121, "reply"}}, "reply"},
	}
	for _, tt := range tests {
		e := echoOf(tt.message)
		var got []string
		for _, a := range tt.in {
			got = append(got, heard(e.divide(frame.Arrival{At: moment(a.ms), Chars: []byte(a.chars)})))
		}
		if got := strings.Join(got, ", "); got != tt.want {
			t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
		}
	}
}

func TestEchoOfSeveralMessages(t *testing.T) {
	e := echoOf("one")
	e.begin(3, moment(40), moment(70))
	e.sent([]byte("two"))
	if got := heard(e.divide(frame.Arrival{At: moment(75), Chars: []byte("onetwo3")})); got != "= onetwo, 3" {
		t.Errorf("got %q", got)
	}
	e = echoOf("one") // whose echo never comes
	e.begin(3, moment(90), moment(120))
	e.sent([]byte("two"))
	if got := heard(e.divide(frame.Arrival{At: moment(121), Chars: []byte("two3")})); got != "= two, 3" {
		t.Errorf("got %q", got)
	}
}

// A message that leaves character by character is not compared with what has not left.
func TestEchoOfWhatHasNotLeft(t *testing.T) {
	e := &echo{late: 50 * time.Millisecond}
	e.begin(4, epoch, moment(40))
	e.sent([]byte("a"))
	got := heard(e.divide(frame.Arrival{At: moment(11), Chars: []byte("ab")}))
	e.sent([]byte("bcd"))
	got += ", " + heard(e.divide(frame.Arrival{At: moment(41), Chars: []byte("cde")}))
	if got != "= a, ! b, ! cd, e" {
		t.Errorf("got %q", got)
	}
}

func TestEchoOfAMessageThatIsGivenUp(t *testing.T) {
	e := echoOf("request")
	e.cut(moment(20))
	first := heard(e.divide(frame.Arrival{At: moment(25), Chars: []byte("re")}))
	second := heard(e.divide(frame.Arrival{At: moment(71), Chars: []byte("reply")}))
	if first != "= re" || second != "reply" {
		t.Errorf("got %q and %q", first, second)
	}
}

// Of a message that leaves character by character, nothing comes back behind the last one
// that has left.
func TestEchoOfAMessageThatIsGivenUpWhileItLeaves(t *testing.T) {
	e := &echo{late: 50 * time.Millisecond}
	e.begin(7, epoch, moment(70))
	e.sent([]byte("re"))
	e.cut(moment(20))
	if got := heard(e.divide(frame.Arrival{At: moment(25), Chars: []byte("rex")})); got != "= re, x" {
		t.Errorf("got %q", got)
	}
}

// Where nothing ever comes back, no more than the last messages are kept.
func TestEchoThatNeverComesIsForgotten(t *testing.T) {
	e := &echo{late: 50 * time.Millisecond}
	for i := range 1000 {
		e.begin(3, moment(100*i), moment(100*i+30))
		e.sent([]byte("abc"))
	}
	if n := len(e.messages); n != 1 {
		t.Errorf("%d messages are kept, want 1", n)
	}
}

// A message that was due long ago leaves at once, and so its echo comes later than due.
func TestEchoOfAMessageThatIsLate(t *testing.T) {
	e := &echo{late: 50 * time.Millisecond}
	e.begin(3, moment(500), moment(30))
	e.sent([]byte("abc"))
	if got := heard(e.divide(frame.Arrival{At: moment(510), Chars: []byte("abcd")})); got != "= abc, d" {
		t.Errorf("got %q", got)
	}
}

func TestEchoWithAWrongParityBitIsDamaged(t *testing.T) {
	e := echoOf("abcd")
	parts := e.divide(frame.Arrival{At: moment(40), Chars: []byte("abcde"), Marks: []frame.MarkAt{
		{Pos: 1, Mark: frame.Gap}, {Pos: 2, Mark: frame.Parity}, {Pos: 4, Mark: frame.Framing}, {Pos: 5, Mark: frame.Cut}}})
	if got := heard(parts); got != "= ab, ! cde" {
		t.Errorf("got %q", got)
	}
	var marks []frame.MarkAt
	for _, p := range parts {
		marks = append(marks, p.Marks...)
	}
	if want := fmt.Sprint([]frame.MarkAt{{Pos: 1, Mark: frame.Gap}, {Pos: 0, Mark: frame.Parity}, {Pos: 2, Mark: frame.Framing}, {Pos: 3, Mark: frame.Cut}}); fmt.Sprint(marks) != want {
		t.Errorf("got marks %v, want %v", marks, want)
	}
}

// However what is heard is divided into reads at one moment, the same comes of it, and
// nothing is lost or changed on the way.
func TestEchoDoesNotDependOnReads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		alphabet := rapid.SampledFrom([]byte{'a', 'b', 0xff})
		message := string(rapid.SliceOfN(alphabet, 1, 8).Draw(t, "message"))
		in := rapid.SliceOfN(alphabet, 1, 20).Draw(t, "heard")
		at := moment(rapid.IntRange(0, 200).Draw(t, "ms"))
		kinds := func(e *echo, parts ...[]byte) (all []byte, kinds []frame.Echo) {
			for _, p := range parts {
				for _, a := range e.divide(frame.Arrival{At: at, Chars: p}) {
					all = append(all, a.Chars...)
					kinds = append(kinds, bytesOf(a)...)
				}
			}
			return all, kinds
		}
		cut := rapid.IntRange(0, len(in)).Draw(t, "cut")
		whole, a := kinds(echoOf(message), in)
		divided, b := kinds(echoOf(message), in[:cut], in[cut:])
		if !bytes.Equal(whole, in) || !bytes.Equal(divided, in) || fmt.Sprint(a) != fmt.Sprint(b) {
			t.Errorf("got %v and %v", a, b)
		}
		for i, k := range a {
			if k == frame.EchoWhole && (i >= len(message) || in[i] != message[i]) {
				t.Errorf("character %d is %x, and the message has another there", i, in[i])
			}
		}
	})
}

func bytesOf(a frame.Arrival) (kinds []frame.Echo) {
	for range a.Chars {
		kinds = append(kinds, a.Echo)
	}
	return kinds
}

// A modem that repeats on its port what it sends, and after a while what is answered.
func TestPortKnowsItsEcho(t *testing.T) {
	for _, tt := range []struct{ name, comes, want string }{
		{"same", "\xff\xff\x02\x80", "= \xff, = \xff, = \x02, = \x80, r, e"},
		{"damaged", "\xff\xfe\x02\x80", "= \xff, ! \xfe, ! \x02, ! \x80, r, e"},
	} {
		synctest.Test(t, func(t *testing.T) {
			near, far := net.Pipe()
			client := newPort("client", near, Settings{Modem: Modem{Echo: true}})
			defer client.Close()
			modem := newPort("modem", far, Settings{})
			defer modem.Close()
			go func() {
				for i := range len(tt.comes) {
					<-modem.Arrivals()
					modem.Send(t.Context(), time.Now().Add(-time.Hour), 0, 0, []byte(tt.comes[i:i+1]))
				}
				modem.Send(t.Context(), time.Now().Add(300*time.Millisecond), 0, 0, []byte("re"))
			}()
			if err := client.Send(t.Context(), time.Now(), 0, 0, []byte("\xff\xff\x02\x80")); err != nil {
				t.Fatal(err)
			}
			var parts []frame.Arrival
			for range len(tt.comes) + len("re") {
				parts = append(parts, <-client.Arrivals())
			}
			if got := heard(parts); got != tt.want {
				t.Errorf("%s: got %q, want %q", tt.name, got, tt.want)
			}
		})
	}
}

// A UART gets a message in one write, and its echo may begin before that returns.
func TestUARTKnowsItsEcho(t *testing.T) {
	near := &loopedBack{hardware: hardware{recorder: newRecorder()}, back: make(chan []byte, 1)}
	p := newPort("looped back", near, Settings{Modem: Modem{Echo: true}})
	defer p.Close()
	if err := p.Send(t.Context(), overdue, 0, 0, []byte{0xff, 1, 2}); err != nil {
		t.Fatal(err)
	}
	if a := <-p.Arrivals(); a.Echo != frame.EchoWhole || !bytes.Equal(a.Chars, []byte{0xff, 1, 2}) {
		t.Errorf("got %+v", a)
	}
}

// loopedBack is hardware that reads what it writes.
type loopedBack struct {
	hardware
	back chan []byte
}

func (l *loopedBack) Write(b []byte) (int, error) {
	l.back <- bytes.Clone(b)
	return l.hardware.Write(b)
}

func (l *loopedBack) Read(b []byte) (int, error) {
	select {
	case chars := <-l.back:
		return copy(b, chars), nil
	case <-l.stop:
		return l.recorder.Read(b)
	}
}
