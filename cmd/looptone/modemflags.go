package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"looptone/serialio"
)

// modemFlags say what stands behind a port, and how it is keyed. What is usual is a
// half-duplex modem, which must not send while nothing is said: with RTS always on it
// would hold its carrier on the loop, and nobody else could talk. Where there is no
// modem, nobody looks at RTS.
type modemFlags struct {
	rts, dtr, carrier string
	invert            []string
	hold              spanFlag
	echo              bool
}

// longestHold is how long RTS may stay on behind a message: longer than a device takes
// to answer, so that more is a mistake.
const longestHold = time.Second

// modemLines are the words for them.
var modemLines = map[string]serialio.Lines{
	"rts": serialio.RTS, "dtr": serialio.DTR,
	"dcd": serialio.DCD, "cts": serialio.CTS, "dsr": serialio.DSR, "ri": serialio.RI,
}

func (m *modemFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	m.hold = spanFlag{span: 10 * time.Millisecond, most: longestHold} // a character at 1200 bit/s
	f.StringVar(&m.rts, "rts", "key", "RTS: key (on while something is sent), on or off")
	f.Var(&m.hold, "rts-hold", "how long RTS stays on behind the last character")
	f.StringVar(&m.dtr, "dtr", "on", "DTR: on or off")
	f.StringSliceVar(&m.invert, "invert", nil, "modem `LINES` that are on when they are low, of rts,dtr,dcd,cts,dsr,ri")
	f.StringVar(&m.carrier, "carrier", "none", "modem line that tells of a carrier: dcd, cts, dsr, ri or none; what comes without one is dropped")
	f.BoolVar(&m.echo, "echo", false, "what is sent comes back: compare it, and do not take it for a message")
	choices(cmd, "rts", "key", "on", "off")
	choices(cmd, "dtr", "on", "off")
	choices(cmd, "invert", "rts", "dtr", "dcd", "cts", "dsr", "ri")
	choices(cmd, "carrier", "dcd", "cts", "dsr", "ri", "none")
}

func (m *modemFlags) check(cmd *cobra.Command) error {
	if err := oneOf("rts", m.rts, "key", "on", "off"); err != nil {
		return err
	}
	if err := oneOf("dtr", m.dtr, "on", "off"); err != nil {
		return err
	}
	if err := oneOf("carrier", m.carrier, "dcd", "cts", "dsr", "ri", "none"); err != nil {
		return err
	}
	for _, line := range m.invert {
		if modemLines[line] == 0 {
			return fmt.Errorf("--invert takes rts, dtr, dcd, cts, dsr and ri, with commas between them, got %q", line)
		}
	}
	if cmd.Flags().Changed("rts-hold") && m.rts != "key" {
		return fmt.Errorf("--rts-hold goes with --rts key, got --rts %s", m.rts)
	}
	return nil
}

// oneOf refuses what is none of the words that a flag takes.
func oneOf(flag, got string, words ...string) error {
	if slices.Contains(words, got) {
		return nil
	}
	last := len(words) - 1
	return fmt.Errorf("--%s takes %s or %s, got %q", flag, strings.Join(words[:last], ", "), words[last], got)
}

// modem is what the flags describe, which check has passed.
func (m *modemFlags) modem() serialio.Modem {
	keying := map[string]serialio.Keying{"key": serialio.RTSKeys, "on": serialio.RTSOn, "off": serialio.RTSOff}
	modem := serialio.Modem{RTS: keying[m.rts], DTROff: m.dtr == "off", Carrier: modemLines[m.carrier], Echo: m.echo}
	for _, line := range m.invert {
		modem.Invert |= modemLines[line]
	}
	if m.rts == "key" {
		modem.Hold = m.hold.span
	}
	return modem
}
