package master

import "looptone/frame"

// A Find asks one address who is there. Its Run is a script, or a part of one.
type Find struct {
	Address frame.Address
	Retries int    // how often to ask again
	Device  *Found // nil where nobody answered
}

// Run is the script; more is false when it is to end at once.
func (f *Find) Run(yield func(*Transaction) bool) (more bool) {
	for range 1 + f.Retries {
		t := Transaction{Address: f.Address, Preambles: preamblesUnknown}
		if !yield(&t) {
			return false
		}
		found := Found{ResponseTime: t.ResponseTime}
		if n, ok := f.Address.IsPolling(); ok {
			found.Polling = n
		}
		if t.understood() && found.take(&t) {
			f.Device = &found
			return true
		}
	}
	return true
}
