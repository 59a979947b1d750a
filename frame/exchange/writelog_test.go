package exchange_test

import (
	"fmt"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
)

func TestWrites(t *testing.T) {
	s := counted(t, untimedFrames([]frame.Frame{
		request(frame.Polling(3), 0, ""), reply(frame.Polling(3), 0, identity5), // 1, 2
		request(device5, 13, ""), reply(device5, 13, tagLT103), // 3, 4
		request(device5, 6, "05"), secondary(request(device7, 200, "01 02")), // 5, 6
		secondary(reply(device7, 200, "")), refused(reply(device5, 6, "")), // 7, 8
		request(device5, 42, ""), request(device5, 42, ""), // 9, 11; 10 says that nobody answered
	}))
	first, last := s.Writes().Kept()
	var got []string
	for _, w := range first {
		got = append(got, fmt.Sprintf("%d: primary %v, %v %q at %d, command %d % x, known %v, retry of %d, outcome %d, response %d",
			w.Number, w.Primary, w.Address, w.Device, w.Polling, w.Command, w.Data, w.Definition != nil, w.RetryOf, w.Outcome, w.Response))
	}
	want := []string{
		`5: primary true, 3901000007 "LT-103" at 3, command 6 05, known true, retry of 0, outcome 1, response 7`,
		`6: primary false, 3902000008 "" at -1, command 200 01 02, known false, retry of 0, outcome 1, response 0`,
		`9: primary true, 3901000007 "LT-103" at 3, command 42 , known true, retry of 0, outcome 2, response 0`,
		`11: primary true, 3901000007 "LT-103" at 3, command 42 , known true, retry of 9, outcome 2, response 0`,
	}
	if !slices.Equal(got, want) || len(last) != 0 || s.Writes().Count != 4 {
		t.Errorf("%d writes, last %v,\ngot  %q\nwant %q", s.Writes().Count, last, got, want)
	}
}

// The first 64 and the last 64 are kept, and what became of them.
func TestWritesAreBounded(t *testing.T) {
	for _, n := range []int{0, 1, 63, 64, 65, 127, 128, 129, 500} {
		var all []heard
		for i := range n {
			data := fmt.Sprintf("%04x", i)
			all = append(all, heard{frame: request(device5, 130, data)}, heard{frame: reply(device5, 130, data)})
		}
		s := counted(t, all)
		first, last := s.Writes().Kept()
		if s.Writes().Count != int64(n) || len(first) != min(n, 64) || len(last) != min(max(n-64, 0), 64) {
			t.Fatalf("%d writes: counted %d, kept %d and %d", n, s.Writes().Count, len(first), len(last))
		}
		expect := func(i int, w *exchange.Write) {
			if w.Number != 2*i+1 || fmt.Sprintf("%x", w.Data) != fmt.Sprintf("%04x", i) || w.Outcome != exchange.WriteAnswered {
				t.Errorf("%d writes: write %d is number %d with data %x, outcome %d", n, i, w.Number, w.Data, w.Outcome)
			}
		}
		for i := range first {
			expect(i, &first[i])
		}
		for i := range last {
			expect(n-len(last)+i, &last[i])
		}
	}
}

// What is kept is a copy, which later writes leave alone.
func TestKeptWritesStay(t *testing.T) {
	var s exchange.Statistics
	var tracker exchange.Tracker
	var m exchange.Message
	write := func(data string) {
		h := heard{frame: request(device5, 130, data)}
		ev := h.event(t)
		for tracker.Follow(0, &ev, untimed); tracker.Next(&m); {
			s.Add(&m)
		}
	}
	for range 200 {
		write("aa")
	}
	_, last := s.Writes().Kept()
	for range 200 {
		write("bb")
	}
	if len(last) != 64 || last[0].Data[0] != 0xaa {
		t.Errorf("%d writes, the first of them % x, want 64 with aa", len(last), last[0].Data)
	}
}
