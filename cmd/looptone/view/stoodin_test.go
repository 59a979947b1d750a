package view

import (
	"fmt"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/replay"
)

// TestStoodInCounts: every request is in one count, and what was not recorded is told
// apart by address, command and data.
func TestStoodInCounts(t *testing.T) {
	read, _ := payload.Lookup(1)
	ask := &frame.Frame{Kind: frame.STX, Address: frame.Polling(3), Command: 1}
	other := &frame.Frame{Kind: frame.STX, Address: frame.Polling(4), Command: 200, Data: []byte{0xab, 1}}
	var s StoodIn
	for _, a := range []replay.Asked{
		{Request: ask, Transaction: &replay.Transaction{Fate: replay.Answered}},
		{Request: ask, Transaction: &replay.Transaction{Fate: replay.Silent}},
		{Request: ask, Transaction: &replay.Transaction{}},
		{Request: ask, Unheard: true},
		{Request: ask},
		{Request: ask},
	} {
		s.Add(&a, read)
	}
	s.Add(&replay.Asked{Request: other}, nil)
	want := `1 reply as recorded, 2 silences
1 request was not heard, for a reply was under way
3 requests were not recorded, and nobody answered:
  2 × polling address 3  read primary variable
  1 × polling address 4  command 200  data ab 01
`
	if got := s.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got, want := string(s.Append(nil)), `{"event":"stood_in","replies":1,"silences":2,"unheard":1,"not_recorded":3}`; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// TestStoodInIsBounded: a host that asks for everything does not fill the memory.
func TestStoodInIsBounded(t *testing.T) {
	var s StoodIn
	for i := range 3 * mostStrange {
		s.Add(&replay.Asked{Request: &frame.Frame{Kind: frame.STX, Command: 200, Data: []byte{byte(i >> 8), byte(i)}}}, nil)
	}
	if len(s.strange) != mostStrange || s.Strange() != 3*mostStrange {
		t.Errorf("%d kinds of %d requests, want %d of %d", len(s.strange), s.Strange(), mostStrange, 3*mostStrange)
	}
	if last := fmt.Sprintf("  %d × others\n", 2*mostStrange+1); !strings.HasSuffix(s.String(), last) {
		t.Errorf("the last line is not %q", last)
	}
}

func TestAskedSentence(t *testing.T) {
	ask := &frame.Frame{Kind: frame.STX, Address: frame.Polling(3), Command: 1}
	answered := &replay.Transaction{Fate: replay.Answered}
	for _, test := range []struct {
		name, want, event string
		asked             replay.Asked
	}{
		{"as recorded", "", "", replay.Asked{Request: ask, Transaction: answered}},
		{"again", "all recorded answers were given, and begin again: LT-1  command 1", "again", replay.Asked{Request: ask, Transaction: answered, Round: 1, First: true}},
		{"again, but not the first", "", "", replay.Asked{Request: ask, Transaction: answered, Round: 1}},
		{"once more", "", "", replay.Asked{Request: ask, Transaction: answered, Round: 2, First: true}},
		{"untold", "the recording does not have the answer, so there is none: LT-1  command 1", "answer_not_recorded", replay.Asked{Request: ask, Transaction: &replay.Transaction{}}},
		{"unheard", "not heard, for a reply was under way: LT-1  command 1", "unheard", replay.Asked{Request: ask, Unheard: true}},
		{"strange", "not recorded, so nobody answers: LT-1  command 1", "not_recorded", replay.Asked{Request: ask}},
	} {
		t.Run(test.name, func(t *testing.T) {
			if got := AskedSentence(&test.asked, "LT-1", nil); got != test.want {
				t.Errorf("got %q, want %q", got, test.want)
			}
			want := ""
			if test.event != "" {
				want = `{"event":"` + test.event + `","time":0,"address":{"polling":3},"command":1,"request_data":""}`
			}
			if got := string(AppendAsked(nil, &test.asked, nil)); got != want {
				t.Errorf("got %s, want %s", got, want)
			}
		})
	}
}

func TestRecordingSentence(t *testing.T) {
	r := &replay.Recording{Unasked: 2, Bursts: 3, Transactions: []replay.Transaction{
		{Fate: replay.Answered}, {Fate: replay.Silent}, {},
	}}
	want := "3 requests, 1 answered, 1 unanswered, 1 whose answer is not recorded; left out: 2 replies without their request, 3 bursts"
	if got := RecordingSentence(r); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
