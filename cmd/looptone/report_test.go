package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"looptone/frame"
)

// busy is about n bytes of a capture file: a master that asks 15 devices for their
// values, which move. Of a hundred replies one is damaged, one does not come, and
// statuses come and go.
func busy(tb testing.TB, n int) []byte {
	file := sealed(0xffff, "looptone capture 1", `! started 2031-03-01T03:10:07+01:00`, `! stream 0 "busy" times=start`)
	seed := sealOf(file)
	at := time.Duration(0)
	say := func(f frame.Frame, spoil int) {
		chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
		if err != nil {
			tb.Fatal(err)
		}
		if spoil > 0 {
			chars[len(chars)-spoil] ^= 0x10
		}
		line := sealed(seed, fmt.Sprintf("%.6f 0 % x", at.Seconds(), chars))
		seed = sealOf(line)
		file = append(file, line...)
		at += time.Duration(len(chars)) * 11 * time.Second / 1200
	}
	for device := range uint32(15) {
		a := frame.Polling(uint8(device))
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: a}, 0)
		at += 40 * time.Millisecond
		say(frame.Frame{Kind: frame.ACK, Primary: true, Address: a, Data: []byte{254, 249, 1, 5, 5, 1, 1, 8, 0, 0, 0, byte(device)}}, 0)
		at += 75 * time.Millisecond
	}
	for i := 0; len(file) < n; i++ {
		a := frame.Unique(0x3901, uint32(i)%15)
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: a, Command: 3}, 0)
		if i%100 == 50 {
			at += 400 * time.Millisecond
			continue
		}
		at += time.Duration(30+i%15*4+i%7) * time.Millisecond
		pv := float32(50 + 40*math.Sin(float64(i)/4000+float64(i%15)))
		data := binary.BigEndian.AppendUint32(nil, math.Float32bits(4+pv*16/100))
		data = binary.BigEndian.AppendUint32(append(data, 57), math.Float32bits(pv))
		reply := frame.Frame{Kind: frame.ACK, Primary: true, Address: a, Command: 3, Data: data}
		if i/20000%2 == 1 {
			reply.Status.Device = frame.PrimaryVariableOutOfLimits
		}
		spoil := 0
		if i%100 == 77 {
			spoil = 3
		}
		say(reply, spoil)
		at += 75 * time.Millisecond
	}
	return append(file, sealed(seed, "! end")...)
}

// reportOf is the report of a capture, and what decode puts on stdout beside it.
func reportOf(tb testing.TB, capture string, args ...string) (page []byte, out string) {
	tb.Helper()
	name := filepath.Join(tb.TempDir(), "report.html")
	var stdout, stderr bytes.Buffer
	if code := run(append([]string{"decode", "--report", name, capture}, args...), strings.NewReader(""), &stdout, &stderr); code != 0 {
		tb.Fatalf("exit code %d: %s", code, stderr.String())
	}
	page, err := os.ReadFile(name)
	if err != nil {
		tb.Fatal(err)
	}
	return page, stdout.String()
}

var embedded = regexp.MustCompile(`(?s)<script type="application/json" id="data">(.*?)</script>`)

// reportData is the JSON that a report carries.
func reportData(tb testing.TB, page []byte) (data map[string]any) {
	tb.Helper()
	found := embedded.FindAllSubmatch(page, -1)
	if len(found) != 1 {
		tb.Fatalf("%d blocks of data in the page, want 1", len(found))
	}
	if err := json.Unmarshal(found[0][1], &data); err != nil {
		tb.Fatal(err)
	}
	return data
}

// tallied are the numbers of a capture by the JSON lines of decode, which is another way
// to them.
func tallied(tb testing.TB, capture string) map[string]float64 {
	tb.Helper()
	var stdout, stderr bytes.Buffer
	if code := run([]string{"decode", "--json", capture}, strings.NewReader(""), &stdout, &stderr); code != 0 {
		tb.Fatalf("exit code %d: %s", code, stderr.String())
	}
	n := map[string]float64{}
	for line := range strings.Lines(stdout.String()) {
		var m struct {
			Event, Kind, Master, Frame, Bytes string
			Preambles                         float64
			ReplyTo                           int  `json:"reply_to"`
			AlsoHeard                         *int `json:"also_heard"`
			Response                          struct {
				Code   *int
				Errors []string `json:"communication_errors"`
			}
			RetryOf int `json:"retry_of"`
		}
		if err := json.Unmarshal([]byte(line), &m); err != nil {
			tb.Fatal(err)
		}
		if m.AlsoHeard == nil {
			n["characters"] += m.Preambles + float64(len(m.Frame)+len(m.Bytes))/2
		}
		switch {
		case m.Event == "damage":
			n["damaged"]++
		case m.Event == "noise":
			n["noise"]++
		case m.Event == "unanswered":
			n["unanswered"]++
		case m.Kind == "STX":
			n["requests"]++
			n[m.Master]++
		case m.Kind == "BACK":
			n["bursts"]++
		default:
			n["replies"]++
			if m.ReplyTo > 0 {
				n["answered"]++
			}
		}
		if m.RetryOf > 0 {
			n["retries"]++
		}
	}
	return n
}

func TestReportCountsAsDecodeDoes(t *testing.T) {
	captures, err := filepath.Glob("../../testdata/captures/*.txt")
	if err != nil || len(captures) < 10 {
		t.Fatalf("%d captures: %v", len(captures), err)
	}
	for _, capture := range captures {
		t.Run(filepath.Base(capture), func(t *testing.T) {
			page, _ := reportOf(t, capture)
			counts := reportData(t, page)["counts"].(map[string]any)
			want := tallied(t, capture)
			for _, key := range []string{"characters", "requests", "replies", "bursts", "primary", "secondary", "answered", "unanswered", "retries", "damaged", "noise"} {
				if counts[key] != want[key] {
					t.Errorf("%s: the report says %v, want %v", key, counts[key], want[key])
				}
			}
		})
	}
}

// A report beside another view changes nothing of that.
func TestReportChangesNoOutput(t *testing.T) {
	const capture = "../../testdata/captures/two-probes.txt"
	for _, view := range [][]string{nil, {"--json"}, {"--explain"}, {"--csv"}, {"--csv", "--wide"}, {"--summary"}, {"--findings"}} {
		var alone, stderr bytes.Buffer
		if code := run(append([]string{"decode", capture}, view...), strings.NewReader(""), &alone, &stderr); code != 0 {
			t.Fatal(stderr.String())
		}
		page, beside := reportOf(t, capture, view...)
		if beside != alone.String() {
			t.Errorf("%v: with a report the output is\n%swant\n%s", view, beside, alone.String())
		}
		if has := bytes.Contains(page, []byte(`<section id="findings"`)); has != (len(view) > 0 && view[0] == "--findings") {
			t.Errorf("%v: findings in the page: %v", view, has)
		}
	}
}

// What a device says of itself is a text, whatever is in it: tags that would end the
// script or open a comment, characters beyond ASCII, and control characters.
func TestReportOfHostileTexts(t *testing.T) {
	tags := []string{"</script><img src=x>", "<!--<script>alert(1)//", "\"'&\u00fc\u00df\u00a0\u0085", "\x01\x1b[2J\x7f"}
	var chars []byte
	say := func(f frame.Frame) {
		var err error
		if chars, err = f.AppendBinary(frame.AppendPreambles(chars, 5)); err != nil {
			t.Fatal(err)
		}
	}
	for i, tag := range tags {
		a, unique := frame.Polling(uint8(i)), frame.UniqueOf(7, 0x00f9, 0x3901, uint32(i))
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: a})
		say(frame.Frame{Kind: frame.ACK, Primary: true, Address: a,
			Data: []byte{254, 0x39, 1, 5, 7, 1, 1, 8, 0, 0, 0, byte(i), 5, 0, 0, 0, 0, 0, 249, 0, 249, 1}})
		long := make([]byte, 32)
		copy(long, latin1(tag))
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: unique, Command: 20})
		say(frame.Frame{Kind: frame.ACK, Primary: true, Address: unique, Command: 20, Data: long})
	}
	capture := filepath.Join(t.TempDir(), "<b>evil&.bin")
	if err := os.WriteFile(capture, chars, 0o600); err != nil {
		t.Fatal(err)
	}
	page, _ := reportOf(t, capture)
	if n := bytes.Count(page, []byte("</script>")); n != 2 {
		t.Errorf("%d scripts end in the page, want 2: the data and the script", n)
	}
	for _, forbidden := range []string{"<!--", "<img", "<b>", "http://", "https://", "\x1b", "\x01"} {
		if outside := string(page); strings.Contains(strings.ReplaceAll(outside, "http://www.w3.org/2000/svg", ""), forbidden) {
			t.Errorf("the page holds %q", forbidden)
		}
	}
	var texts []string
	for _, row := range reportData(t, page)["messages"].([]any) {
		texts = append(texts, row.([]any)[8].(string))
	}
	said := strings.Join(texts, "\n")
	for _, want := range []string{"</script><img src=x>", "<!--<script>alert(1)//"} {
		if !strings.Contains(said, want) {
			t.Errorf("no message says %q:\n%s", want, said)
		}
	}
}

func latin1(text string) (b []byte) {
	for _, r := range text {
		b = append(b, byte(r))
	}
	return b
}

// mostReport is the size of a report of a long capture: 5 MB.
const mostReport = 5_000_000

// The report of a long capture is aggregated, and says so in numbers that are right.
func TestReportOfALongCapture(t *testing.T) {
	size := 6 << 20
	if testing.Short() {
		size = 2 << 20
	}
	capture := filepath.Join(t.TempDir(), "busy.txt")
	if err := os.WriteFile(capture, busy(t, size), 0o600); err != nil {
		t.Fatal(err)
	}
	page, _ := reportOf(t, capture, "--summary")
	if len(page) > mostReport {
		t.Errorf("the report has %d bytes, want at most %d", len(page), mostReport)
	}
	data := reportData(t, page)
	counts := data["counts"].(map[string]any)
	for key, want := range tallied(t, capture) {
		if counts[key] != want {
			t.Errorf("%s: the report says %v, want %v", key, counts[key], want)
		}
	}
	var chars, wrong float64
	for _, lane := range data["lanes"].(map[string]any)["lanes"].([]any) {
		runs := lane.(map[string]any)["runs"].([]any)
		for i := 0; i < len(runs); i += 3 {
			chars += runs[i+1].(float64)
			wrong += runs[i+2].(float64)
		}
	}
	if chars != counts["characters"] {
		t.Errorf("the lanes hold %v characters, want %v", chars, counts["characters"])
	}
	if want := counts["damaged"].(float64) + counts["noise"].(float64) + counts["unanswered"].(float64); wrong != want {
		t.Errorf("the lanes hold %v that went wrong, want %v", wrong, want)
	}
	kept := len(data["messages"].([]any))
	came := counts["requests"].(float64) + counts["replies"].(float64) + wrong
	if said := fmt.Sprintf("The list of messages holds %d of %d: ", kept, int(came)); !bytes.Contains(page, []byte(said)) {
		t.Errorf("the page does not say %q", said)
	}
}

// What --report must not do is refused before anything is read.
func TestReportIsNotWrittenOverAnInput(t *testing.T) {
	dir := t.TempDir()
	input := filepath.Join(dir, "in.txt")
	text, err := os.ReadFile("../../testdata/captures/quillmere.txt")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(input, text, 0o600); err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	if code := run([]string{"decode", "--report", filepath.Join(dir, ".", "in.txt"), input}, strings.NewReader(""), io.Discard, &stderr); code != 2 {
		t.Errorf("exit code %d, want 2: %s", code, stderr.String())
	}
	if after, err := os.ReadFile(input); err != nil || !bytes.Equal(after, text) {
		t.Errorf("the input is another now: %v", err)
	}
	// Where nothing was heard, or a filter goes by times that are not there, is no report;
	// and nothing is left behind.
	for _, refused := range []struct {
		input string
		args  []string
	}{{"", nil}, {"ff ff ff ff ff 02 80 00 00 82\n", []string{"--from", "1"}}} {
		args := append([]string{"decode", "--report", filepath.Join(dir, "out.html"), "-"}, refused.args...)
		if code := run(args, strings.NewReader(refused.input), io.Discard, &stderr); code != 1 {
			t.Errorf("%q: exit code %d, want 1: %s", args, code, stderr.String())
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 {
		t.Errorf("%d files are left, want the input alone: %v %v", len(left), left, err)
	}
}

// Damage alone is worth a report: that is what somebody has a question about.
func TestReportOfDamageAlone(t *testing.T) {
	name := filepath.Join(t.TempDir(), "out.html")
	var stderr bytes.Buffer
	if code := run([]string{"decode", "--report", name, "-"}, strings.NewReader("ff ff ff ff ff 02 80 00 00 83\n"), io.Discard, &stderr); code != 1 {
		t.Errorf("exit code %d, want 1: there is no whole frame: %s", code, stderr.String())
	}
	page, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if n := reportData(t, page)["counts"].(map[string]any)["damaged"]; n != 1.0 {
		t.Errorf("%v damaged, want 1", n)
	}
}

// BenchmarkReport is decode --summary --report on a capture of 100 MB.
func BenchmarkReport(b *testing.B) {
	capture := filepath.Join(b.TempDir(), "busy.txt")
	text := busy(b, 100_000_000)
	if err := os.WriteFile(capture, text, 0o600); err != nil {
		b.Fatal(err)
	}
	if keep := os.Getenv("LOOPTONE_KEEP"); keep != "" {
		os.WriteFile(keep, text, 0o600)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		page, _ := reportOf(b, capture, "--summary")
		b.ReportMetric(float64(len(page)), "page-bytes")
	}
}
