package main_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// What a line must keep to, in ticks of a sixth of a microsecond. Nothing here is
// shared with the line: a log is read and judged from outside.
//
// Source: FieldComm Group support article 8000040648 (character time and timers);
// Allen-Bradley 1797-6.5.3 (2006) p.C-2 (carrier on and off, 5 bits at the most);
// Texas Instruments application note SLAAEH0, 1.5.3 (5 to 20 preambles); their use
// by masters and bursting devices from memory.
const (
	ticksPerSecond = 6_000_000

	bitTicks       = 5_000 // 1200 bit/s
	characterTicks = 11 * bitTicks

	carrierEdge      = 5 * bitTicks
	replyWithin      = 28 * characterTicks
	useTurnWithin    = 2 * characterTicks
	leaveToOther     = 8 * characterTicks
	quietOfPrimary   = 33 * characterTicks
	quietOfSecondary = 41 * characterTicks
	recoveryOfBurst  = 33 * characterTicks

	fewestPreambles, mostPreambles = 5, 20
)

// A wireCharacter is a byte of a log, with the edge of its start bit and the end of
// its stop bit.
type wireCharacter struct {
	value      byte
	start, end int64
	marks      string
}

func (c *wireCharacter) UnmarshalJSON(text []byte) error {
	words := strings.Split(strings.Trim(string(text), "[]"), ",")
	if len(words) < 3 || len(words) > 4 {
		return fmt.Errorf("a character of %d words: %s", len(words), text)
	}
	value, err := strconv.ParseUint(strings.Trim(words[0], `"`), 16, 8)
	if err != nil || len(words[0]) != len(`"ff"`) {
		return fmt.Errorf("a character with byte %s", words[0])
	}
	c.value = byte(value)
	if len(words) == 4 {
		c.marks = strings.Trim(words[3], `"`)
	}
	if c.start, err = strconv.ParseInt(words[1], 10, 64); err == nil {
		c.end, err = strconv.ParseInt(words[2], 10, 64)
	}
	return err
}

// A carrier is an object of a log: what somebody said in one go.
type carrier struct {
	Talker     string
	On, Off    int64
	Level      float64
	Characters []wireCharacter
}

// A lineRecord is a log that was read.
type lineRecord struct {
	line     string
	seed     uint64
	carriers []carrier
	end      int64
}

// readRecord reads a log. It begins with its line and ends with its end.
func readRecord(r io.Reader) (*lineRecord, error) {
	rec := &lineRecord{end: -1}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	for n := 1; lines.Scan(); n++ {
		if rec.end >= 0 {
			return nil, fmt.Errorf("line %d: something stands behind the end", n)
		}
		if err := rec.read(lines.Bytes(), n == 1); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
	}
	if rec.end < 0 {
		return nil, fmt.Errorf("the log has no end")
	}
	return rec, lines.Err()
}

func (rec *lineRecord) read(text []byte, first bool) error {
	var object struct {
		carrier
		Line           string
		Seed           uint64
		TicksPerSecond int64 `json:"ticks_per_second"`
		End            *int64
	}
	if err := json.Unmarshal(text, &object); err != nil {
		return err
	}
	switch {
	case first && (object.Line == "" || object.TicksPerSecond != ticksPerSecond):
		return fmt.Errorf("got %s, want the name of the line and %d ticks per second", text, ticksPerSecond)
	case first:
		rec.line, rec.seed = object.Line, object.Seed
	case object.End != nil:
		rec.end = *object.End
	case object.Talker == "":
		return fmt.Errorf("nobody sends %s", text)
	default:
		rec.carriers = append(rec.carriers, object.carrier)
	}
	return nil
}

// What kind of frame it is, by the low bits of its delimiter.
type frameType byte

const (
	unreadable frameType = 0 // no frame that anybody could read
	fromBurst  frameType = 1
	fromMaster frameType = 2
	fromSlave  frameType = 6
)

// A wireFrame is a carrier's frame, read byte by byte.
type wireFrame struct {
	*carrier
	frameType
	preambles int
	delimiter int    // its place among the characters
	address   []byte // as sent
	primary   bool   // the master bit
	burst     bool   // the burst bit
	command   byte
	began     int64 // first start bit
	ended     int64 // last stop bit
}

// long reports whether the address is a unique one.
func (f *wireFrame) long() bool { return len(f.address) == 5 }

// frameOf reads a carrier that must hold one whole frame and nothing else.
func frameOf(c *carrier) (*wireFrame, error) {
	f := &wireFrame{carrier: c}
	n := len(c.Characters)
	for f.preambles < n && c.Characters[f.preambles].value == 0xff {
		f.preambles++
	}
	f.delimiter = f.preambles
	rest := make([]byte, 0, n)
	for _, ch := range c.Characters[f.preambles:] {
		rest = append(rest, ch.value)
	}
	if len(rest) == 0 {
		return nil, fmt.Errorf("no frame")
	}
	f.frameType = frameType(rest[0] & 0x07)
	size := 1
	if rest[0]&0x80 != 0 {
		size = 5
	}
	count := 1 + size + 1 // where the byte count stands
	if len(rest) < count+2 {
		return nil, fmt.Errorf("% x is too short for a frame", rest)
	}
	f.address, f.command = rest[1:1+size], rest[count-1]
	f.primary, f.burst = f.address[0]&0x80 != 0, f.address[0]&0x40 != 0
	f.began, f.ended = c.Characters[0].start, c.Characters[n-1].end
	var check byte
	for _, b := range rest {
		check ^= b
	}
	switch {
	case rest[0]&0x78 != 0 || f.frameType != fromBurst && f.frameType != fromMaster && f.frameType != fromSlave:
		return nil, fmt.Errorf("delimiter %02x", rest[0])
	case len(rest) != count+1+int(rest[count])+1:
		return nil, fmt.Errorf("% x has byte count %d", rest, rest[count])
	case check != 0:
		return nil, fmt.Errorf("% x has a wrong check byte", rest)
	}
	return f, nil
}
