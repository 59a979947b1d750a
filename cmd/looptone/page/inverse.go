package page

import (
	"fmt"
	"slices"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// A reversal is how a write is taken back: by a command with what another one has told
// before. It is made before the write is sent.
type reversal struct {
	asks    bool // teller is to be asked; else words are known already
	teller  uint16
	data    []byte // of the question
	command uint16 // that writes back
	words   func(reply *payload.Reading, status frame.DeviceStatus) (words []string, ok bool)
}

// says says what comes before the write, and what of it can be undone.
func (r *reversal) says() string {
	switch {
	case r == nil:
		return "this cannot be undone"
	case !r.asks:
		return "this can be undone"
	}
	return fmt.Sprintf("before it %s is asked, so that it can be undone", commandText(r.teller))
}

// ask is the question of what the device has.
func (r *reversal) ask(l *letter) master.Transaction {
	question := letter{to: l.to, primary: l.primary, command: r.teller, data: r.data}
	return question.transaction()
}

// letter is what writes back what a device has told; ok is false where it has told too
// little.
func (r *reversal) letter(l *letter, told *frame.Frame) (back *letter, ok bool) {
	var reading payload.Reading
	var status frame.DeviceStatus
	if told != nil {
		def, _ := payload.Lookup(r.teller)
		reading = def.Decode(nil, frame.ACK, told.Payload(), l.to.revision())
		status = told.Status.Device
	}
	words, ok := r.words(&reading, status)
	def, known := payload.Lookup(r.command)
	if !ok || !known {
		return nil, false
	}
	back = &letter{to: l.to, primary: l.primary, command: r.command}
	var err error
	back.data, err = def.AppendWords(nil, frame.STX, l.to.revision(), words)
	return back, err == nil
}

// Commands that are taken back otherwise than by writing the same fields again.
const (
	readPV            = 1
	readCurrent       = 2
	writePolling      = 6
	readOutput        = 15
	writeRange        = 35
	setUpperRange     = 36
	setLowerRange     = 37
	fixCurrent        = 40
	writePVUnit       = 44
	readBurst         = 105
	firstBurst        = 103 // 103, 104, 107, 108 and 109 write what 105 reads
	lastBurst         = 109
	oldestWithLoopCfg = 6 // revision from which on command 7 tells the polling address
)

// reversalOf is how a letter is taken back; nil for one that writes nothing, or cannot
// be.
func reversalOf(l *letter) *reversal {
	if !l.writes() || l.to.device == nil {
		return nil
	}
	revision := l.to.revision()
	switch c := l.command; {
	case c == writePolling && revision < oldestWithLoopCfg:
		n := l.to.device.Polling()
		return &reversal{command: c, words: func(*payload.Reading, frame.DeviceStatus) ([]string, bool) {
			return []string{fmt.Sprintf("polling_address=%d", n)}, true
		}}
	case c == fixCurrent:
		return &reversal{asks: true, teller: readCurrent, command: c, words: heldBefore}
	case c == setUpperRange || c == setLowerRange:
		return rewriting(readOutput, nil, writeRange, revision)
	case c == writePVUnit:
		return rewriting(readPV, nil, c, revision)
	case firstBurst <= c && c <= lastBurst && c != readBurst:
		return burstReversal(l)
	}
	return fieldsReversal(l)
}

// heldBefore fixes the current where it was held before, or lets it follow.
func heldBefore(told *payload.Reading, status frame.DeviceStatus) (words []string, ok bool) {
	if status&frame.LoopCurrentFixed == 0 {
		return []string{"fixed_loop_current=0"}, true
	}
	for i := range told.Values {
		if v := &told.Values[i]; v.Field.Name == "loop current" {
			b, ok := v.AppendNumber(nil)
			return []string{"fixed_loop_current=" + string(b)}, ok
		}
	}
	return nil, false
}

// burstReversal writes back what the same burst message had.
func burstReversal(l *letter) *reversal {
	var number []byte
	if l.to.revision() >= payload.NewestRevision {
		number = l.data[len(l.data)-1:] // the burst message stands last in all of them but 103 and 104
		if l.command < 107 {
			number = l.data[:1]
		}
	}
	return rewriting(readBurst, number, l.command, l.to.revision())
}

// fieldsReversal writes back the fields that the letter writes, where one command tells
// them all.
func fieldsReversal(l *letter) *reversal {
	def, known := payload.Lookup(l.command)
	if !known {
		return nil
	}
	names := fieldNames(def, l.to.revision())
	var builtIn *payload.Book
	teller, ok := builtIn.Teller(l.to.deviceType(), l.to.revision(), names)
	if len(names) == 0 || !ok {
		return nil
	}
	return rewriting(teller.Command, nil, l.command, l.to.revision())
}

// rewriting writes with a command what another one tells under the same names.
func rewriting(teller uint16, data []byte, command uint16, revision uint8) *reversal {
	def, _ := payload.Lookup(command)
	names := fieldNames(def, revision)
	return &reversal{asks: true, teller: teller, data: data, command: command,
		words: func(told *payload.Reading, _ frame.DeviceStatus) (words []string, ok bool) {
			for _, name := range names {
				had := payload.Words(told.Values, name)
				if words = append(words, had...); len(had) == 0 {
					return nil, false
				}
			}
			return words, true
		}}
}

// fieldNames are the fields of a command's request.
func fieldNames(def *payload.Definition, revision uint8) (names []string) {
	forms, err := def.Forms(frame.STX, revision)
	if err != nil {
		return nil
	}
	l := &forms[0]
	for _, f := range slices.Concat(l.Head, l.Group, l.Tail) {
		names = append(names, f.Name)
	}
	return names
}
