package master

import (
	"looptone/frame"
	"looptone/frame/payload"
)

// A Find asks one address who is there, or all devices who has a tag. Its Run is a
// script, or a part of one.
type Find struct {
	Address frame.Address
	Tag     string // not empty: in place of the address
	Retries int    // how often to ask again
	Device  *Found // nil where nobody answered
}

// transaction is the question. A tag that no short tag can be is a long one.
//
// Source: Allen-Bradley 1794-UM063A appendix C (11: 8 characters); Siemens SITRANS
// F US A5E34981613-AC p.42 (21: 32).
func (f *Find) transaction() Transaction {
	t := Transaction{Address: f.Address, Preambles: preamblesUnknown}
	if f.Tag == "" {
		return t
	}
	t.Address, t.Command = frame.Broadcast, 11
	var err error
	if t.Data, err = payload.AppendPackedASCII(nil, f.Tag, 6); err != nil {
		t.Command = 21
		t.Data, _ = payload.AppendLatin1(nil, f.Tag, 32) // see CheckTag
	}
	return t
}

// CheckTag refuses what can be neither a tag nor a long one.
func CheckTag(tag string) error {
	_, err := payload.AppendLatin1(nil, tag, 32)
	return err
}

// Run is the script; more is false when it is to end at once.
func (f *Find) Run(yield func(*Transaction) bool) (more bool) {
	for range 1 + f.Retries {
		t := f.transaction()
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
