package view

import (
	"fmt"
	"strings"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Sentence says in one line what a message says, for instance
// "LT-103 (3) → primary  24.91 kPa".
func Sentence(m *exchange.Message) string {
	if m.Outcome != frame.Whole {
		return trouble(m)
	}
	f := &m.Frame
	host, device := masterName(f.Primary), deviceName(m)
	switch f.Kind {
	case frame.STX:
		return join(host+" → "+device, commandName(m), contents(m))
	case frame.BACK:
		return join(device+" → all", commandName(m), answer(m))
	}
	return join(device+" → "+host, answer(m), after(m))
}

func after(m *exchange.Message) string {
	if m.Response == nil {
		return ""
	}
	return fmt.Sprintf("after %d ms", m.Response.Round(time.Millisecond).Milliseconds())
}

// join puts the parts that are there side by side.
func join(parts ...string) string {
	var there []string
	for _, p := range parts {
		if p != "" {
			there = append(there, p)
		}
	}
	return strings.Join(there, "  ")
}

func deviceName(m *exchange.Message) string {
	if m.Device != nil {
		return m.Device.String()
	}
	if n, ok := m.Frame.Address.IsPolling(); ok {
		return fmt.Sprintf("polling address %d", n)
	}
	if m.Frame.Address.IsBroadcast() {
		return "all"
	}
	return m.Frame.Address.String()
}

func commandName(m *exchange.Message) string {
	if m.Definition != nil {
		return m.Definition.Name
	}
	return fmt.Sprintf("command %d", m.Frame.Number())
}

// answer is what a reply says: its values, or why there are none.
func answer(m *exchange.Message) string {
	f := &m.Frame
	if errs, ok := f.Status.Response.Errors(); ok {
		return join(heardErrors(errs), contents(m), deviceStatus(f.Status.Device))
	}
	code, _ := f.Status.Response.Code()
	var response string
	if code != 0 {
		response = responseText(m.Definition, code)
	}
	values := contents(m)
	if m.Reading.Basis == payload.Told && m.Device != nil {
		values = introduction(m)
	}
	if response == "" && values == "" {
		response = "done"
	}
	return join(response, values, deviceStatus(f.Status.Device))
}

// responseText is the meaning of a response code with its number.
func responseText(d *payload.Definition, code uint8) string {
	number := fmt.Sprintf("response code %d", code)
	if text := d.ResponseText(code); text != number {
		return text + " " + paren(number)
	}
	return number
}

// heardErrors says that a device could not read its request, and why.
func heardErrors(errs frame.Faults) string {
	return "heard the request with errors: " + either(strings.Join(errs.Names(), ", "), "it does not say which")
}

// contents are the values of a message, or its bytes where nothing is known of them.
func contents(m *exchange.Message) string {
	if data := m.Frame.Payload(); len(m.Reading.Values) == 0 && len(data) > 0 {
		return fmt.Sprintf("data % x", data)
	}
	return Values(m.Reading.Values)
}

// introduction is what matters of the many values by which a device introduces
// itself.
func introduction(m *exchange.Message) string {
	preambles := ""
	for i := range m.Reading.Values {
		if v := &m.Reading.Values[i]; v.Field.Name == "request preambles" {
			preambles = ", wants " + ValueText(v) + " preambles"
		}
	}
	return fmt.Sprintf("introduces itself: unique address %v, revision %d%s", m.Device.Unique, m.Reading.Revision, preambles)
}

func deviceStatus(s frame.DeviceStatus) string {
	if s == 0 {
		return ""
	}
	return "[" + strings.Join(s.Names(), ", ") + "]"
}

// Values says what values are: one alone without its name.
func Values(values []payload.Value) string {
	var said []string
	for i := range values {
		v := &values[i]
		switch {
		case len(values) == 1:
			said = append(said, ValueText(v))
		case v.Slot >= 0:
			said = append(said, fmt.Sprintf("slot %d %s %s", v.Slot, v.Field.Name, ValueText(v)))
		default:
			said = append(said, v.Field.Name+" "+ValueText(v))
		}
	}
	return strings.Join(said, ", ")
}

// ValueText is one value with its unit, or what it means.
func ValueText(v *payload.Value) string {
	meaning := v.Meaning()
	if v.Field.Type == payload.UnitCode && v.HasUnit {
		return v.UnitSymbol()
	}
	if v.Field.Type == payload.Flags && !v.Incomplete {
		if names := v.AppendNames(nil); len(names) > 0 {
			return strings.Join(names, " and ")
		}
		return "none"
	}
	if number, ok := v.AppendNumber(nil); ok {
		return strings.TrimRight(fmt.Sprintf("%s %s", number, either(v.UnitSymbol(), paren(meaning))), " ")
	}
	if text, ok := v.AppendText(nil); ok {
		if v.Field.Type == payload.Bytes {
			return fmt.Sprintf("% x", v.Raw)
		}
		return fmt.Sprintf("%q", text)
	}
	return fmt.Sprintf("% x (%s)", v.Raw, meaning)
}

func either(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func paren(s string) string {
	if s == "" {
		return ""
	}
	return "(" + s + ")"
}

// trouble says what damage or noise is.
func trouble(m *exchange.Message) string {
	if m.Outcome == frame.Damaged {
		return fmt.Sprintf("damage: %v: %s", m.Err, hexBytes(m.Raw))
	}
	n := len(m.Raw)
	switch {
	case n == 0:
		return fmt.Sprintf("%d FF and nothing behind them", m.Preambles)
	case m.Err != nil:
		return fmt.Sprintf("noise: %v: %s", m.Err, hexBytes(m.Raw))
	case n == 1:
		return fmt.Sprintf("noise: 1 character: % x", m.Raw)
	}
	return fmt.Sprintf("noise: %d characters: %s", n, hexBytes(m.Raw))
}

// hexBytes is b as hex, of long stretches the beginning.
func hexBytes(b []byte) string {
	const most = 32
	if len(b) <= most {
		return fmt.Sprintf("% x", b)
	}
	return fmt.Sprintf("% x … and %d more", b[:most], len(b)-most)
}
