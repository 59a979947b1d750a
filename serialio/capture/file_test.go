package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
)

// The register of a CRC bit by bit, as far from the tables of the module as can be.
//
// Source: RFC 1662, section C.2 (polynomial 8408 of a register that shifts right,
// complement at the end).
func bitwise(register uint16, text string) uint16 {
	for _, c := range []byte(text) {
		register ^= uint16(c)
		for range 8 {
			if register&1 == 0 {
				register >>= 1
			} else {
				register = register>>1 ^ 0x8408
			}
		}
	}
	return ^register
}

// sealed are lines with their CRCs, the first seeded with seed.
func sealed(seed uint16, lines ...string) string {
	var b strings.Builder
	for _, line := range lines {
		seed = bitwise(seed, line)
		fmt.Fprintf(&b, "%s *%04x\n", line, seed)
	}
	return b.String()
}

// recording is a whole file with one stream, times=start, around some lines.
func recording(lines ...string) string {
	return sealed(firstSeed, slices.Concat([]string{"looptone capture 1", `! stream 0 "loop" times=start`}, lines, []string{"! end"})...)
}

// Source: catalogue of parametrised CRC algorithms, CRC-16/IBM-SDLC, alias X-25
// (check value 906e).
func TestCRC(t *testing.T) {
	if got := crcOf([]byte("123456789"), firstSeed); got != 0x906e {
		t.Errorf("got %04x, want 906e", got)
	}
	for seed := range 1 << 16 {
		if got, want := crcOf([]byte("a line"), uint16(seed)), bitwise(uint16(seed), "a line"); got != want {
			t.Fatalf("seed %04x: got %04x, want %04x", seed, got, want)
		}
	}
}

// said is what a file yields, a line a record.
func said(r io.Reader) (out []string, err error) {
	rd, what, err := Open(r, "trace.txt", "capture")
	if err != nil {
		return nil, err
	}
	if what != "looptone capture" {
		return nil, fmt.Errorf("taken for %q", what)
	}
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if again := rd.Next(rec); again != err {
				err = errors.Join(errors.New("another error when called again"), again)
			}
			return out, err
		}
		out = append(out, sayRecord(rec))
	}
}

func sayRecord(r *Record) string {
	var words []string
	if r.Damage != nil {
		words = append(words, r.Damage.Error())
	}
	if r.Resumed {
		words = append(words, "resumed")
	}
	if r.Lost > 0 {
		words = append(words, fmt.Sprint("lost ", r.Lost))
	}
	if _, timed := r.Start.Since(); timed || len(r.Chars)+len(r.Marks) > 0 {
		words = append(words, fmt.Sprintf("%d: [% x] from %s to %s", r.Stream, r.Chars, sayStamp(r.Start), sayStamp(r.End)))
	}
	for _, m := range r.Marks {
		words = append(words, fmt.Sprintf("%v at %d", m.Mark, m.Pos))
	}
	if !r.Origin.IsZero() {
		words = append(words, "since "+r.Origin.Format(time.RFC3339Nano))
	}
	return strings.Join(words, ", ")
}

func sayStamp(s Stamp) string {
	since, known := s.Since()
	if !known {
		return "?"
	}
	return since.Round(time.Microsecond).String()
}

// TestDocumentedFile reads the example of the package documentation.
func TestDocumentedFile(t *testing.T) {
	doc, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for line := range strings.Lines(string(doc)) {
		line, isExample := strings.CutPrefix(line, "//\t")
		if text.Len() > 0 && !isExample {
			break
		}
		if text.Len() > 0 || strings.HasPrefix(line, magic) {
			text.WriteString(line)
		}
	}
	const since = "since 2031-03-01T03:10:07.12+01:00"
	checkSaid(t, text.String(), []string{
		"0: [ff ff ff 02 80 00 00 82] from 12.272345s to 12.345678s, parity at 4, " + since,
		"0: [] from 12.4s to 12.4s, cut at 8, " + since,
		"lost 17, 0: [] from 12.412s to 12.412s, cut at 8, " + since,
	})
}

func checkSaid(t *testing.T, text string, want []string) {
	t.Helper()
	got, err := said(strings.NewReader(text))
	if err != io.EOF {
		t.Errorf("got %v, want the end of the file", err)
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(- want, + got)\n%s\n%.2000s", d, text)
	}
}

func TestFile(t *testing.T) {
	head := []string{"looptone capture 1", `! stream 0 "loop" times=start`}
	for _, tt := range []struct {
		name string
		text string
		want []string
	}{
		{"nothing heard", recording(), nil},
		{"comments, empty lines, line ends of another system", strings.ReplaceAll(recording("# nothing\n"[:9], "0 0 ff"), "\n", "\r\n\n"),
			[]string{"0: [ff] from 0s to 9.167ms"}},
		{"the end of a file without a line end", strings.TrimSuffix(recording("0 0 ff"), "\n"), []string{"0: [ff] from 0s to 9.167ms"}},
		{"marks", recording("0 0 ffg 02p 80f 00pf"),
			[]string{"0: [ff 02 80 00] from 0s to 36.667ms, gap at 0, parity at 1, framing at 2, parity, framing at 3"}},
		{"times of the end", sealed(firstSeed, head[0], `! stream 0 "loop" times=end late=0.5`, "0.11 0 ff ff ff ff ff ff 02 80 00 00 82 00", "! end"),
			[]string{"0: [ff ff ff ff ff ff 02 80 00 00 82 00] from 0s to 110ms"}},
		{"silence of five characters and less", recording("0 0 ff", "0.054 0 02", "0.11 0 80"),
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 54ms to 63.167ms", "0: [80] from 110ms to 119.167ms, cut at 2"}},
		{"silence where times are late", sealed(firstSeed, head[0], `! stream 0 "loop" times=start late=0.016`, "0 0 ff", "0.07 0 02", "0.142 0 80", "! end"),
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 70ms to 79.167ms", "0: [80] from 142ms to 151.167ms, cut at 2"}},
		{"the carrier tells", recording("0 0 carrier on", "0.1 0 ff", "1.5 0 02", "1.6 0 carrier off", "1.7 0 80"),
			[]string{"0: [] from 0s to 0s", "0: [ff] from 100ms to 109.167ms", "0: [02] from 1.5s to 1.509167s", "0: [] from 1.6s to 1.6s, cut at 2", "0: [80] from 1.7s to 1.709167s"}},
		{"silence behind a carrier", recording("0 0 carrier on", "0.1 0 ff", "0.2 0 carrier off", "1 0 02", "2 0 80", "2.1 0 carrier on", "2.2 0 81", "3 0 82"),
			[]string{"0: [] from 0s to 0s", "0: [ff] from 100ms to 109.167ms", "0: [] from 200ms to 200ms, cut at 1", "0: [02] from 1s to 1.009167s",
				"0: [80] from 2s to 2.009167s, cut at 2", "0: [] from 2.1s to 2.1s, cut at 3", "0: [81] from 2.2s to 2.209167s", "0: [82] from 3s to 3.009167s"}},
		{"times that run backwards", recording("5 0 ff ff 02 80", "1 0 01 00 83", "1.2 0 ff"),
			[]string{"0: [ff ff 02 80] from 5s to 5.036667s",
				"trace.txt:4:1: time lies before that of the line in front of it on this stream: lines are out of order, or a clock was set back, " +
					"0: [01 00 83] from 1s to 1.0275s, cut at 4",
				"0: [ff] from 1.2s to 1.209167s, cut at 7"}},
		{"streams whose times are not in order among each other", sealed(firstSeed, append(head, `! stream 1 "other" times=start`, "1 0 ff", "0 1 02", "1 0 80", "! end")...),
			[]string{"0: [ff] from 1s to 1.009167s", "1: [02] from 0s to 9.167ms", "0: [80] from 1s to 1.009167s"}},
		{"streams apart", sealed(firstSeed, append(head, `! stream 255 "other \"one\"" parity=hidden times=start`, "0 0 ff", "0.001 255 ff 02", "0.0091 0 02", "! end")...),
			[]string{"0: [ff] from 0s to 9.167ms", "255: [ff 02] from 1ms to 19.333ms", "0: [02] from 9.1ms to 18.267ms"}},
		{"a stream that is not described", recording("0 1 ff", "0.1 1 02"),
			[]string{`trace.txt:3:5: stream 1 is not described, so its times mean nothing: want a line "! stream 1" in front, 1: [ff] from ? to ?`,
				"1: [02] from ? to ?"}},
		{"lost before the first character", recording("0 0 lost 3", "0.1 0 ff"), []string{"lost 3, 0: [] from 0s to 0s", "0: [ff] from 100ms to 109.167ms"}},
		{"a byte order mark", "\ufeff" + recording("0 0 ff"), []string{"0: [ff] from 0s to 9.167ms"}},
	} {
		t.Run(tt.name, func(t *testing.T) { checkSaid(t, tt.text, tt.want) })
	}
}

// A recording that is appended begins anew, or goes on with the chain. Its times
// are moved behind those in front.
func TestAppendedRecordings(t *testing.T) {
	first := sealed(firstSeed, "looptone capture 1", "! started 2031-03-01T03:10:00+01:00", `! stream 0 "loop" times=start`, "5 0 ff", "! end")
	last := strings.Split(first, "\n")[4]
	var seed uint16
	if _, err := fmt.Sscanf(last, "! end *%x", &seed); err != nil {
		t.Fatal(err)
	}
	later := []string{"looptone capture 1", "! started 2031-03-01T03:11:00+01:00", `! stream 0 "loop" times=start`, "1 0 02", "! end"}
	earlier := slices.Replace(slices.Clone(later), 1, 2, "! started 2031-03-01T03:09:00+01:00")
	untold := slices.Delete(slices.Clone(later), 1, 2)
	const heard, began = "0: [ff] from 5s to 5.009167s, since 2031-03-01T03:10:00+01:00", "since 2031-03-01T03:10:00+01:00"
	for _, tt := range []struct {
		name, text string
		want       []string
	}{
		{"anew", first + sealed(firstSeed, later...), []string{heard, "resumed", "0: [02] from 1m1s to 1m1.009167s, cut at 1, " + began}},
		{"chained", first + sealed(seed, later...), []string{heard, "resumed", "0: [02] from 1m1s to 1m1.009167s, cut at 1, " + began}},
		{"on a new line", first + "\n" + sealed(seed, later...), []string{heard, "resumed", "0: [02] from 1m1s to 1m1.009167s, cut at 1, " + began}},
		{"the clock was set back", first + sealed(seed, earlier...),
			[]string{heard, "resumed", "0: [02] from 6.009167s to 6.018333s, cut at 1, since 2031-03-01T03:08:54.990833334+01:00"}},
		{"no wall clock", first + sealed(seed, untold...), []string{heard, "resumed", "0: [02] from 6.009167s to 6.018333s, cut at 1"}},
		{"the first was cut short", strings.TrimSuffix(first, last+"\n") + sealed(firstSeed, later...),
			[]string{heard, `trace.txt:5:1: "! end" is missing: the recording was cut short, or lines of it are lost, resumed`,
				"0: [02] from 1m1s to 1m1.009167s, cut at 1, " + began}},
		{"the first line is damaged", first + strings.Replace(sealed(firstSeed, later...), "capture", "rapture", 1),
			[]string{heard, "trace.txt:6:20: CRC does not match: the line is damaged, or one in front of it is lost or misplaced (got 6791, want 1776), " + began,
				"resumed, " + began, "0: [02] from 1m1s to 1m1.009167s, cut at 1, " + began}},
		{"the first line is damaged, and there is no clock", first + strings.Replace(sealed(firstSeed, untold...), "capture", "rapture", 1),
			[]string{heard, "trace.txt:6:20: CRC does not match: the line is damaged, or one in front of it is lost or misplaced (got 6791, want 1776), " + began,
				"resumed", "0: [02] from 6.009167s to 6.018333s, cut at 1"}},
		{"streams are described anew", first + sealed(firstSeed, untold[0], untold[2], "! end"),
			[]string{heard, "resumed", `trace.txt:7:5: stream 0 is not described, so its times mean nothing: want a line "! stream 0" in front, 0: [02] from ? to ?, cut at 1`}},
	} {
		t.Run(tt.name, func(t *testing.T) { checkSaid(t, tt.text, tt.want) })
	}
}

// No time is further from the first than a Duration can hold.
func TestTimesThatLeadTooFar(t *testing.T) {
	long := sealed(firstSeed, "looptone capture 1", `! stream 0 "loop" times=start`, "999999999 0 ff", "! end")
	got, err := said(strings.NewReader(strings.Repeat(long, 12)))
	const want = `trace.txt:15:1: "999999999" lies more than 100 years behind the first time of the file`
	if err != io.EOF || len(got) < 7 || got[6] != want {
		t.Errorf("%v, got %q, want %s", err, got, want)
	}
	far := sealed(firstSeed, "looptone capture 1", "! started 1600-01-01T00:00:00Z", `! stream 0 "loop" times=start`, "0 0 ff", "! end") +
		sealed(firstSeed, "looptone capture 1", "! started 2300-01-01T00:00:00Z", `! stream 0 "loop" times=start`, "1 0 02", "! end")
	checkSaid(t, far, []string{"0: [ff] from 0s to 9.167ms, since 1600-01-01T00:00:00Z", "resumed",
		`trace.txt:7:11: "2300-01-01T00:00:00Z" lies more than 100 years behind the first time of the file`,
		"0: [02] from 1.009167s to 1.018333s, cut at 1"})
}

// What cannot be read is told, and the rest is read.
func TestDamagedFiles(t *testing.T) {
	const read = "0: [80] from 1s to 1.009167s, cut at 1"
	whole := recording("0 0 ff", "0.5 0 02", "1 0 80")
	for _, tt := range []struct{ name, text, want string }{
		{"a flipped digit", strings.Replace(whole, "0 02", "0 03", 1),
			"4:10: CRC does not match: the line is damaged, or one in front of it is lost or misplaced (got 54bc, want 4535)"},
		{"a torn line, and on with the last good one", strings.SplitAfter(whole, "0.5 0")[0] + "\n" + sealed(0x5db1, "1 0 80", "! end"),
			"4:1: line is torn: it does not end with a CRC (want for instance *906e)"},
		{"no hex digit", recording("0 0 ff", "0.5 0 02 8x", "1 0 80"), `4:10: "8x" is no character: want two hex digits, and behind them p, f or g for what is to be marked`},
		{"half a character", recording("0 0 ff", "0.5 0 02 8", "1 0 80"), `4:10: "8" is no character: want two hex digits, and behind them p, f or g for what is to be marked`},
		{"another mark", recording("0 0 ff", "0.5 0 02q", "1 0 80"), `4:7: "02q" is no character: want two hex digits, and behind them p, f or g for what is to be marked`},
		{"nothing that is heard", recording("0 0 ff", "0.5 0 silence", "1 0 80"), `4:7: "silence" is nothing that is heard: want characters of two hex digits, carrier or lost`},
		{"no characters", recording("0 0 ff", "0.5 0 ", "1 0 80"), `4:6: what was heard is missing behind the stream: want characters of two hex digits, carrier or lost`},
		{"a stream alone", recording("0 0 ff", "0.5 0", "1 0 80"), `4:6: what was heard is missing behind the stream: want characters of two hex digits, carrier or lost`},
		{"a carrier of another kind", recording("0 0 ff", "0.5 0 carrier lost", "1 0 80"), `4:15: "lost" is nothing that a carrier does: want on or off`},
		{"how many are lost", recording("0 0 ff", "0.5 0 lost some", "1 0 80"), `4:12: "some" is no number of lost characters: want 1 to 999999999`},
		{"more are lost than there can be", recording("0 0 ff", "0.5 0 lost 1000000000", "1 0 80"), `4:12: "1000000000" is no number of lost characters: want 1 to 999999999`},
		{"a time with too many digits", recording("0 0 ff", "0.1234567890 0 02", "1 0 80"), `4:1: "0.1234567890" is no time: want seconds with at most nine digits on either side of the point`},
		{"a time alone", recording("0 0 ff", "0.5", "1 0 80"), `4:4: a stream is missing behind the time: want a number from 0 to 255`},
		{"stream 256", recording("0 0 ff", "0.5 256 02", "1 0 80"), `4:5: "256" is no stream: want a number from 0 to 255`},
		{"another line", recording("0 0 ff", "hello", "1 0 80"), `4:1: line is not known: want a time, "!" or "#" in front`},
		{"another word", recording("0 0 ff", "! pause", "1 0 80"), `4:3: "pause" is not known: want started, stream or end behind "!"`},
		{"a wall clock", recording("0 0 ff", "! started at noon", "1 0 80"), `4:11: started "at noon" is no time, want for instance 2031-03-01T03:10:07+01:00`},
		{"a stream of a name", recording("0 0 ff", `! stream loop`, "1 0 80"), `4:10: "loop" is no number of a stream: want 0 to 255`},
		{"a stream without a name", recording("0 0 ff", `! stream 1 times=end`, "1 0 80"), `4:12: stream 1 has no name, want one between quotation marks`},
		{"a stream without times", recording("0 0 ff", `! stream 1 "x" parity=visible`, "1 0 80"), `4:30: stream 1 does not tell what its times are of, want times=start, times=end or times=none`},
		{"times of the middle", recording("0 0 ff", `! stream 1 "x" times=middle`, "1 0 80"), `4:16: stream 1: times=middle, want start, end or none`},
		{"parity", recording("0 0 ff", `! stream 1 "x" times=end parity=odd`, "1 0 80"), `4:26: stream 1: parity=odd, want visible or hidden`},
		{"lateness", recording("0 0 ff", `! stream 1 "x" times=end late=16ms`, "1 0 80"), `4:26: stream 1: late=16ms, want seconds, for instance 0.016`},
		{"a way", recording("0 0 ff", `! stream 1 "x" times=end via=radio`, "1 0 80"), `4:26: stream 1: via=radio, want wire, modem or pipe`},
		{"another key", recording("0 0 ff", `! stream 1 "x" times=end baud=1200`, "1 0 80"), `4:26: stream 1: "baud=1200" is not known, want times, late, parity or via`},
		{"a stream that is described again", recording("0 0 ff", `! stream 0 "x" times=end`, "1 0 80"), `4:10: stream 0 is described already: want it once in a recording`},
		{"a wall clock behind a time", recording("0 0 ff", "! started 2031-03-01T03:10:07+01:00", "1 0 80"), `4:1: "! started" stands behind what a recording begins with: want it once, in front of the first time`},
		{"a line without an end", recording("0 0 ff") + strings.Repeat("f", 1<<17) + "\n" + sealed(0xf6b7, "1 0 80", "! end"), "5:1: line does not end: want at most 65535 bytes"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			checkSaid(t, tt.text, []string{"0: [ff] from 0s to 9.167ms", "trace.txt:" + tt.want, read})
		})
	}
}

// What a stream tells of itself comes with everything that it heard.
func TestWhatAStreamTells(t *testing.T) {
	for told, want := range map[string]Record{
		"": {}, " parity=hidden": {}, " parity=visible": {Parity: true}, " late=0.016": {Late: 16 * time.Millisecond},
		" via=wire": {Via: Wire}, " via=modem parity=visible": {Via: Modem, Parity: true}, " via=pipe": {Via: Pipe},
	} {
		rd, _, err := Open(strings.NewReader(sealed(firstSeed, "looptone capture 1", `! stream 0 "x" times=end`+told, "0 0 ff", "! end")), "trace.txt", "capture")
		if err != nil {
			t.Fatal(err)
		}
		var got Record
		if err := rd.Next(&got); err != nil {
			t.Fatal(err)
		}
		if got.Parity != want.Parity || got.Via != want.Via || got.Late != want.Late {
			t.Errorf("%q: parity %v, via %d, late %v, want %v, %d, %v", told, got.Parity, got.Via, got.Late, want.Parity, want.Via, want.Late)
		}
	}
}

// A pause is the time between two records beyond that of the characters.
func TestPause(t *testing.T) {
	const char = frame.Character
	var trail Trail
	for i, start := range []time.Duration{0, 2 * char, 7 * char, 9 * char} { // two characters each
		rec := Record{Start: After(start), Chars: []byte{1, 2}}
		if i == 3 {
			rec.Start = Stamp{}
		}
		trail.Add(int64(2*i), &rec)
	}
	for _, tt := range []struct {
		from, to int64
		want     time.Duration
	}{{0, 4, 0}, {0, 5, 3 * char}, {3, 5, 3 * char}, {4, 6, 0}, {0, 8, 3 * char}} {
		got := trail.Pause(tt.from, tt.to)
		if got < tt.want-3 || got > tt.want+3 { // a character is no whole number of nanoseconds
			t.Errorf("from %d to %d: %v, want %v", tt.from, tt.to, got, tt.want)
		}
	}
}

// Characters may be missing behind what cannot be read, even where no silence
// shows.
func TestCutBehindDamage(t *testing.T) {
	checkSaid(t, recording("0 0 ff", "! pause", "0.0092 0 02"), []string{
		"0: [ff] from 0s to 9.167ms",
		`trace.txt:4:3: "pause" is not known: want started, stream or end behind "!"`,
		"0: [02] from 9.2ms to 18.367ms, cut at 1",
	})
}

// Behind a torn line the chain goes on from the last good one, not from a bad one
// in front of it.
func TestChainBehindTornLine(t *testing.T) {
	text := sealed(firstSeed, "looptone capture 1") + "# bad *0001\n# torn\n"
	const bad, torn = "trace.txt:2:7: CRC does not match: the line is damaged, or one in front of it is lost or misplaced (got 0001, want 1f3f)",
		"trace.txt:3:1: line is torn: it does not end with a CRC (want for instance *906e)"
	checkSaid(t, text+sealed(0x6791, "! end"), []string{bad, torn})
	checkSaid(t, text+sealed(0x0001, "! end"), []string{bad, torn,
		"trace.txt:4:7: CRC does not match: the line is damaged, or one in front of it is lost or misplaced (got f6aa, want 067a)"})
}

// The end of a recording is missed, unless something else was said of it.
func TestMissingEnd(t *testing.T) {
	whole := recording("0 0 ff", "1 0 80")
	lines := strings.SplitAfter(whole, "\n")
	most := strings.Join(lines[:4], "")
	first, second := "0: [ff] from 0s to 9.167ms", "0: [80] from 1s to 1.009167s, cut at 1"
	for _, tt := range []struct {
		text string
		want []string
	}{
		{most, []string{first, second, `trace.txt:5:1: "! end" is missing: the recording was cut short, or lines of it are lost`}},
		{most + "! e", []string{first, second, "trace.txt:5:1: line is torn: it does not end with a CRC (want for instance *906e)"}},
		{strings.TrimSuffix(most, "\n") + "\n" + most[len(most)-4:], []string{first, second, "trace.txt:5:1: line is torn: it does not end with a CRC (want for instance *906e)"}},
	} {
		checkSaid(t, tt.text, tt.want)
	}
}

func TestAnotherVersion(t *testing.T) {
	got, err := said(strings.NewReader(sealed(firstSeed, "looptone capture 2", "0 0 ff", "! end")))
	want := `trace.txt:1:18: version "2" of the format cannot be read: want 1`
	if len(got) > 0 || err == nil || err.Error() != want {
		t.Errorf("got %q, %v, want %s", got, err, want)
	}
}

// A file tells by its first line what it is, before there is more of it.
func TestFileIsFound(t *testing.T) {
	r, w := io.Pipe()
	defer w.Close()
	text := recording("0 0 ff")
	go w.Write([]byte(text[:len(text)-12]))
	rd, what, err := Open(r, "trace.txt", "")
	if err != nil || what != "looptone capture" {
		t.Fatalf("%q, %v", what, err)
	}
	var rec Record
	if err := rd.Next(&rec); err != nil || !bytes.Equal(rec.Chars, []byte{0xff}) {
		t.Errorf("got % x, %v", rec.Chars, err)
	}
}

func TestFileDoesNotAllocate(t *testing.T) {
	text := recording(slices.Repeat([]string{"0 0 ff ff 02 80p 00 00 82"}, 3000)...)
	rd, _, err := Open(strings.NewReader(text), "trace.txt", "")
	if err != nil {
		t.Fatal(err)
	}
	var rec Record
	allocs := testing.AllocsPerRun(1000, func() {
		if err := rd.Next(&rec); err != nil || rec.Damage != nil {
			t.Fatal(err, rec.Damage)
		}
	})
	if allocs > 0 {
		t.Errorf("%v allocations a record", allocs)
	}
}

func BenchmarkFile(b *testing.B) {
	text := recording(slices.Repeat([]string{"12.345678 0 ff ff ff ff ff 86 b9 02 00 00 67 03 0b 00 08 40 80 00 00 2d 40 0c ac 08 5f"}, 40_000)...)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		rd, _, err := Open(strings.NewReader(text), "trace.txt", "")
		for rec := new(Record); err == nil; {
			if err = rd.Next(rec); rec.Damage != nil {
				b.Fatal(rec.Damage)
			}
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
}

// A trail forgets the middle of what does not end, not its beginning.
func TestTrailIsBounded(t *testing.T) {
	var trail Trail
	rec := Record{Chars: []byte{0xff}, Start: After(0), Place: Place{Line: 1, Columns: []int64{5}}}
	const n = 10 * maxParts
	for i := range int64(n) {
		rec.Start, rec.Place.Line = After(time.Duration(i)), i+1
		trail.Add(i, &rec)
	}
	if len(trail.parts) > maxParts {
		t.Errorf("%d parts", len(trail.parts))
	}
	for _, pos := range []int64{0, n - 600, n - 1} {
		at, ok := trail.Position(pos)
		if begin, known := trail.Begin(pos).Since(); !ok || at.Line != pos+1 || !known || begin != time.Duration(pos) {
			t.Errorf("character %d: at %v, from %v", pos, at, begin)
		}
	}
	trail.Forget(n)
	if _, ok := trail.Position(n - 1); ok || trail.End(n-1) != (Stamp{}) {
		t.Error("not forgotten")
	}
}

// A last line without an end is read where the buffer has moved it, onto itself.
func TestLastLineWithoutAnEnd(t *testing.T) {
	long := "# " + strings.Repeat("a longer line than all in front of it ", 30)
	checkSaid(t, strings.TrimSuffix(sealed(firstSeed, "looptone capture 1", long), "\n"),
		[]string{`trace.txt:3:1: "! end" is missing: the recording was cut short, or lines of it are lost`})
}

// A file whose first line is damaged, lost or empty is found by what stands behind
// it; hex text with a * among it is not taken for one.
func TestFileIsFoundBehindItsFirstLine(t *testing.T) {
	whole := recording("0 0 ff", "1 0 80")
	first, rest, _ := strings.Cut(whole, "\n")
	for name, text := range map[string]string{
		"a flipped bit":        strings.Replace(whole, "loop", "moop", 1),
		"a lost line":          rest,
		"an empty line":        "\n" + whole,
		"line ends of another": strings.ReplaceAll(rest, "\n", "\r\n\r\n"),
		"a lost beginning":     first[7:] + "\n" + rest,
		"nothing else":         "0 0 ff\n" + first + "\n0 0 ff\n",
	} {
		if _, what, err := Open(strings.NewReader(text), "trace.txt", ""); err != nil || what != "looptone capture" {
			t.Errorf("%s: taken for %q, %v", name, what, err)
		}
	}
	for _, text := range []string{"ff 02 *906e\nff 02 *906e\n", "ff ff 02 # looptone capture 1\n", strings.Join(strings.SplitAfter(rest, "\n")[:1], "")} {
		if _, what, err := Open(strings.NewReader(text), "trace.txt", ""); err != nil || what == "looptone capture" {
			t.Errorf("%q: taken for %q, %v", text, what, err)
		}
	}
}
