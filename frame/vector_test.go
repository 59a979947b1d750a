package frame_test

import (
	"cmp"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	diff "github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/frame/vector"
)

// The format of the vector files and what their keys say stands in the
// documentation of package vector.

func readVectors(t testing.TB) []*vector.Vector {
	t.Helper()
	vectors, err := vector.Read(os.DirFS("../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	if len(vectors) < 100 {
		t.Fatalf("only %d vectors found", len(vectors))
	}
	return vectors
}

func TestVectors(t *testing.T) {
	for _, v := range readVectors(t) {
		t.Run(v.Name, func(t *testing.T) {
			for _, bare := range []bool{false, true} {
				if holds, ok := v.Value("bare"); ok && bare != (holds == "yes") {
					continue
				}
				checkVector(t, v, bare)
			}
			v.Value("source")
			if unread := v.Unread(); unread != nil {
				t.Errorf("keys that nothing checks: %v", unread)
			}
		})
	}
}

func checkVector(t *testing.T, v *vector.Vector, bare bool) {
	whole := decode(v.Chars, v.Marks, bare, division{})
	single := decode(v.Chars, v.Marks, bare, division{cuts: everyCharacter(len(v.Chars))})
	if d := diff.Diff(whole, single, eventOptions); d != "" {
		t.Errorf("one character at a time changes the events: %s", d)
	}
	checkExtents(t, v, whole)
	expect, _ := v.Value("expect")
	i := slices.IndexFunc(whole, func(ev frame.Event) bool { return isExpected(&ev, expect) })
	if i < 0 {
		t.Fatalf("bare %t: no event is %q: %s", bare, expect, describe(whole))
	}
	ev := &whole[i]
	checkFault(t, v, ev)
	checkNumber(t, v, "preambles", ev.Preambles)
	switch ev.Outcome {
	case frame.Whole:
		checkWhole(t, v, ev)
	case frame.Damaged:
		checkFields(t, v, &ev.Frame)
	}
}

// isExpected: expect is the outcome, or for a fault the field.
func isExpected(ev *frame.Event, expect string) bool {
	var fault *frame.FaultError
	if errors.As(ev.Err, &fault) {
		outcome := frame.Damaged
		if fault.Err == frame.ErrFrameType {
			outcome = frame.Noise
		}
		return fault.Field.String() == expect && ev.Outcome == outcome
	}
	return ev.Outcome.String() == expect
}

func describe(events []frame.Event) string {
	var list []string
	for _, ev := range events {
		list = append(list, fmt.Sprintf("%v %d-%d-%d %v", ev.Outcome, ev.Start-int64(ev.Preambles), ev.Start, ev.End, ev.Err))
	}
	return strings.Join(list, " | ")
}

func checkExtents(t *testing.T, v *vector.Vector, events []frame.Event) {
	var list []string
	for _, ev := range events {
		list = append(list, fmt.Sprintf("%v %d-%d-%d", ev.Outcome, ev.Start-int64(ev.Preambles), ev.Start, ev.End))
	}
	got := strings.Join(list, " | ")
	want, ok := v.Value("events")
	if !ok {
		if len(events) != 1 || events[0].Start != int64(events[0].Preambles) || events[0].End != int64(len(v.Chars)) {
			t.Errorf("events: got %s, want one over all %d characters", got, len(v.Chars))
		}
		return
	}
	if got != want {
		t.Errorf("events\ngot  %s\nwant %s", got, want)
	}
}

var reasons = map[string]error{
	"parity": frame.ErrParity, "framing": frame.ErrFraming, "gap": frame.ErrGap, "cut": frame.ErrCut,
	"frame type": frame.ErrFrameType, "byte count": frame.ErrByteCount, "check byte": frame.ErrCheckByte,
}

func checkFault(t *testing.T, v *vector.Vector, ev *frame.Event) {
	faults := strings.Join(ev.Faults.Names(), ", ")
	if want, ok := v.Value("faults"); ok && cmp.Or(faults, "none") != want {
		t.Errorf("faults: got %q, want %q", faults, want)
	}
	var fault *frame.FaultError
	if !errors.As(ev.Err, &fault) {
		return
	}
	if fault.Start != ev.Start {
		t.Errorf("the fault belongs to a frame at %d, the event starts at %d", fault.Start, ev.Start)
	}
	checkNumber(t, v, "at", int(fault.At))
	if reason, _ := v.Value("reason"); !errors.Is(ev.Err, reasons[reason]) || reasons[reason] == nil {
		t.Errorf("reason: got %v, want %q", ev.Err, reason)
	}
	got, compared := v.Value("got")
	want, _ := v.Value("want")
	if fault.Compared != compared {
		t.Errorf("%v: compared is %t, want %t", ev.Err, fault.Compared, compared)
	}
	if have := fmt.Sprintf("%02x %02x", fault.Got, fault.Want); compared && have != got+" "+want {
		t.Errorf("got and want: got %s, want %s %s", have, got, want)
	}
}

// checkWhole: all fields, in both directions.
func checkWhole(t *testing.T, v *vector.Vector, ev *frame.Event) {
	checkFields(t, v, &ev.Frame)
	for _, key := range []string{"preambles", "kind", "master", "burst_mode", "address", "command", "data"} {
		if _, ok := v.Value(key); !ok {
			t.Errorf("the vector does not say %q", key)
		}
	}
	wire := v.Chars[ev.Start:ev.End]
	built := build(t, v)
	if got, err := built.AppendBinary(nil); err != nil || !slices.Equal(got, wire) {
		t.Errorf("the keys encode to\n     %x (%v)\nwant %x", got, err, wire)
	}
	if got, err := ev.Frame.AppendBinary(nil); err != nil || !slices.Equal(got, wire) {
		t.Errorf("the frame encodes to\n     %x (%v)\nwant %x", got, err, wire)
	}
	parsed, err := frame.Parse(wire)
	if d := diff.Diff(ev.Frame, parsed, eventOptions); d != "" || err != nil {
		t.Errorf("Parse: %v %s", err, d)
	}
	if bars := barsOf(ev); !containsAll(v.Bars, bars) {
		t.Errorf("bars stand in front of characters %v, want %v", v.Bars, bars)
	}
}

// barsOf are the places between the fields of a whole frame.
func barsOf(ev *frame.Event) (bars []int) {
	at := int(ev.Start)
	if ev.Preambles > 0 {
		bars = append(bars, at)
	}
	fields := layout(ev.Raw)
	for i := 1; i < len(fields); i++ {
		if fields[i] != fields[i-1] {
			bars = append(bars, at+i)
		}
	}
	return bars
}

func containsAll(all, some []int) bool {
	return !slices.ContainsFunc(some, func(n int) bool { return !slices.Contains(all, n) })
}

// checkFields compares every field that the vector names.
func checkFields(t *testing.T, v *vector.Vector, f *frame.Frame) {
	check := func(key, got string) {
		if want, ok := v.Value(key); ok && got != want {
			t.Errorf("%s: got %q, want %q", key, got, want)
		}
	}
	check("kind", f.Kind.String())
	check("master", map[bool]string{true: "primary", false: "secondary"}[f.Primary])
	check("burst_mode", strconv.FormatBool(f.Burst))
	check("address", addressText(f.Address))
	check("physical", strconv.Itoa(int(f.Physical)))
	check("expansion", hex.EncodeToString(f.Expansion))
	check("command", strconv.Itoa(int(f.Number())))
	check("data", hex.EncodeToString(f.Data))
	check("device_status", cmp.Or(strings.Join(f.Status.Device.Names(), ", "), "none"))
	if faults, ok := f.Status.Response.Errors(); ok {
		check("response", strings.Join(faults.Names(), ", "))
	} else {
		code, _ := f.Status.Response.Code()
		check("response", strconv.Itoa(int(code)))
	}
}

func addressText(a frame.Address) string {
	if n, ok := a.IsPolling(); ok {
		return fmt.Sprintf("polling %d", n)
	}
	if a.IsBroadcast() {
		return "broadcast"
	}
	return "unique " + a.String()
}

func checkNumber(t *testing.T, v *vector.Vector, key string, got int) {
	if want, ok := v.Value(key); ok && strconv.Itoa(got) != want {
		t.Errorf("%s: got %d, want %s", key, got, want)
	}
}

// build makes the frame that the keys describe.
func build(t *testing.T, v *vector.Vector) (f frame.Frame) {
	text := func(key string) string { s, _ := v.Value(key); return s }
	f.Kind = map[string]frame.Kind{"STX": frame.STX, "ACK": frame.ACK, "BACK": frame.BACK}[text("kind")]
	f.Primary, f.Burst = text("master") == "primary", text("burst_mode") == "true"
	f.Address = buildAddress(t, text("address"))
	f.Physical = uint8(number(t, cmp.Or(text("physical"), "0")))
	f.Expansion, f.Data = bytesOf(t, text("expansion")), bytesOf(t, text("data"))
	f.Command = uint8(number(t, text("command")))
	if n := number(t, text("command")); n > 255 {
		f.Command = frame.ExtendedCommand
	}
	if f.Kind.FromSlave() {
		f.Status = frame.Status{Response: buildResponse(t, text("response")), Device: buildDeviceStatus(text("device_status"))}
	}
	return f
}

func buildAddress(t *testing.T, text string) frame.Address {
	form, value, _ := strings.Cut(text, " ")
	switch form {
	case "polling":
		return frame.Polling(uint8(number(t, value)))
	case "unique":
		a, err := frame.ParseUnique(value)
		if err != nil {
			t.Error(err)
		}
		return a
	}
	return frame.Broadcast
}

func buildResponse(t *testing.T, text string) frame.Response {
	if _, err := strconv.Atoi(text); err == nil {
		return frame.Response(number(t, text))
	}
	var faults frame.Faults
	for bit := frame.Faults(0x40); bit != 0; bit >>= 1 {
		if names := bit.Names(); len(names) > 0 && slices.Contains(strings.Split(text, ", "), names[0]) {
			faults |= bit
		}
	}
	return faults.Response()
}

func buildDeviceStatus(text string) (status frame.DeviceStatus) {
	for bit := frame.DeviceStatus(0x80); bit != 0; bit >>= 1 {
		if slices.Contains(strings.Split(text, ", "), bit.Names()[0]) {
			status |= bit
		}
	}
	return status
}

func number(t *testing.T, text string) int {
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Error(err)
	}
	return n
}

func bytesOf(t *testing.T, text string) []byte {
	b, err := hex.DecodeString(text)
	if err != nil {
		t.Error(err)
	}
	return b
}
