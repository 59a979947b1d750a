package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// Caution before something is written to a real device. Source: common practice.
const writeCaution = `caution: this changes a device on a loop that may drive a process. Put the control
  loop in manual first; follow the site's permit, the area classification, local
  codes and licensed practice.`

type sendOptions struct {
	hostFlags
	demo     bool
	yes      bool
	command  int
	polling  int
	unique   string
	data     string
	commands []string
	retries  int
	json     bool
	fields   []string
}

func newSend() *cobra.Command {
	var o sendOptions
	cmd := &cobra.Command{
		Use:   "send [FIELD=CONTENT...]",
		Short: "one command to one device, request and reply explained",
		Long: `Send asks a device who it is and sends it one command; data are given as
FIELD=CONTENT in the fields of the command for the device's revision, or as hex by
--data. What may write goes to the demonstration line only when --demo says so,
and to a real device only behind a question, which --yes answers.`,
		Example: "  looptone send --polling 3 --command 15\n  looptone send --demo --polling 3 --command 6 polling_address=9 loop_current_mode=disabled",
		RunE: func(cmd *cobra.Command, args []string) error {
			o.fields = args
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.hostFlags.add(cmd)
	f := cmd.Flags()
	f.BoolVar(&o.demo, "demo", false, "on the built-in demonstration line, writes too")
	f.BoolVar(&o.yes, "yes", false, "write without asking")
	f.IntVar(&o.command, "command", -1, "command number, 0 to 65535")
	f.IntVar(&o.polling, "polling", -1, "polling address of the device, 0 to 63")
	f.StringVar(&o.unique, "unique", "", "unique address of the device, 10 hex digits")
	f.StringVar(&o.data, "data", "", "data as hex, instead of fields")
	f.StringArrayVar(&o.commands, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
	f.IntVar(&o.retries, "retries", 3, "how often to ask again where there is no answer")
	f.BoolVar(&o.json, "json", false, "one JSON object a message")
	return cmd
}

func (o *sendOptions) check(cmd *cobra.Command) error {
	if err := o.hostFlags.check(cmd); err != nil {
		return err
	}
	named := 0
	for _, flag := range [...]string{"polling", "unique"} {
		if cmd.Flags().Changed(flag) {
			named++
		}
	}
	_, real := o.real()
	switch {
	case !cmd.Flags().Changed("command"):
		return errors.New("send wants a command: --command 0 to 65535")
	case named != 1:
		return fmt.Errorf("send wants one device, got %d: --polling or --unique", named)
	case o.data != "" && len(o.fields) > 0:
		return errors.New("send takes --data or fields, not both")
	case o.demo && (real || o.line != ""):
		return errors.New("--demo is the demonstration line, without --port, --tcp and --line")
	}
	return checkRanges(cmd, []limit{{"command", o.command, 65535}, {"polling", o.polling, frame.MaxPolling}, {"retries", o.retries, 100}})
}

func (o *sendOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	book, err := readCommands(o.commands)
	if err != nil {
		return err
	}
	to, err := o.address()
	if err != nil {
		return usageError{err}
	}
	h, err := o.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer h.Close()
	out := bufio.NewWriter(stdout)
	command := uint16(o.command)
	w := &witness{out: out, json: o.json, explain: true, only: &command}
	w.tracker.Book = book
	h.line.Join(w)
	s := sending{sendOptions: o, book: book, to: to, real: h.wire != nil, stdin: stdin, stderr: stderr}
	_, err = h.work(ctx, s.script)
	if flushErr := out.Flush(); err == nil {
		err = flushErr
	}
	if err == nil {
		err = s.err
	}
	return err
}

func (o *sendOptions) address() (frame.Address, error) {
	if o.unique != "" {
		return frame.ParseUnique(o.unique)
	}
	return frame.Polling(uint8(o.polling)), nil
}

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
	if err == nil {
		err = s.allow(who.Device)
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

// allow lets what may write through only when it was meant.
func (s *sending) allow(d *master.Found) error {
	switch {
	case !s.book.Writes(uint16(s.command), payload.DeviceTypeOf(d.Unique)):
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
