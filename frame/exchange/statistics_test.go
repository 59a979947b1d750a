package exchange_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// counted is what is counted of all that is heard, to the end of the input.
func counted(t fataler, all []heard) *exchange.Statistics {
	t.Helper()
	var tracker exchange.Tracker
	var s exchange.Statistics
	var m exchange.Message
	for _, h := range all {
		ev := h.event(t)
		for tracker.Follow(h.stream, &ev, h.at); tracker.Next(&m); {
			s.Add(&m)
		}
	}
	for tracker.End(); tracker.Next(&m); {
		s.Add(&m)
	}
	return &s
}

func replied(code frame.Response) frame.Frame {
	f := reply(frame.Polling(3), 1, "")
	f.Status.Response = code
	return f
}

func TestCounts(t *testing.T) {
	three := frame.Polling(3)
	ask := request(three, 1, "")
	for _, tt := range []struct {
		name string
		said []frame.Frame
		want exchange.Counts
	}{
		{"answered", []frame.Frame{ask, replied(0)}, exchange.Counts{Requests: 1, Replies: 1, Answered: 1}},
		{"answered at the second try", []frame.Frame{ask, ask, replied(0)}, exchange.Counts{Requests: 2, Replies: 1, Answered: 1, Unanswered: 1, Retries: 1}},
		{"unasked", []frame.Frame{replied(0)}, exchange.Counts{Replies: 1, Unasked: 1}},
		{"burst", []frame.Frame{burst(replied(0))}, exchange.Counts{Bursts: 1}},
		{"a warning", []frame.Frame{ask, replied(8)}, exchange.Counts{Requests: 1, Replies: 1, Answered: 1}},
		{"busy", []frame.Frame{ask, replied(32)}, exchange.Counts{Requests: 1, Replies: 1, Answered: 1, Busy: 1}},
		{"delayed", []frame.Frame{ask, replied(33), ask, replied(34)}, exchange.Counts{Requests: 2, Replies: 2, Answered: 2, Busy: 2}},
		{"refused", []frame.Frame{ask, replied(7)}, exchange.Counts{Requests: 1, Replies: 1, Answered: 1, Refused: 1}},
		{"heard with errors", []frame.Frame{ask, garbled(replied(0)), ask, replied(0)},
			exchange.Counts{Requests: 2, Replies: 2, Answered: 2, Misheard: 1, Retries: 1}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := counted(t, untimedFrames(tt.said))
			devices, others := s.Devices()
			commands := s.Commands()
			if s.Counts != tt.want || len(devices) != 1 || devices[0].Counts != tt.want || len(commands) != 1 || commands[0].Counts != tt.want {
				t.Errorf("got  %+v\nof devices %+v\nof commands %+v\nwant %+v", s.Counts, devices, commands, tt.want)
			}
			if d := commands[0].Definition; commands[0].Command != 1 || d == nil || d.Command != 1 {
				t.Errorf("command %d, definition %+v, want 1", commands[0].Command, d)
			}
			if others.Frames() != 0 || s.Waiting() != 0 {
				t.Errorf("%d frames of others, %d waiting", others.Frames(), s.Waiting())
			}
			if devices[0].Address != three || devices[0].Polling != 3 {
				t.Errorf("device %v at %d, want polling address 3", devices[0].Address, devices[0].Polling)
			}
		})
	}
}

// What was said at the polling address before a device had introduced itself is
// counted for the device.
func TestCountsOfDevices(t *testing.T) {
	three, four, five := frame.Polling(3), frame.Polling(4), frame.Polling(5)
	s := counted(t, untimedFrames([]frame.Frame{
		request(device7, 1, ""), reply(device7, 1, ""), // has not introduced itself
		request(three, 0, ""), reply(three, 0, identity5),
		request(four, 0, ""), reply(four, 0, identity7),
		request(five, 0, ""), // silent
		request(device5, 13, ""), reply(device5, 13, tagLT103),
		secondary(request(three, 1, "")), secondary(reply(three, 1, "")),
	}))
	var got []string
	devices, _ := s.Devices()
	for _, d := range devices {
		got = append(got, fmt.Sprintf("%v at %d, revision %d, tag %q: %d asked, %d replies", d.Address, d.Polling, d.Revision, d.Tag, d.Requests, d.Replies))
	}
	want := []string{
		`3902000008 at 4, revision 7, tag "": 2 asked, 2 replies`,
		`3901000007 at 3, revision 5, tag "LT-103": 3 asked, 3 replies`,
		`5 at 5, revision 0, tag "": 1 asked, 0 replies`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	if s.Primary != 5 || s.Secondary != 1 {
		t.Errorf("%d requests of the primary, %d of the secondary, want 5, 1", s.Primary, s.Secondary)
	}
	var commands []uint16
	for _, c := range s.Commands() {
		commands = append(commands, c.Command)
	}
	if !slices.Equal(commands, []uint16{0, 1, 13}) {
		t.Errorf("commands %v", commands)
	}
}

// Also between frames of another master, and with what was damaged.
func TestCountsOfPollingAddressBecomeTheDevices(t *testing.T) {
	three := frame.Polling(3)
	s := counted(t, []heard{
		{frame: reply(device5, 0, identity5)},
		{frame: secondary(request(three, 0, ""))},
		{frame: secondary(request(three, 2, "")), damage: frame.FieldCheckByte},
		{frame: secondary(request(three, 0, ""))},
		{frame: request(device5, 1, "")}, {frame: reply(device5, 1, "")},
		{frame: secondary(reply(three, 0, identity5))},
	})
	devices, _ := s.Devices()
	if len(devices) != 1 || devices[0].Requests != 3 || devices[0].Replies != 3 || devices[0].DamagedRequests != 1 {
		t.Errorf("%+v, want one device, asked three times and once more with damage", devices)
	}
}

// An address that a device has left is another one.
// A request to all devices is that of the device that has answered it; those that
// nobody answered stay apart.
func TestCountsOfRequestsToAll(t *testing.T) {
	answer := reply(frame.Unique(0x3902, 103), 11, "")
	answer.Status.Response = 5 // and so it tells nothing of itself
	ask := request(frame.Broadcast, 11, "041041410410")
	s := counted(t, untimedFrames([]frame.Frame{ask, answer}))
	want := exchange.Counts{Requests: 1, Replies: 1, Answered: 1, Refused: 1}
	if devices, _ := s.Devices(); len(devices) != 1 || devices[0].Address != answer.Address || devices[0].Counts != want {
		t.Errorf("counted %+v, want the device alone, with %+v", devices, want)
	}
	s = counted(t, untimedFrames([]frame.Frame{ask, answer, ask}))
	left := exchange.Counts{Requests: 1, Unanswered: 1}
	if devices, _ := s.Devices(); len(devices) != 2 || !devices[0].Address.IsBroadcast() || devices[0].Counts != left || devices[1].Counts != want {
		t.Errorf("counted %+v, want %+v of all and %+v of the device", devices, left, want)
	}
}

func TestCountsOfALeftAddress(t *testing.T) {
	three := frame.Polling(3)
	s := counted(t, untimedFrames([]frame.Frame{
		request(three, 0, ""), reply(three, 0, identity5), request(device5, 6, "05"), reply(device5, 6, "05"), request(three, 1, ""),
	}))
	devices, _ := s.Devices()
	if len(devices) != 2 || devices[0].Requests != 2 || devices[0].Polling != 5 || devices[1].Requests != 1 || devices[1].Polling != 3 {
		t.Errorf("%+v, want a device at 5 and somebody silent at 3", devices)
	}
}

// A device answered at a polling address before it had introduced itself, and by
// its unique address before that: both stay, for what was heard cannot be told
// apart.
func TestCountsStayApart(t *testing.T) {
	three := frame.Polling(3)
	s := counted(t, untimedFrames([]frame.Frame{
		reply(device5, 1, ""), reply(three, 1, ""), request(three, 0, ""), reply(three, 0, identity5),
	}))
	devices, _ := s.Devices()
	if len(devices) != 2 || devices[0].Address != device5 || devices[0].Replies != 2 ||
		devices[1].Address != three || devices[1].Replies != 1 || devices[1].Requests != 1 {
		t.Errorf("%+v", devices)
	}
}

// 1,024 devices are kept apart, the rest is summed up.
func TestManyDevicesAreSummedUp(t *testing.T) {
	var all []heard
	for id := range uint32(1500) {
		unique := frame.Unique(0x3902, id)
		data := unhex(identity7)
		data[10], data[11] = byte(id>>8), byte(id)
		f := parked(reply(unique, 0, ""))
		f.Data = data
		all = append(all, heard{frame: request(unique, 0, "")}, heard{frame: f})
	}
	s := counted(t, all)
	devices, others := s.Devices()
	if len(devices) != 1024 || devices[1023].Revision != 7 || others.Requests != 1500-1024 || others.Replies != 1500-1024 || others.Polling != -1 {
		t.Errorf("%d devices, others %+v", len(devices), others)
	}
	if others.Revision != 0 || len(others.Status) != 0 {
		t.Errorf("the others have a revision, %d, or a status, %v", others.Revision, others.Status)
	}
	if s.Requests != 1500 {
		t.Errorf("%d requests, want 1500", s.Requests)
	}
}

func TestErrors(t *testing.T) {
	three := frame.Polling(3)
	var all []heard
	for _, err := range []error{frame.ErrParity, frame.ErrParity, frame.ErrFraming, frame.ErrGap, frame.ErrCheckByte, frame.ErrCut, frame.ErrByteCount} {
		all = append(all, heard{frame: request(three, 1, ""), damage: frame.FieldData, err: err})
	}
	all = append(all,
		heard{frame: request(three, 1, "")},
		heard{frame: reply(three, 1, ""), damage: frame.FieldCheckByte, err: frame.ErrCheckByte},
		heard{frame: burst(reply(three, 1, "")), damage: frame.FieldDelimiter, err: frame.ErrParity},
		heard{noise: true}, heard{noise: true, length: 2}, heard{noise: true, length: 3}, heard{noise: true, length: 9, err: frame.ErrFrameType},
		heard{frame: garbled(reply(three, 1, ""))},
	)
	s := counted(t, all)
	e := &s.Errors
	want := exchange.Errors{
		Parity: 3, Framing: 1, Gap: 1, CheckByte: 2, Cut: 1, ByteCount: 1,
		UnknownType: 1, Strays: 2, Noise: 1, NoiseCharacters: 15,
	}
	want.ByTalker[frame.STX], want.ByTalker[frame.ACK], want.ByTalker[0] = 7, 1, 1
	want.ByField[frame.FieldData], want.ByField[frame.FieldCheckByte], want.ByField[frame.FieldDelimiter] = 7, 1, 1
	want.Reported[3] = 1 // longitudinal parity: 88. Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4.
	if *e != want {
		t.Errorf("got  %+v\nwant %+v", *e, want)
	}
	if e.Damaged() != 9 {
		t.Errorf("%d damaged, want 9", e.Damaged())
	}
	devices, _ := s.Devices()
	if len(devices) != 1 || devices[0].DamagedRequests != 0 || devices[0].DamagedReplies != 1 {
		t.Errorf("of devices: %+v", devices)
	}
}

// Damage counts for the device whose address was read, or that was asked; for
// nobody where neither is known.
func TestErrorsOfDevices(t *testing.T) {
	damaged := func(f frame.Frame, field frame.Field) heard {
		return heard{frame: f, damage: field, err: errors.New("constructed")}
	}
	s := counted(t, []heard{
		{frame: request(frame.Polling(3), 0, "")}, {frame: reply(frame.Polling(3), 0, identity5)},
		{frame: request(frame.Polling(0), 0, "")}, {frame: reply(frame.Polling(0), 0, identity7)},
		damaged(reply(device5, 1, ""), frame.FieldData),
		damaged(request(device5, 1, ""), frame.FieldCheckByte),
		damaged(reply(frame.Unique(1, 1), 1, ""), frame.FieldData),
		{frame: request(frame.Polling(3), 1, "")},
		damaged(reply(device7, 1, ""), frame.FieldAddress),
	})
	devices, _ := s.Devices()
	if len(devices) != 2 || devices[0].DamagedRequests != 1 || devices[0].DamagedReplies != 2 ||
		devices[1].DamagedRequests+devices[1].DamagedReplies != 0 {
		t.Errorf("%+v, want one damaged request and two replies of the first", devices)
	}
}

// An address that could not be read is not polling address 0.
func TestErrorsOfNobody(t *testing.T) {
	zero := frame.Polling(0)
	s := counted(t, []heard{
		{frame: request(zero, 1, "")}, {frame: reply(zero, 1, "")},
		{frame: reply(device5, 1, ""), damage: frame.FieldAddress},
	})
	if devices, _ := s.Devices(); len(devices) != 1 || devices[0].DamagedReplies != 0 || s.Errors.Damaged() != 1 {
		t.Errorf("%+v, want one device without damage", devices)
	}
}

// A line that is never silent is used wholly, and twice as long a time half.
func TestUtilisation(t *testing.T) {
	stream := polled(1)
	var s exchange.Statistics
	along(stream, new(exchange.Tracker), s.Add)
	part, ok := s.Utilisation()
	if !ok || part < 0.999999 || part > 1.000001 {
		t.Errorf("utilisation %v, %v, want 1", part, ok)
	}
	if s.Characters != int64(len(stream)) {
		t.Errorf("%d characters, want %d", s.Characters, len(stream))
	}
	if want := spanOf(&frame.Event{End: int64(len(stream))}).End; s.Watched() != want {
		t.Errorf("watched for %v, want %v", s.Watched(), want)
	}
	const char = 11 * time.Second / 1200
	for _, tt := range []struct {
		name string
		at   []exchange.Span
		part float64
		ok   bool
	}{
		// Two requests of 5 characters, each 5 × 11 bits = 45.833 ms, in 183.333 ms are half of it.
		{"half", []exchange.Span{at(0, 5*char), at(15*char, 20*char)}, 0.5, true},
		{"no times", []exchange.Span{untimed, untimed}, 0, false},
		{"one moment", []exchange.Span{at(time.Second, time.Second), at(time.Second, time.Second)}, 0, false},
		{"characters apart", []exchange.Span{at(0, 10*char), at(15*char, 20*char)}, 0.5, true},
		{"half of them with times", []exchange.Span{untimed, at(0, 20*char)}, 0.25, true},
		{"both at once", []exchange.Span{at(0, 5*char), at(0, 5*char)}, 1, true},
		{"one upon the other", []exchange.Span{at(0, 5*char), at(3*char, 8*char)}, 1, true},
	} {
		f := heard{frame: request(frame.Polling(3), 1, "")}
		first, second := f, f
		first.at, second.at = tt.at[0], tt.at[1]
		s := counted(t, []heard{first, second})
		if part, ok := s.Utilisation(); ok != tt.ok || part < tt.part-1e-6 || part > tt.part+1e-6 {
			t.Errorf("%s: utilisation %v, %v, want %v, %v", tt.name, part, ok, tt.part, tt.ok)
		}
	}
}

// What lies between two parts is no time in which the line was watched.
func TestUtilisationOfParts(t *testing.T) {
	var tracker exchange.Tracker
	var s exchange.Statistics
	var m exchange.Message
	for day := range 2 {
		h := heard{frame: request(frame.Polling(3), 1, "")} // of 5 characters
		for i := range 2 {
			begin := time.Duration(day)*24*time.Hour + time.Duration(i)*15*frame.Character
			h.at = at(begin, begin+5*frame.Character)
			ev := h.event(t)
			for tracker.Follow(0, &ev, h.at); tracker.Next(&m); {
				s.Add(&m)
			}
		}
		s.Part()
	}
	part, ok := s.Utilisation()
	if s.Watched() != 40*frame.Character || !ok || part < 0.5-1e-6 || part > 0.5+1e-6 {
		t.Errorf("%v of %v in use, want half of 40 characters", part, s.Watched())
	}
}

// Echoes are counted, and no part of anything else.
func TestEchoesInStatistics(t *testing.T) {
	ask, say := request(frame.Polling(3), 1, ""), reply(frame.Polling(3), 1, "")
	one := counted(t, untimedFrames([]frame.Frame{ask, say}))
	two := counted(t, []heard{{frame: ask}, {frame: ask, stream: 1}, {frame: say}, {frame: say, stream: 1}})
	if two.Echoes != 2 || one.Echoes != 0 || two.Counts != one.Counts || two.Characters != one.Characters {
		t.Errorf("%d echoes, %+v in %d characters, want 2, %+v in %d", two.Echoes, two.Counts, two.Characters, one.Counts, one.Characters)
	}
}

func TestRivalsAreCounted(t *testing.T) {
	three := frame.Polling(3)
	s := counted(t, untimedFrames([]frame.Frame{reply(three, 0, identity5), reply(three, 0, identity7), reply(three, 0, identity5)}))
	if s.Rivals != 1 {
		t.Errorf("%d, want 1", s.Rivals)
	}
}
