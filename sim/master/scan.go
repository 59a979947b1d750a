package master

import (
	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim"
)

// preamblesUnknown is how many preambles a device gets that has not said how
// many it wants.
//
// Source: encyclopaedia-style HART article (20, lowered afterwards).
const preamblesUnknown = 20

// Preambles is how many go in front of a request to a device that wants so many.
//
// Source: Texas Instruments application note SLAAEH0, section 1.5.3 (5 to 20); Siemens ET
// 200iSP A5E00247483-AK p.461 (a master sends no more, even where 255 are set).
func Preambles(wants uint8) int { return min(max(int(wants), 5), 20) }

// A Scan asks polling addresses who is there, and those who answer what they
// are. Its [Scan.Run] is a script.
type Scan struct {
	From, To uint8
	Retries  int         // how often to ask again where something was heard that could not be read, and devices that are known to be there
	Found    func(Found) // is told of each address where something was heard
}

// Found is what a scan learned of one polling address. What a device does not
// have is nil, and so is what it would have told in reply to an unanswered
// command.
type Found struct {
	Polling    uint8
	Tries      int  // how often command 0 was sent
	Unreadable bool // something was heard that could not be read, and that is all

	Unique            frame.Address
	Manufacturer      uint16
	DeviceType        uint16 // revision 7: the expanded one
	UniversalRevision uint8
	DeviceRevision    uint8
	Preambles         uint8 // that it wants in requests
	ResponseTime      sim.Tick

	Tag, LongTag, Descriptor *string
	Modulated                *bool // the loop current follows the percentage; else it is parked
	LoopCurrentMA, PV        *float64
	PVUnit                   *unit.Code
	Status                   frame.DeviceStatus // of its last reply
	Unanswered               []uint16           // commands that it did not answer, often as they were sent, or that it was not there for any more
}

// conversation is a script that is being carried out.
type conversation func(*Transaction) bool

// Run is the script.
func (s *Scan) Run(yield func(*Transaction) bool) {
	for polling := int(s.From); polling <= int(s.To); polling++ {
		if !s.look(uint8(polling), yield) {
			return
		}
	}
}

// look asks one polling address; more is false when the script is to end.
func (s *Scan) look(polling uint8, say conversation) (more bool) {
	f := Found{Polling: polling}
	for f.Tries <= s.Retries {
		f.Tries++
		t := Transaction{Address: frame.Polling(polling), Preambles: preamblesUnknown}
		switch {
		case !say(&t):
			return false
		case t.understood() && f.take(&t):
			f.Unreadable = false
			f.ResponseTime = t.ResponseTime
			more = s.read(&f, say)
			s.Found(f)
			return more
		case t.Outcome == Silent && !f.Unreadable:
			return true
		}
		f.Unreadable = true
	}
	s.Found(f)
	return true
}

// read asks a device that answered for what else there is to know, as long as it is
// there.
func (s *Scan) read(f *Found, say conversation) (more bool) {
	gone := false
	for _, command := range [...]uint16{13, 20, 7, 3} {
		switch {
		case !f.has(command):
			continue
		case gone:
			f.Unanswered = append(f.Unanswered, command)
			continue
		}
		if gone, more = s.ask(f, command, say); !more {
			return false
		}
	}
	if f.Modulated == nil {
		modulated := f.Status&frame.LoopCurrentFixed == 0
		f.Modulated = &modulated
	}
	return true
}

// has reports whether the revision of the device has a command.
func (f *Found) has(command uint16) bool {
	def, _ := payload.Lookup(command)
	_, err := def.Layout(frame.STX, f.UniversalRevision)
	return err == nil
}

// ask tries a command until it is answered. A device that was silent each time is
// gone.
func (s *Scan) ask(f *Found, command uint16, say conversation) (gone, more bool) {
	gone = true
	for range 1 + s.Retries {
		t := Transaction{Address: f.Unique, Command: command, Preambles: Preambles(f.Preambles)}
		if !say(&t) {
			return false, false
		}
		gone = gone && t.Outcome == Silent
		if t.understood() {
			f.take(&t)
			return false, true
		}
	}
	f.Unanswered = append(f.Unanswered, command)
	return gone, true
}

// take takes over what a reply tells; ok is false where the command was not
// carried out.
func (f *Found) take(t *Transaction) (ok bool) {
	f.Status = t.Reply.Status.Device
	code, ok := t.Reply.Status.Response.Code()
	def, known := payload.Lookup(t.Command)
	if !ok || !payload.Executed(code) || !known {
		return false
	}
	var room [16]payload.Value
	values := def.Decode(room[:0], frame.ACK, t.Reply.Payload(), f.UniversalRevision).Values
	var deviceID uint32
	for i := range values {
		f.takeValue(&values[i], &deviceID)
	}
	switch t.Command {
	case 0, 11, 21:
		f.Unique = frame.UniqueOf(f.UniversalRevision, f.Manufacturer, f.DeviceType, deviceID)
	}
	return true
}

func (f *Found) takeValue(v *payload.Value, deviceID *uint32) {
	n, _ := v.Number()
	switch v.Field.Name {
	case "manufacturer":
		f.Manufacturer = uint16(n)
	case "device type", "expanded device type":
		f.DeviceType = uint16(n)
	case "device id":
		*deviceID = uint32(n)
	case "universal revision":
		f.UniversalRevision = uint8(n)
	case "device revision":
		f.DeviceRevision = uint8(n)
	case "request preambles":
		f.Preambles = uint8(n)
	case "tag":
		f.Tag = text(v)
	case "long tag":
		f.LongTag = text(v)
	case "descriptor":
		f.Descriptor = text(v)
	case "loop current mode":
		modulated := n == 1
		f.Modulated = &modulated
	case "loop current":
		f.LoopCurrentMA = finite(v)
	case "primary variable":
		f.PV = finite(v)
		f.PVUnit = &v.Unit
	}
}

func text(v *payload.Value) *string {
	b, ok := v.AppendText(nil)
	if !ok {
		return nil
	}
	s := string(b)
	return &s
}

func finite(v *payload.Value) *float64 {
	n, ok := v.Number()
	if !ok {
		return nil
	}
	return &n
}
