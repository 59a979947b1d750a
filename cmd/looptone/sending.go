package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim/master"
)

// A sending is one command on its way to one device.
type sending struct {
	*sendOptions
	host   *host
	book   *payload.Book
	to     frame.Address
	stdin  io.Reader
	stderr io.Writer
	found  *master.Found // the device
	number uint16        // of the command
	chosen bool          // it is known which
}

// run asks the device who it is, makes sure that a write is meant, and sends the
// command. In between nobody works on the line: a question may take its time.
func (s *sending) run(ctx context.Context) error {
	who := master.Find{Address: s.to, Tag: s.device, Retries: s.retries}
	finding := func(yield func(*master.Transaction) bool) { who.Run(yield) }
	if _, err := s.host.work(ctx, finding); err != nil {
		return err
	}
	if s.found = who.Device; s.found == nil {
		return errNobody
	}
	if s.command < 0 {
		if err := s.set(ctx); err != nil {
			return err
		}
	}
	data, err := s.content()
	if err == nil {
		err = s.allow()
	}
	if err == nil {
		err = s.checkUnit(ctx, data)
	}
	if err != nil {
		return err
	}
	return s.insist(ctx, data)
}

// insist sends the command until the device is not busy any more.
func (s *sending) insist(ctx context.Context, data []byte) error {
	a := s.asking(s.number, data)
	a.Insist, a.Busy = true, func() { fmt.Fprintln(s.stderr, "the device is not done; it is asked again") }
	if err := s.work(ctx, &a); err != nil {
		return err
	}
	code, ok := a.Last.Reply.Status.Response.Code()
	switch {
	case a.Last.Outcome != master.Answered:
		return errNobody
	case a.Unfinished():
		return fmt.Errorf("the device was not done after it was asked %d times", master.MostAsked)
	case !ok || !payload.Executed(code):
		return errors.New("the device did not carry the command out")
	}
	return nil
}

// shows reports whether messages of a command are shown: of the one that is sent.
func (s *sending) shows(command uint16) bool { return s.chosen && command == s.number }

// ask sends a command until it is answered.
func (s *sending) ask(ctx context.Context, command uint16, data []byte) (master.Transaction, error) {
	a := s.asking(command, data)
	err := s.work(ctx, &a)
	return a.Last, err
}

func (s *sending) asking(command uint16, data []byte) master.Ask {
	request := master.Transaction{Address: s.found.Unique, Command: command, Data: data, Preambles: master.Preambles(s.found.Preambles)}
	return master.Ask{Request: request, Retries: s.retries}
}

func (s *sending) work(ctx context.Context, a *master.Ask) error {
	_, err := s.host.work(ctx, func(yield func(*master.Transaction) bool) { a.Run(yield) })
	return err
}

func (s *sending) deviceType() payload.DeviceType { return payload.DeviceTypeOf(s.found.Unique) }

// content is the data of the request, in the layout of the device's revision.
func (s *sending) content() (data []byte, err error) {
	if s.data != "" {
		data, err = hexFlag("data", s.data)
	} else {
		def, _ := s.book.Lookup(s.number, s.deviceType())
		data, err = encodeFields(def, s.number, frame.STX, s.found.UniversalRevision, s.fields)
	}
	if err != nil {
		return nil, usageError{err}
	}
	return data, nil
}

// allow lets what may write through only when it was meant.
func (s *sending) allow() error {
	real := s.host.wire != nil
	switch {
	case !s.book.Writes(s.number, s.deviceType()):
		return nil
	case !real && !s.demo && s.line == "":
		return usagef("command %d may write: say --demo for the demonstration line, or --port, --tcp, --rfc2217 or --line", s.number)
	case !real:
		return nil
	}
	fmt.Fprintln(s.stderr, writeCaution)
	return confirm(s.yes, "send it?", s.stdin, s.stderr)
}

// unitTold are commands that write a unit, and those that tell which one the
// device has for the same thing.
var unitTold = map[uint16]uint16{
	35: 15, // range values
	44: 1,  // primary variable
}

// checkUnit refuses a unit of another quantity than the one that the device has
// for the same thing. A device that does not tell is not in the way.
func (s *sending) checkUnit(ctx context.Context, data []byte) error {
	told, ok := unitTold[s.number]
	if !ok || len(s.fields) == 0 {
		return nil
	}
	meant := s.unitsIn(s.number, frame.STX, data)
	t, err := s.ask(ctx, told, nil)
	if err != nil || t.Outcome != master.Answered || len(meant) == 0 {
		return err
	}
	has := s.unitsIn(told, frame.ACK, t.Reply.Payload())
	if len(has) == 0 {
		return nil
	}
	got, want := meant[0].Quantity(), has[0].Quantity()
	if got == want || got == unit.None || want == unit.None {
		return nil
	}
	return usagef("%v is a unit of %v, and the device has %v there: want one of %s",
		meant[0], got, want, symbols(unit.OfQuantity(want)))
}

// unitsIn are the units in the data of a command, but for those that its layout
// fixes.
func (s *sending) unitsIn(command uint16, kind frame.Kind, data []byte) (units []unit.Code) {
	def, ok := s.book.Lookup(command, s.deviceType())
	if !ok {
		return nil
	}
	for _, v := range def.Decode(nil, kind, data, s.found.UniversalRevision).Values {
		if v.HasUnit && v.Field.Unit == 0 {
			units = append(units, v.Unit)
		}
	}
	return units
}

func symbols(codes []unit.Code) string {
	var list []string
	for _, c := range codes {
		list = append(list, c.String())
	}
	return strings.Join(list, ", ")
}
