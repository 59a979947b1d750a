package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"looptone/frame"
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
	device   string
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
--data. Without --command it sets the fields: it finds the command that writes
them, and leaves what else that writes as the device has it. A device that is
busy is asked again until it is done.

What may write goes to the demonstration line only when --demo says so, and to a
real device only behind a question, which --yes answers.`,
		Example: "  looptone send --polling 3 --command 15\n  looptone send --demo --device LT-103 damping=2\n  looptone send --demo --polling 3 --command 6 polling_address=9 loop_current_mode=disabled",
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
	f.StringVar(&o.device, "device", "", "`TAG` or long tag of the device, which all devices are asked for")
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
	for _, flag := range [...]string{"polling", "unique", "device"} {
		if cmd.Flags().Changed(flag) {
			named++
		}
	}
	_, real := o.real()
	switch {
	case !cmd.Flags().Changed("command") && (len(o.fields) == 0 || o.data != ""):
		return errors.New("send wants a command, --command 0 to 65535, or fields to set")
	case named != 1:
		return fmt.Errorf("send wants one device, got %d: --device, --polling or --unique", named)
	case cmd.Flags().Changed("device") && o.device == "":
		return errors.New("--device is empty")
	case o.data != "" && len(o.fields) > 0:
		return errors.New("send takes --data or fields, not both")
	case o.demo && (real || o.line != ""):
		return errors.New("--demo is the demonstration line, without --port, --tcp, --rfc2217 and --line")
	}
	if err := master.CheckTag(o.device); err != nil {
		return fmt.Errorf("--device %q %w", o.device, err)
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
	s := sending{sendOptions: o, host: h, book: book, to: to, stdin: stdin, stderr: stderr,
		number: uint16(max(o.command, 0)), chosen: o.command >= 0}
	w := &witness{out: out, json: o.json, explain: true, only: s.shows}
	w.tracker.Book = book
	h.listen(w)
	err = s.run(ctx)
	if flushErr := out.Flush(); err == nil {
		err = flushErr
	}
	return err
}

// address is that of the device; of one that is sought by its tag it is not known.
func (o *sendOptions) address() (frame.Address, error) {
	switch {
	case o.device != "":
		return frame.Broadcast, nil
	case o.unique != "":
		return frame.ParseUnique(o.unique)
	}
	return frame.Polling(uint8(o.polling)), nil
}
