package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/serialio"
)

// Cautions for whoever connects a modem. Source: common practice.
const portCaution = `caution: opening a serial port can key a modem and put a carrier on a live loop,
  which may drive a process. Put the control loop in manual first; follow the
  site's permit, the area classification, local codes and licensed practice.`

// wireFlags choose what a command talks to.
type wireFlags struct {
	port, tcp, rfc2217, line string

	baud   int
	parity string
	modemFlags
}

func (w *wireFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	w.addPort(cmd)
	f.StringVar(&w.port, "port", "", "serial port or pty `NAME`")
	f.StringVar(&w.tcp, "tcp", "", "raw TCP `HOST:PORT`")
	f.StringVar(&w.line, "line", "", "simulate the line that `FILE` describes")
}

// check refuses more than one thing to talk to, and what does not go with it.
func (w *wireFlags) check(cmd *cobra.Command) error {
	if err := oneAtMost(cmd, "port", "tcp", "rfc2217", "line"); err != nil {
		return err
	}
	for _, name := range [...]string{"baud", "parity", "rts", "rts-hold", "dtr", "invert", "carrier"} {
		if cmd.Flags().Changed(name) && w.port == "" && w.rfc2217 == "" {
			return fmt.Errorf("--%s goes with --port or --rfc2217", name)
		}
	}
	if _, real := w.real(); w.echo && !real {
		return fmt.Errorf("--echo goes with %s", flagList(cmd, "or", "port", "tcp", "rfc2217"))
	}
	if err := w.modemFlags.check(cmd); err != nil {
		return err
	}
	return checkNotEmpty(cmd, "port", "tcp", "rfc2217", "line", "pty", "listen")
}

// oneAtMost refuses more than one of some flags.
func oneAtMost(cmd *cobra.Command, names ...string) error {
	given := 0
	for _, name := range names {
		if f := cmd.Flags().Lookup(name); f != nil && f.Changed {
			given++
		}
	}
	if given > 1 {
		return fmt.Errorf("one of %s, not more", flagList(cmd, "and", names...))
	}
	return nil
}

// flagList lists those of the flags that a command has.
func flagList(cmd *cobra.Command, word string, names ...string) string {
	var has []string
	for _, name := range names {
		if cmd.Flags().Lookup(name) != nil {
			has = append(has, "--"+name)
		}
	}
	last := len(has) - 1
	if last == 0 {
		return has[0]
	}
	return strings.Join(has[:last], ", ") + " " + word + " " + has[last]
}

// checkNotEmpty refuses flags that were given with nothing in them, as by a
// script whose variable is not set.
func checkNotEmpty(cmd *cobra.Command, names ...string) error {
	for _, name := range names {
		if f := cmd.Flags().Lookup(name); f != nil && f.Changed && f.Value.String() == "" {
			return fmt.Errorf("--%s is empty", name)
		}
	}
	return nil
}

// addPort adds a device server, whose port can be set, and what only such a port or
// a serial port of this machine needs.
func (w *wireFlags) addPort(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&w.rfc2217, "rfc2217", "", "serial port of a device server, by RFC 2217, at `HOST:PORT`")
	f.IntVar(&w.baud, "baud", serialio.BitRate, "bit/s of the serial port")
	f.StringVar(&w.parity, "parity", "odd", "odd, even or none")
	choices(cmd, "parity", "odd", "even", "none")
	w.modemFlags.add(cmd)
}

// real reports whether a wire outside is meant, and its name.
func (w *wireFlags) real() (name string, ok bool) {
	name = w.port + w.tcp + w.rfc2217 // of which one is given
	return name, name != ""
}

// open opens the wire that is meant.
func (w *wireFlags) open(ctx context.Context, stderr io.Writer) (*serialio.Port, error) {
	if w.tcp != "" {
		return serialio.Dial(ctx, w.tcp, serialio.Settings{Modem: serialio.Modem{Echo: w.echo}})
	}
	settings, err := w.settings()
	if err != nil {
		return nil, err
	}
	if w.rfc2217 != "" || serialio.MayKey(w.port) {
		fmt.Fprintln(stderr, portCaution)
	}
	if w.rfc2217 != "" {
		return serialio.DialRFC2217(ctx, w.rfc2217, settings)
	}
	return serialio.Open(w.port, settings)
}

func (w *wireFlags) settings() (serialio.Settings, error) {
	parities := map[string]serialio.Parity{"odd": serialio.Odd, "even": serialio.Even, "none": serialio.NoParity}
	parity, ok := parities[w.parity]
	if !ok {
		return serialio.Settings{}, usagef("--parity takes odd, even or none, got %q", w.parity)
	}
	if w.baud <= 0 {
		return serialio.Settings{}, usagef("--baud %d is out of range, want at least 1", w.baud)
	}
	return serialio.Settings{Baud: w.baud, Parity: parity, Modem: w.modem()}, nil
}

// ended is why a wire that was in use ended.
func ended(p *serialio.Port) error {
	if err := p.Err(); err != nil {
		return err
	}
	return errors.New(p.Name() + " ended")
}
