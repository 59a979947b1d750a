package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"looptone/serialio"
)

// Cautions for whoever connects a modem. Source: common practice.
const portCaution = `caution: opening a serial port can key a modem and put a carrier on a live loop,
  which may drive a process. Put the control loop in manual first; follow the
  site's permit, the area classification, local codes and licensed practice.`

// wireFlags choose what a command talks to.
type wireFlags struct {
	port, tcp, line string
	baud            int
	parity          string
}

func (w *wireFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&w.port, "port", "", "serial port or pty `NAME`")
	f.StringVar(&w.tcp, "tcp", "", "raw TCP `HOST:PORT`")
	f.StringVar(&w.line, "line", "", "simulate the line that `FILE` describes")
	w.addPort(cmd)
}

// check refuses more than one thing to talk to, and what does not go with it.
func (w *wireFlags) check(cmd *cobra.Command) error {
	given := 0
	for _, name := range [...]string{"port", "tcp", "line"} {
		if f := cmd.Flags().Lookup(name); f != nil && f.Changed {
			given++
		}
	}
	if given > 1 {
		return errors.New("one of --port, --tcp and --line, not more")
	}
	for _, name := range [...]string{"baud", "parity"} {
		if cmd.Flags().Changed(name) && w.port == "" {
			return fmt.Errorf("--%s goes with --port", name)
		}
	}
	return checkNotEmpty(cmd, "port", "tcp", "line", "pty", "listen")
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

// addPort adds what only a serial port needs.
func (w *wireFlags) addPort(cmd *cobra.Command) {
	f := cmd.Flags()
	f.IntVar(&w.baud, "baud", serialio.BitRate, "bit/s of the serial port")
	f.StringVar(&w.parity, "parity", "odd", "odd, even or none")
	choices(cmd, "parity", "odd", "even", "none")
}

// real reports whether a wire outside is meant, and its name.
func (w *wireFlags) real() (name string, ok bool) {
	return w.port + w.tcp, w.port+w.tcp != ""
}

// open opens the wire that is meant.
func (w *wireFlags) open(ctx context.Context, stderr io.Writer) (*serialio.Port, error) {
	if w.tcp != "" {
		return serialio.Dial(ctx, w.tcp)
	}
	settings, err := w.settings()
	if err != nil {
		return nil, err
	}
	if serialio.MayKey(w.port) {
		fmt.Fprintln(stderr, portCaution)
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
	return serialio.Settings{Baud: w.baud, Parity: parity}, nil
}

// ended is why a wire that was in use ended.
func ended(p *serialio.Port) error {
	if err := p.Err(); err != nil {
		return err
	}
	return errors.New(p.Name() + " ended")
}
