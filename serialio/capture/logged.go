package capture

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"looptone/frame"
)

// A logObject is a line of the log of a simulated line: characters, or the end.
type logObject struct {
	chars []logged
	end   *int64
}

// A logged character is one with its times, as they stand in the log and as they were, and
// its place.
type logged struct {
	char               byte
	mark               frame.Mark
	startTick, endTick int64
	start, end         time.Duration
	line, column       int64
}

var (
	errNoLogLine = errors.New("line is no JSON object of a log")
	errNoLogged  = errors.New(`object has neither "characters" nor "end"`)
	errNoChar    = errors.New(`is no character, want ["ff",START,END], and p or f behind that if it was sent wrongly`)
	errTicks     = errors.New(`"ticks_per_second" is wrong, want 1 to 1000000000`)
)

// logHead is how many ticks a second has in a log, if a line is its head.
func logHead(line []byte) (second int64, ok bool) {
	var object struct {
		Line   *string
		Second *int64 `json:"ticks_per_second"`
	}
	if !bytes.Contains(line, []byte(`"ticks_per_second"`)) || json.Unmarshal(line, &object) != nil || object.Line == nil || object.Second == nil {
		return 0, false
	}
	return *object.Second, true
}

// parseLogged reads a line that is no head.
func parseLogged(line []byte, number int64) (*logObject, error) {
	var object struct {
		Characters    []json.RawMessage
		End           *int64
		Event, Device string // of what else a simulation tells, which may stand between
	}
	if err := json.Unmarshal(line, &object); err != nil {
		return nil, wrongJSON(line, errNoLogLine, err)
	}
	if object.Characters == nil && object.End == nil && object.Event == "" && object.Device == "" {
		return nil, errNoLogged
	}
	o := &logObject{end: object.End}
	at := 0
	for _, text := range object.Characters {
		at += max(0, bytes.Index(line[at:], text))
		c, ok := parseChar(text)
		if !ok {
			return nil, &inLine{int64(at) + 1, fmt.Errorf("%s %w", shortly(text), errNoChar)}
		}
		c.line, c.column = number, int64(at+bytes.IndexByte(text, '"'))+2
		at += len(text)
		o.chars = append(o.chars, c)
	}
	return o, nil
}

func parseChar(text []byte) (c logged, ok bool) {
	var digits, marks string
	parts := []any{&digits, &c.startTick, &c.endTick, &marks}
	if json.Unmarshal(text, &parts) != nil || len(parts) < 3 || len(parts) > 4 {
		return c, false
	}
	char, err := hex.DecodeString(digits)
	if err != nil || len(char) != 1 {
		return c, false
	}
	c.char = char[0]
	for _, m := range marks {
		switch m {
		case 'p':
			c.mark |= frame.Parity
		case 'f':
			c.mark |= frame.Framing
		default:
			return c, false
		}
	}
	return c, true
}
