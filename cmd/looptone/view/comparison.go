package view

import (
	"fmt"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/master"
	"looptone/sim/replay"
)

// ComparisonSentence says in one line how an answer stands to the recorded one, for
// instance "LT-103 (3)  read primary variable  same". device is what the recording
// calls the device, "" where it does not.
func ComparisonSentence(c *replay.Comparison, device string) string {
	var p prose
	p.asked(&c.Was.Request, c.Was.Definition, device)
	p.say("  ", c.Verdict.String())
	switch c.Verdict {
	case replay.Missing:
		p.say(": a reply was recorded, ", came(c.Is))
	case replay.Extra:
		p.say(": nobody answered in the recording, ", came(c.Is))
	case replay.Open:
		p.say(": the recording does not have the answer, ", came(c.Is))
	}
	for i := range c.Differences {
		p.say([]string{": ", "; "}[min(i, 1)])
		d := &c.Differences[i]
		was, is := sidesOf(c, d)
		p.say(partName(d), " was ", was, ", is ", is)
	}
	if c.History != 0 {
		p.say("  (", historyText(c), ")")
	}
	if c.Tries > 1 {
		p.say("  (try ")
		p.int(int64(c.Tries))
		p.say(")")
	}
	return string(p.b)
}

// asked is a request in words.
func (p *prose) asked(f *frame.Frame, definition *payload.Definition, device string) {
	switch n, polling := f.Address.IsPolling(); {
	case device != "":
		p.say(device)
	case polling:
		p.say("polling address ")
		p.int(int64(n))
	case f.Address.IsBroadcast():
		p.say("all")
	default:
		p.b, _ = f.Address.AppendText(p.b)
	}
	p.say("  ")
	if definition != nil {
		p.say(definition.Name)
		return
	}
	p.say("command ")
	p.int(int64(f.Number()))
}

// came is what there is now.
func came(t *master.Transaction) string {
	switch t.Outcome {
	case master.Answered:
		return "now there is a reply"
	case master.Unreadable:
		return "now there is something that cannot be read"
	}
	return "now nobody answers"
}

// partName is what a difference is of.
func partName(d *replay.Difference) string {
	v := d.Was
	if v == nil {
		v = d.Is
	}
	switch {
	case d.Part != replay.Value:
		return [...]string{replay.Responder: "address", replay.BurstMode: "burst mode", replay.Response: "response",
			replay.DeviceStatus: "device status", replay.Data: "data"}[d.Part]
	case v.Slot >= 0:
		return fmt.Sprintf("%s of slot %d", v.Field.Name, v.Slot)
	}
	return v.Field.Name
}

// sidesOf is a difference in words.
func sidesOf(c *replay.Comparison, d *replay.Difference) (was, is string) {
	if d.Part == replay.Value {
		return valueOrNone(d.Was), valueOrNone(d.Is)
	}
	return sideText(&c.Was.Reply, c.Was.Definition, d.Part), sideText(&c.Is.Reply, c.Was.Definition, d.Part)
}

func valueOrNone(v *payload.Value) string {
	if v == nil {
		return "not there"
	}
	return valueText(v)
}

func sideText(f *frame.Frame, definition *payload.Definition, part replay.Part) string {
	var p prose
	switch part {
	case replay.Responder:
		p.b, _ = f.Address.AppendText(p.b)
	case replay.BurstMode:
		return map[bool]string{true: "on", false: "off"}[f.Burst]
	case replay.Response:
		if errs, ok := f.Status.Response.Errors(); ok {
			return heardErrors(errs)
		}
		code, _ := f.Status.Response.Code()
		p.response(definition, code)
	case replay.DeviceStatus:
		if p.list(f.Status.Device.Names(), " and "); len(p.b) == 0 {
			return "none"
		}
	default:
		if p.hex(f.Data); len(p.b) == 0 {
			return "none"
		}
	}
	return string(p.b)
}

// historyText names the bits that only tell what has happened before.
func historyText(c *replay.Comparison) string {
	var said []string
	for _, bit := range c.History.Names() {
		said = append(said, bit+map[bool]string{true: " is set, and was not", false: " was set, and is not"}[isSet(c, bit)])
	}
	return strings.Join(said, "; ")
}

func isSet(c *replay.Comparison, bit string) bool {
	for _, name := range c.Is.Reply.Status.Device.Names() {
		if name == bit {
			return true
		}
	}
	return false
}

// AppendComparison writes it as one object.
func (j *JSON) AppendComparison(dst []byte, c *replay.Comparison, device string) []byte {
	o := object{b: append(dst, `{"event":"comparison"`...), known: j}
	o.int(`"n":`, int64(c.Number))
	if device != "" {
		o.text(`"device":`, device)
	}
	o.askedOf(&c.Was.Request, c.Was.Definition)
	o.int(`"tries":`, int64(c.Tries))
	o.plain(`"verdict":`, c.Verdict.String())
	if c.Was.Fate == replay.Answered {
		o.reply(`"was":`, &c.Was.Reply)
	}
	if c.Is != nil && c.Is.Outcome == master.Answered {
		o.reply(`"is":`, &c.Is.Reply)
		o.seconds(`"response_time":`, c.Is.ResponseTime.Duration())
	}
	if len(c.Differences) > 0 {
		o.differences(c)
	}
	if c.History != 0 {
		o.texts(`"history":`, c.History.Names())
	}
	return append(o.b, '}')
}

// askedOf is what a request is of.
func (o *object) askedOf(f *frame.Frame, definition *payload.Definition) {
	o.addressOf(f)
	o.int(`"command":`, int64(f.Number()))
	if definition != nil {
		o.text(`"name":`, definition.Name)
	}
	o.hex(`"request_data":`, f.Data)
}

// reply is the frame from its delimiter to its check byte.
func (o *object) reply(name string, f *frame.Frame) {
	chars, _ := f.AppendBinary(nil) // it was on the line, so it can be written down
	o.hex(name, chars)
}

func (o *object) differences(c *replay.Comparison) {
	o.key(`"differences":`)
	o.say("[")
	for i := range c.Differences {
		if i > 0 {
			o.say(",")
		}
		d := &c.Differences[i]
		was, is := sidesOf(c, d)
		o.say("{")
		o.text(`"what":`, partName(d))
		o.text(`"was":`, was)
		o.text(`"is":`, is)
		o.close()
	}
	o.say("]")
}

// RerunSummary says in one line what a rerun came to.
func RerunSummary(r *replay.Rerun) string {
	v := &r.Verdicts
	text := fmt.Sprintf("%d same, %d different, %d missing, %d extra",
		v[replay.Same], v[replay.Different], v[replay.Missing], v[replay.Extra])
	for _, rest := range [...]struct {
		of           replay.Verdict
		one, several string
	}{
		{replay.Open, "whose answer is not recorded", "whose answers are not recorded"},
		{replay.LeftOut, "write left out", "writes left out"},
		{replay.Unsendable, "that cannot be sent", "that cannot be sent"},
	} {
		if n := v[rest.of]; n > 0 {
			text += "; " + many(int64(n), rest.one, rest.several)
		}
	}
	if r.Repeated > 0 {
		text += fmt.Sprintf("; %d times asked again", r.Repeated)
	}
	return text
}

// AppendRerun writes what a rerun came to as one object.
func AppendRerun(dst []byte, r *replay.Rerun) []byte {
	o := object{b: append(dst, `{"event":"compared"`...)}
	v := &r.Verdicts
	for _, c := range [...]struct {
		key string
		of  replay.Verdict
	}{
		{`"same":`, replay.Same}, {`"different":`, replay.Different}, {`"missing":`, replay.Missing}, {`"extra":`, replay.Extra},
		{`"not_recorded":`, replay.Open}, {`"left_out":`, replay.LeftOut}, {`"unsendable":`, replay.Unsendable},
	} {
		o.int(c.key, int64(v[c.of]))
	}
	o.int(`"repeated":`, int64(r.Repeated))
	return append(o.b, '}')
}
