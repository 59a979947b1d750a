package page

import (
	"encoding/hex"
	"fmt"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// A letter is a message that is to be sent.
type letter struct {
	to      whom
	primary bool // the primary master sends it
	command uint16
	data    []byte
}

// transaction is the letter as a master sends it.
func (l *letter) transaction() master.Transaction {
	return master.Transaction{Address: l.to.address, Command: l.command, Data: l.data, Preambles: l.to.preambles()}
}

// chars are what goes on the line, preambles first.
func (l *letter) chars() ([]byte, error) {
	request := frame.Frame{Kind: frame.STX, Address: l.to.address, Primary: l.primary}
	request.SetNumber(l.command, l.data)
	chars, err := request.AppendBinary(frame.AppendPreambles(nil, l.to.preambles()))
	if err != nil {
		return nil, fmt.Errorf("data: got %d bytes, want fewer: they do not fit into a request of command %d", len(l.data), l.command)
	}
	return chars, nil
}

// show shows the letter as it will be heard.
func (l *letter) show(o *Outcome) error {
	chars, err := l.chars()
	if err != nil {
		return err
	}
	m := l.message(chars)
	o.Hex = hex.EncodeToString(chars)
	o.Says = view.Sentence(m)
	for _, b := range view.TakeApart(m) {
		o.Boxes = append(o.Boxes, boxOf(&b))
	}
	return nil
}

// message is the letter as a message that was heard by somebody who knows the device.
func (l *letter) message(chars []byte) *exchange.Message {
	var d frame.Decoder
	ev := &frame.Event{}
	d.Feed(chars, nil)
	d.End()
	d.Next(ev) // the letter is whole
	m := &exchange.Message{Event: ev, Number: 1, Device: l.to.known()}
	if def, ok := payload.Lookup(l.command); ok {
		m.Definition = def
		m.Reading = def.Decode(nil, frame.STX, ev.Frame.Payload(), l.to.revision())
	}
	return m
}

// writes reports whether the letter may change something in a device.
func (l *letter) writes() bool {
	var builtIn *payload.Book
	return builtIn.Writes(l.command, l.to.deviceType())
}
