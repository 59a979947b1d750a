package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim/master"
)

// A sending is one command on its way.
type sending struct {
	*sendOptions
	book   *payload.Book
	to     frame.Address
	real   bool // the device is no simulated one of ours
	stdin  io.Reader
	stderr io.Writer
	err    error
}

// script asks the device who it is, and sends the command.
func (s *sending) script(yield func(*master.Transaction) bool) {
	who := master.Find{Address: s.to, Retries: s.retries}
	if !who.Run(yield) {
		return
	}
	if who.Device == nil {
		s.err = errNobody
		return
	}
	data, err := s.content(who.Device)
	if err == nil && len(s.fields) > 0 {
		var going bool
		if going, err = s.checkUnits(who.Device, data, yield); !going {
			return
		}
	}
	if err != nil {
		s.err = err
		return
	}
	s.ask(who.Device, data, yield)
}

// ask sends the command until it is answered.
func (s *sending) ask(d *master.Found, data []byte, yield func(*master.Transaction) bool) {
	for range 1 + s.retries {
		t := master.Transaction{Address: d.Unique, Command: uint16(s.command), Data: data, Preambles: max(int(d.Preambles), 5)}
		if !yield(&t) {
			return
		}
		if t.Outcome == master.Answered {
			s.err = s.judge(t.Reply.Status.Response)
			return
		}
	}
	s.err = errNobody
}

// judge is the error that a response stands for: a device that does not carry the
// command out.
func (s *sending) judge(r frame.Response) error {
	code, ok := r.Code()
	if ok && payload.Executed(code) {
		return nil
	}
	return errors.New("the device did not carry the command out")
}

// content is the data of the request, in the layout of the device's revision.
func (s *sending) content(d *master.Found) ([]byte, error) {
	if s.data != "" {
		data, err := hexFlag("data", s.data)
		return data, asUsage(err)
	}
	def, _ := s.book.Lookup(uint16(s.command), payload.DeviceTypeOf(d.Unique))
	data, err := encodeFields(def, uint16(s.command), frame.STX, d.UniversalRevision, s.fields)
	return data, asUsage(err)
}

func asUsage(err error) error {
	if err == nil {
		return nil
	}
	return usageError{err}
}

// allow lets what may write through only when it was meant. It is asked before
// anything is sent: on a line in real time nobody can wait for an answer.
func (s *sending) allow() error {
	switch {
	case !s.book.Writes(uint16(s.command), payload.DeviceTypeOf(s.to)):
		return nil
	case !s.real && !s.demo && s.line == "":
		return usagef("command %d may write: say --demo for the demonstration line, or --port, --tcp or --line", s.command)
	case !s.real:
		return nil
	}
	fmt.Fprintln(s.stderr, writeCaution)
	if s.yes {
		return nil
	}
	fmt.Fprint(s.stderr, "send it? (yes/no) ")
	answer, _ := bufio.NewReader(s.stdin).ReadString('\n')
	if strings.TrimSpace(strings.ToLower(answer)) != "yes" {
		return errors.New("not sent")
	}
	return nil
}

// readTransducer is the command that tells in which unit a device measures.
const readTransducer = 14

// checkUnits refuses units of another quantity than the device measures; going is
// false when the script is to end. A device that does not tell is not in the way.
func (s *sending) checkUnits(d *master.Found, data []byte, yield func(*master.Transaction) bool) (going bool, err error) {
	def, ok := s.book.Lookup(uint16(s.command), payload.DeviceTypeOf(d.Unique))
	if !ok || !def.Write {
		return true, nil
	}
	meant := unitsIn(def, frame.STX, data, d.UniversalRevision)
	if len(meant) == 0 {
		return true, nil
	}
	t := master.Transaction{Address: d.Unique, Command: readTransducer, Preambles: max(int(d.Preambles), 5)}
	if !yield(&t) {
		return false, nil
	}
	asked, _ := payload.Lookup(readTransducer)
	measured := unitsIn(asked, frame.ACK, t.Reply.Payload(), d.UniversalRevision)
	if t.Outcome != master.Answered || len(measured) == 0 {
		return true, nil
	}
	want := measured[0].Quantity()
	for _, u := range meant {
		if got := u.Quantity(); got != want && got != unit.None && want != unit.None {
			return true, usagef("%v is a unit of %v, and the device measures %v: want one of %s", u, got, want, symbols(unit.OfQuantity(want)))
		}
	}
	return true, nil
}

// unitsIn are the units of the values in data.
func unitsIn(def *payload.Definition, kind frame.Kind, data []byte, revision uint8) (units []unit.Code) {
	for _, v := range def.Decode(nil, kind, data, revision).Values {
		if v.HasUnit && v.Field.Unit == 0 { // not one that the layout fixes
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
