package master

import "looptone/frame"

// An Introduction asks an address who is there, and the device for its name: its tag,
// and where that is empty its long tag. Its Run is a part of a script.
type Introduction struct {
	Address    frame.Address
	Retries    int    // how often to ask again where something was heard that could not be read; a silent address is asked once
	Device     *Found // nil where nobody could be understood
	Unreadable bool   // something was heard there all the same; that is asked to the end
}

// Run is the script; more is false when it is to end at once.
func (i *Introduction) Run(yield func(*Transaction) bool) (more bool) {
	last := Silent
	say := func(t *Transaction) bool {
		more := yield(t)
		last = t.Outcome
		return more
	}
	for range 1 + i.Retries {
		find := Find{Address: i.Address}
		if !find.Run(say) {
			return false
		}
		i.Device, i.Unreadable = find.Device, find.Device == nil && (i.Unreadable || last != Silent)
		if i.Device != nil || !i.Unreadable {
			break
		}
	}
	return i.Device == nil || i.name(yield)
}

// name asks the device for its name.
func (i *Introduction) name(say conversation) (more bool) {
	s := Scan{Retries: i.Retries}
	if _, more := s.ask(i.Device, 13, say); !more {
		return false
	}
	if tag := i.Device.Tag; tag != nil && *tag != "" || !i.Device.has(20) {
		return true
	}
	_, more = s.ask(i.Device, 20, say)
	return more
}
