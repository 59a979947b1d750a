package main

import (
	"cmp"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/serialio/fsk"
)

type encodeOptions struct {
	kind      string
	command   int
	polling   int
	unique    string
	broadcast bool
	secondary bool
	burst     bool
	preambles int
	revision  int
	response  int
	status    int
	data      string
	expansion string
	raw       bool
	explain   bool
	json      bool
	commands  []string
	fields    []string
	wav       waveFlags
	tones     tonesFlag

	book *payload.Book
}

func newEncode() *cobra.Command {
	o := encodeOptions{tones: tonesFlag{gaps: true}}
	cmd := &cobra.Command{
		Use:   "encode [FIELD=CONTENT...]",
		Short: "one frame from its fields",
		Long: `Encode builds one frame from its fields. Data are given as FIELD=CONTENT, in
the fields of the command (underscores stand for blanks), or as hex by --data.

With --wav it also writes the frame as a waveform, in volts: tones of 1200 and 2200 Hz,
with a tenth of a second without carrier before and behind.
` + tonesHelp + `
  gap_ms, gap_before     the carrier stays at mark so long before a character, which is
                counted from 0, preambles too

` + waveCaution,
		Example: "  looptone encode --command 1 --polling 0\n  looptone encode --command 6 --unique 26ad0c0102 polling_address=5 loop_current_mode=enabled --explain\n  looptone encode --command 3 --polling 0 --wav ask.wav --tones \"amplitude_v=0.12, ebn0_db=14, hum_v=0.2\"",
		RunE: func(cmd *cobra.Command, args []string) error {
			o.fields = args
			if err := o.check(cmd); err != nil {
				return usageError{err}
			}
			return o.run(cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.kind, "kind", "STX", "STX (request), ACK (reply) or BACK (burst)")
	choices(cmd, "kind", "STX", "ACK", "BACK")
	f.IntVar(&o.command, "command", -1, "command number, 0 to 65535")
	f.IntVar(&o.polling, "polling", -1, "polling address, 0 to 63")
	f.StringVar(&o.unique, "unique", "", "unique address, 10 hex digits")
	f.BoolVar(&o.broadcast, "broadcast", false, "address all devices")
	f.BoolVar(&o.secondary, "secondary", false, "of, or to, the secondary master")
	f.BoolVar(&o.burst, "burst-mode", false, "the device is in burst mode")
	f.IntVar(&o.preambles, "preambles", 5, "FF characters in front, 0 to 255")
	f.IntVar(&o.revision, "revision", payload.NewestRevision, "universal revision whose fields are meant")
	f.IntVar(&o.response, "response", 0, "first status byte of a reply, 0 to 255")
	f.IntVar(&o.status, "device-status", 0, "second status byte of a reply, 0 to 255")
	f.StringArrayVar(&o.commands, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
	f.StringVar(&o.data, "data", "", "data as hex, instead of fields")
	f.StringVar(&o.expansion, "expansion", "", "expansion bytes as hex, up to 3")
	f.BoolVar(&o.raw, "raw", false, "write the bytes themselves, not hex")
	f.BoolVar(&o.explain, "explain", false, "take the frame apart, byte by byte")
	f.BoolVar(&o.json, "json", false, "write the frame as decode --json does")
	o.wav.add(cmd, "the frame as a waveform", usualToneScale)
	o.tones.add(cmd)
	return cmd
}

// check refuses what is missing, too large, or contradicts itself.
func (o *encodeOptions) check(cmd *cobra.Command) error {
	addresses := 0
	for _, name := range [...]string{"polling", "unique", "broadcast"} {
		if cmd.Flags().Changed(name) {
			addresses++
		}
	}
	switch {
	case !cmd.Flags().Changed("command"):
		return errors.New("encode wants a command: --command 0 to 65535")
	case addresses != 1:
		return fmt.Errorf("encode wants one address, got %d: --polling, --unique or --broadcast", addresses)
	case o.revision < 5 || o.revision > payload.NewestRevision:
		return fmt.Errorf("--revision %d is out of range, want 5 to %d", o.revision, payload.NewestRevision)
	case o.revision == 5 && o.polling > frame.MaxPolling5:
		return fmt.Errorf("--polling %d is out of range, want 0 to %d in revision 5", o.polling, frame.MaxPolling5)
	case o.data != "" && len(o.fields) > 0:
		return errors.New("encode takes --data or fields, not both")
	case o.command == frame.ExtendedCommand && len(o.data) < 4:
		return errors.New("command 31 leads the number of an extended command: give that number, 256 to 65535")
	case strings.EqualFold(o.kind, "STX") && (cmd.Flags().Changed("response") || cmd.Flags().Changed("device-status")):
		return errors.New("--response and --device-status go with --kind ACK or BACK")
	case o.raw && (o.explain || o.json) || o.explain && o.json:
		return errors.New("encode takes one of --raw, --explain and --json")
	}
	if err := cmp.Or(o.wav.check(cmd), o.tones.check(cmd, o.wav.file != "")); err != nil {
		return err
	}
	return checkRanges(cmd, []limit{
		{"command", o.command, 65535}, {"polling", o.polling, frame.MaxPolling}, {"preambles", o.preambles, 255},
		{"response", o.response, 255}, {"device-status", o.status, 255},
	})
}

// limit is a flag with a number and the largest that makes sense.
type limit struct {
	flag      string
	got, most int
}

func checkRanges(cmd *cobra.Command, limits []limit) error {
	for _, l := range limits {
		if cmd.Flags().Changed(l.flag) && (l.got < 0 || l.got > l.most) {
			return fmt.Errorf("--%s %d is out of range, want 0 to %d", l.flag, l.got, l.most)
		}
	}
	return nil
}

func (o *encodeOptions) run(stdout, stderr io.Writer) (err error) {
	if o.book, err = readCommands(o.commands); err != nil {
		return err
	}
	f, err := o.frame()
	if err != nil {
		return usageError{err}
	}
	chars := frame.AppendPreambles(nil, o.preambles)
	if chars, err = f.AppendBinary(chars); err != nil {
		return usageError{err}
	}
	if o.wav.file != "" {
		if err := o.sound(chars, stderr); err != nil {
			return err
		}
	}
	switch {
	case o.raw:
		_, err = stdout.Write(chars)
	case o.explain, o.json:
		err = o.show(stdout, chars)
	default:
		_, err = fmt.Fprintf(stdout, "% x\n", chars)
	}
	return err
}

// sound writes the frame as a waveform.
func (o *encodeOptions) sound(chars []byte, stderr io.Writer) error {
	t, err := o.tones.read(o.wav.rate)
	if err != nil {
		return usageError{err}
	}
	if t.gap.For > 0 && t.gap.Before >= len(chars) {
		return usagef("--tones has gap_before=%d, and the frame has %d characters: want 1 to %d", t.gap.Before, len(chars), len(chars)-1)
	}
	for _, file := range o.commands {
		if err := refuseSameFile("--wav", o.wav.file, "a file of --commands", file); err != nil {
			return err
		}
	}
	out, err := newToneWriter(&o.wav, t)
	if err != nil {
		return err
	}
	c := out.carrier(silence)
	c.Chars = chars
	if t.gap.For > 0 {
		c.Pauses = []fsk.Pause{t.gap}
	}
	return cmp.Or(out.send(c), out.close(stderr))
}

// show decodes what was built, so that one code says what bytes mean.
func (o *encodeOptions) show(stdout io.Writer, chars []byte) error {
	d := frame.Decoder{Bare: true}
	d.Feed(chars, nil)
	d.End()
	var ev frame.Event
	var t exchange.Tracker
	if !d.Next(&ev) || ev.Outcome != frame.Whole {
		return fmt.Errorf("a frame behind %d preambles and nothing else: %w", o.preambles, ev.Err)
	}
	t.Book = o.book
	t.Follow(0, &ev, exchange.Span{})
	var m exchange.Message
	t.Next(&m)
	if o.json {
		_, err := stdout.Write(append(new(view.JSON).Append(nil, &m, nil), '\n'))
		return err
	}
	_, err := fmt.Fprintf(stdout, "% x\n%s\n%s", chars, view.Sentence(&m), view.Explain(&m))
	return err
}

func (o *encodeOptions) frame() (*frame.Frame, error) {
	f := &frame.Frame{Primary: !o.secondary, Burst: o.burst}
	kinds := map[string]frame.Kind{"STX": frame.STX, "ACK": frame.ACK, "BACK": frame.BACK}
	var known bool
	if f.Kind, known = kinds[strings.ToUpper(o.kind)]; !known {
		return nil, fmt.Errorf("--kind takes STX, ACK or BACK, got %q", o.kind)
	}
	var err error
	if f.Address, err = o.address(); err != nil {
		return nil, err
	}
	if f.Expansion, err = hexFlag("expansion", o.expansion); err != nil {
		return nil, err
	}
	f.Status = frame.Status{Response: frame.Response(o.response), Device: frame.DeviceStatus(o.status)}
	data, err := o.content(f.Kind, f.Address)
	if err != nil {
		return nil, err
	}
	f.SetNumber(uint16(o.command), data)
	return f, nil
}

func (o *encodeOptions) address() (frame.Address, error) {
	switch {
	case o.broadcast:
		return frame.Broadcast, nil
	case o.unique != "":
		return frame.ParseUnique(o.unique)
	}
	return frame.Polling(uint8(o.polling)), nil
}

// content is the data, from hex or from fields.
func (o *encodeOptions) content(kind frame.Kind, to frame.Address) ([]byte, error) {
	if o.data != "" {
		return hexFlag("data", o.data)
	}
	code, ok := frame.Response(o.response).Code()
	if kind.FromSlave() && len(o.fields) == 0 && (!ok || !payload.Executed(code)) {
		return nil, nil // such a reply carries no data
	}
	def, _ := o.book.Lookup(uint16(o.command), payload.DeviceTypeOf(to))
	return encodeFields(def, uint16(o.command), kind, uint8(o.revision), o.fields)
}

func hexFlag(flag, text string) ([]byte, error) {
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		return nil, fmt.Errorf("--%s %q is no hex: want pairs of hex digits", flag, text)
	}
	return b, nil
}
