package capture

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"looptone/frame"
)

// jsonReader reads the JSON lines that decoding writes, back to characters. A record is
// an object.
type jsonReader struct {
	in      *input
	err     error
	line    int64
	streams [256]*jsonStream
	known   int

	chars   []byte
	columns []int64
	marks   []frame.MarkAt
}

// jsonStream is what the objects of one stream have told so far.
type jsonStream struct {
	stream
	next   int64 // the start that continues it, in the numbers of the objects
	broken bool  // the last event ended with a Cut
}

// jsonEvent is an object, as far as it tells of characters.
type jsonEvent struct {
	Event      string          `json:"event"`
	Stream     int64           `json:"stream"`
	Start      *int64          `json:"start"`
	Preambles  int64           `json:"preambles"`
	Time       json.Number     `json:"time"`
	At         string          `json:"at"`
	Frame      json.RawMessage `json:"frame"`
	Bytes      json.RawMessage `json:"bytes"`
	Characters int64           `json:"characters"`
	Text       string          `json:"text"`
	Error      *jsonError      `json:"error"`

	// Of what stands beside events: values of a device, and what was found of a host.
	Device json.RawMessage `json:"device"`
	Rule   json.RawMessage `json:"rule"`
}

type jsonError struct {
	Offset int64  `json:"offset"`
	Text   string `json:"text"`
}

// mostPreambles bounds a number in an object, which is characters here.
const mostPreambles = 1 << 20

var (
	errNoObject  = errors.New("line is no JSON object of decoding")
	errNoEvent   = errors.New(`object has no "event" or no "start"`)
	errNoStreamN = errors.New("is no number of a stream, want 0 to 255")
	errPreambles = fmt.Errorf("is no number of preambles, want 0 to %d", mostPreambles)
	errNoDigits  = errors.New("is no text of hex digits, two a character")
	errNoSeconds = errors.New("is no time in seconds")
	errLostText  = errors.New("something was lost where this was decoded")
)

func openJSON(in *input) (Reader, string, error) {
	if isUTF16(in) {
		return nil, "", fmt.Errorf("%s %w", in.name, ErrUTF16)
	}
	skipByteOrderMark(in)
	if isLineLog(lineAhead(in)) {
		return openLineLog(in)
	}
	return &jsonReader{in: in}, "JSON lines of decoding", nil
}

// lineAhead reads on until the first line is all there.
func lineAhead(in *input) []byte {
	for bytes.IndexByte(in.unread(), '\n') < 0 && in.more() {
	}
	line, _, _ := bytes.Cut(text(in), []byte("\n"))
	return line
}

// isJSON reports whether the input begins with an object of decoding. It waits for the
// end of its first line.
func isJSON(in *input) bool {
	for len(text(in)) == 0 && in.more() {
	}
	if !bytes.HasPrefix(text(in), []byte("{")) {
		return false
	}
	line := lineAhead(in)
	if isLineLog(line) {
		return true
	}
	var event jsonEvent
	return json.Unmarshal(line, &event) == nil && event.known()
}

// known reports whether an object is one of decoding, or one that a simulated line tells
// beside those.
func (e *jsonEvent) known() bool {
	switch e.Event {
	case "frame", "damage", "noise", "torn", "unanswered", "lost":
		return e.Start != nil
	}
	return e.Event != "" || e.Device != nil || e.Rule != nil
}

func (r *jsonReader) Next(rec *Record) error {
	for r.err == nil {
		*rec = Record{}
		var line []byte
		var whole bool
		if line, whole, r.err = r.in.line(); r.err != nil {
			return r.err
		}
		r.line++
		if err := r.take(line, whole, rec); err != nil {
			r.damaged(rec, err)
		}
		if rec.Chars != nil || rec.Damage != nil || rec.Lost > 0 {
			rec.Streams = r.known
			return nil
		}
	}
	return r.err
}

// damaged notes a line that cannot be read. Behind it nothing continues.
func (r *jsonReader) damaged(rec *Record, err error) {
	column := int64(1)
	if place := (*inLine)(nil); errors.As(err, &place) {
		column, err = place.column, place.err
	}
	*rec = Record{Damage: &SyntaxError{Position{File: r.in.name, Line: r.line, Column: column}, err}}
	for _, s := range r.streams {
		if s != nil {
			s.cut = true
		}
	}
}

// inLine is an error at a place of a line.
type inLine struct {
	column int64
	err    error
}

func (e *inLine) Error() string { return e.err.Error() }

func (r *jsonReader) take(line []byte, whole bool, rec *Record) error {
	var event jsonEvent
	switch {
	case len(bytes.TrimSpace(line)) == 0:
		return nil
	case !whole:
		return errLong
	}
	if err := json.Unmarshal(line, &event); err != nil {
		return wrongJSON(line, errNoObject, err)
	}
	if !event.known() {
		return errNoEvent
	}
	switch event.Event {
	case "frame":
		return r.characters(line, &event, event.Frame, rec)
	case "damage", "noise", "torn":
		return r.characters(line, &event, event.Bytes, rec)
	case "lost":
		return r.lost(&event, rec)
	}
	return nil // another program, or a newer one, may know more events
}

// wrongJSON says what of a line is no object of decoding.
func wrongJSON(line []byte, what, err error) error {
	var syntax *json.SyntaxError
	var wrong *json.UnmarshalTypeError
	switch {
	case errors.As(err, &wrong) && wrong.Field != "":
		return &inLine{max(1, wrong.Offset), fmt.Errorf("%w: %q holds a JSON %s", what, wrong.Field, wrong.Value)}
	case errors.As(err, &syntax):
		return &inLine{min(max(1, syntax.Offset), int64(len(line))), fmt.Errorf("%w: %w", what, err)}
	}
	return what
}

func (r *jsonReader) lost(event *jsonEvent, rec *Record) error {
	s, err := r.stream(event.Stream)
	if err != nil {
		return err
	}
	if event.Characters <= 0 {
		if event.Text == "" {
			return errLostText
		}
		return fmt.Errorf("%w: %s", errLostText, event.Text)
	}
	since, known, err := secondsOf(event.Time)
	if err != nil {
		return err
	}
	rec.Stream, rec.Lost = uint8(event.Stream), event.Characters
	if known {
		rec.Start, rec.End = After(since), After(since)
	}
	rec.Marks = s.cutMark(r.marks[:0])
	return nil
}

func (r *jsonReader) stream(number int64) (*jsonStream, error) {
	if number < 0 || number > 255 {
		return nil, fmt.Errorf("%d %w", number, errNoStreamN)
	}
	if r.streams[number] == nil {
		r.streams[number] = &jsonStream{}
		r.known++
	}
	return r.streams[number], nil
}

// characters reads an event back: its preambles, and what is told of it in hex.
func (r *jsonReader) characters(line []byte, event *jsonEvent, digits json.RawMessage, rec *Record) error {
	s, err := r.stream(event.Stream)
	if err != nil {
		return err
	}
	if event.Preambles < 0 || event.Preambles > mostPreambles {
		return fmt.Errorf("%d %w", event.Preambles, errPreambles)
	}
	if err := r.fill(line, digits, int(event.Preambles)); err != nil {
		return err
	}
	since, timed, err := secondsOf(event.Time)
	if err != nil {
		return err
	}
	rec.Stream, rec.Times = uint8(event.Stream), NoTimes
	if timed {
		rec.Times, rec.Start = StartTimes, After(since).plus(-event.Preambles)
		rec.End = rec.Start.plus(int64(len(r.chars)))
		rec.Origin = originOf(event.At, since)
	}
	if rec.Chars = r.chars; len(r.chars) > 0 {
		r.mark(s, event)
		rec.Marks = r.marks
		rec.Place = Place{File: r.in.name, Line: r.line, Columns: r.columns}
	}
	s.next, s.pos = *event.Start+int64(len(r.chars))-event.Preambles, s.pos+int64(len(r.chars))
	return nil
}

// fill makes characters of preambles, which have no place of their own, and digits.
func (r *jsonReader) fill(line []byte, digits json.RawMessage, preambles int) error {
	at := bytes.Index(line, digits) + 1
	n := len(digits) - 2
	if len(digits) < 2 || digits[0] != '"' || n%2 != 0 {
		return &inLine{int64(max(at, 1)), fmt.Errorf("%s %w", shortly(digits), errNoDigits)}
	}
	r.chars = slices.Grow(r.chars[:0], preambles+n/2)[:preambles]
	r.columns = slices.Grow(r.columns[:0], preambles+n/2)[:preambles]
	for i := range preambles {
		r.chars[i], r.columns[i] = 0xff, int64(at)
	}
	chars, err := hex.AppendDecode(r.chars, digits[1:len(digits)-1])
	if err != nil {
		return &inLine{int64(at), fmt.Errorf("%s %w", shortly(digits), errNoDigits)}
	}
	for i := 1; i < n; i += 2 {
		r.columns = append(r.columns, int64(at+i))
	}
	r.chars = chars
	return nil
}

// shortly is a JSON value as an error shows it.
func shortly(value []byte) string {
	if len(value) > shown {
		return string(value[:shown]) + "…"
	}
	if len(value) == 0 {
		return "nothing"
	}
	return string(value)
}

// mark sets the marks that lead to the same event again. An event is at an end of a
// stretch, so that a frame without a preamble is found; where it does not continue the
// one before, that is a Cut.
func (r *jsonReader) mark(s *jsonStream, event *jsonEvent) {
	r.marks = r.marks[:0]
	first := *event.Start - event.Preambles
	switch {
	case s.pos == 0:
	case s.cut || s.broken || first != s.next:
		r.marks = append(r.marks, frame.MarkAt{Pos: s.pos, Mark: frame.Cut})
	default:
		r.marks = append(r.marks, frame.MarkAt{Pos: s.pos, Mark: frame.Line})
	}
	s.cut, s.broken = false, false
	if event.Error == nil || event.Event == "torn" {
		return
	}
	at := event.Error.Offset - first // in the event
	mark := map[string]frame.Mark{"parity": frame.Parity, "framing": frame.Framing, "gap": frame.Gap}[event.Error.Text]
	switch {
	case event.Error.Text == "end of input":
		s.broken = true
	case mark != 0 && at >= 0 && at < int64(len(r.chars)):
		r.marks = append(r.marks, frame.MarkAt{Pos: s.pos + at, Mark: mark})
	}
}

// secondsOf is a time in an object, if it has one.
func secondsOf(n json.Number) (since time.Duration, known bool, err error) {
	if n == "" {
		return 0, false, nil
	}
	text := []byte(n)
	sign := time.Duration(1)
	if text[0] == '-' { // the characters before the first time of a capture
		sign, text = -1, text[1:]
	}
	since, length := seconds(text)
	if length == 0 || length < len(text) || since > longest {
		return 0, false, fmt.Errorf("%s %w", n, errNoSeconds)
	}
	return sign * since, true, nil
}

// originOf is the wall clock of time 0 by an event that tells its own.
func originOf(at string, since time.Duration) time.Time {
	clock, err := ParseClock(at)
	if err != nil {
		return time.Time{}
	}
	return clock.Add(-since)
}
