package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
)

// listeningCaution goes before the first port is opened that nothing is sent to.
//
// Source: common practice.
const listeningCaution = `wiring to listen only: of a serial line, its received data and ground, with transmitted
  data, RTS and DTR left open; of a loop, a modem across the resistor that is never
  keyed, isolated from the mains.`

// wireTapFlags choose a port that is listened to.
type wireTapFlags struct{ wireFlags }

func (w *wireTapFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&w.port, "port", "", "listen at the serial port or pty `NAME`")
	f.StringVar(&w.tcp, "tcp", "", "listen at raw TCP `HOST:PORT`")
	w.addPort(cmd)
}

type recordOptions struct {
	wireTapFlags
	between string
	pty     string
	listen  string
	show    bool

	buffer      sizeFlag
	maxSize     sizeFlag
	rotateSize  sizeFlag
	rotateEvery spanFlag

	file string
}

func newRecord() *cobra.Command {
	o := recordOptions{
		buffer:      sizeFlag{bytes: 1 << 20, least: 16 << 10, most: 1 << 30},
		maxSize:     sizeFlag{least: 4 << 10},
		rotateSize:  sizeFlag{least: 4 << 10},
		rotateEvery: spanFlag{least: time.Second},
	}
	cmd := &cobra.Command{
		Use:   "record FILE",
		Short: "what is heard at a port → a capture file, with times",
		Long: `Record listens at a port and writes what it hears, with its times, to a capture file,
which decode reads, until it is stopped. It sends nothing: with one port it only listens.
With --between, --pty or --listen it stands in the wire between two: what comes in at one
end goes out at the other at once, and both directions are recorded, as streams of
their own.

FILE is made; a recording is appended to a capture that is there, and anything else is
left alone. With --rotate-size or --rotate-every the files are numbered, trace-0001.txt
and so on for trace.txt, behind those that are there, and each is complete by itself;
one ends where the line is silent, so that no message is divided.

A line of the file is written at once, so that a kill tears at most the last one. What a
loss of power costs is up to the system, which keeps what was written for half a
minute, as a rule; what is complete was asked to be on the disk. A disk that is slow or
full makes nothing late: up to --buffer waits; what then is lost is counted, and the
file tells how much as soon as there is room.`,
		Example: "  looptone record --port /dev/ttyUSB0 trace.txt\n  looptone record --port loop --pty tap --show trace.txt\n  looptone record --tcp 192.0.2.7:4001 --rotate-every 1h trace.txt",
		Args:    oneFile,
		RunE: func(cmd *cobra.Command, args []string) error {
			o.file = args[0]
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.wireTapFlags.add(cmd)
	f := cmd.Flags()
	f.StringVar(&o.between, "between", "", "stand between that port and this one: a serial port or pty `NAME`, or HOST:PORT")
	f.StringVar(&o.pty, "pty", "", "stand between that port and a pty that is made, with a `LINK` to it")
	f.StringVar(&o.listen, "listen", "", "stand between that port and a TCP client, one at a time, at `HOST:PORT`")
	f.BoolVar(&o.show, "show", false, "say meanwhile what is heard, a sentence a message")
	f.Var(&o.buffer, "buffer", "what may wait for the disk, with what is kept beside every character")
	f.Var(&o.maxSize, "max-size", "end when so much was written")
	f.Var(&o.rotateSize, "rotate-size", "begin another file when one has this `SIZE`")
	f.Var(&o.rotateEvery, "rotate-every", "begin another file every `DURATION`")
	return cmd
}

// oneFile wants the file that is to be written.
func oneFile(cmd *cobra.Command, args []string) error {
	if len(args) != 1 {
		return usagef("%s takes one file, got %d", cmd.Name(), len(args))
	}
	return nil
}

func (o *recordOptions) check(cmd *cobra.Command) error {
	if err := o.wireFlags.check(cmd); err != nil {
		return err
	}
	if err := oneAtMost(cmd, "between", "pty", "listen"); err != nil {
		return err
	}
	_, real := o.real()
	switch {
	case !real:
		return fmt.Errorf("record wants a port to listen at: %s", flagList(cmd, "or", "port", "tcp", "rfc2217"))
	case o.file == "":
		return errors.New("record wants the name of a file, got none")
	case o.between != "" && o.between == o.port+o.tcp+o.rfc2217:
		return fmt.Errorf("%s cannot be both ends: --between wants another port", o.between)
	}
	return checkNotEmpty(cmd, "between")
}

// bridges reports whether it stands between two ends.
func (o *recordOptions) bridges() bool { return o.between+o.pty+o.listen != "" }
