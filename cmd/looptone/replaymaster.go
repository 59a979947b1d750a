package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/sim/replay"
)

type replayMasterOptions struct {
	hostFlags
	recordingFlags
	demo    bool
	yes     bool
	writes  bool
	compare string
	retries int
	json    bool
}

func newReplayMaster() *cobra.Command {
	var o replayMasterOptions
	cmd := &cobra.Command{
		Use:   "master FILE...",
		Short: "ask devices again what was asked, and compare the answers",
		Long: `Replay master sends the recorded requests in their order, each when it is its turn as
a master, and compares the replies with the recorded ones: address, response, device
status, and the data byte by byte, or with "--compare fields" value by value. Where a
request was unanswered, nobody may answer now. Any difference is exit code 3.

Cold start, configuration changed and more status available tell what a device has been
through, and not what it answers: they are named where they differ, and are no
difference. Where the recording does not have the answer there is nothing to compare.

Commands that write are left out, and so are those that nothing is known of, unless
--writes says so: on the demonstration line with --demo, to a real device only behind a
question, which --yes answers.`,
		Example: "  looptone replay master trace.txt --port /dev/ttyUSB0\n  looptone replay master trace.txt --line plant.toml --compare fields",
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := o.check(cmd, args); err != nil {
				return usageError{err}
			}
			return o.run(cmd.Context(), cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	o.hostFlags.add(cmd)
	o.recordingFlags.add(cmd)
	f := cmd.Flags()
	f.BoolVar(&o.demo, "demo", false, "on the built-in demonstration line, writes too")
	f.BoolVar(&o.writes, "writes", false, "send commands that write too")
	f.BoolVar(&o.yes, "yes", false, "write without asking")
	f.StringVar(&o.compare, "compare", "bytes", "compare the data of replies as bytes or fields")
	f.IntVar(&o.retries, "retries", 2, "how often to ask again where a reply was recorded and none could be read")
	f.BoolVar(&o.json, "json", false, "one JSON object a request, and one for all")
	choices(cmd, "compare", "bytes", "fields")
	return cmd
}

func (o *replayMasterOptions) check(cmd *cobra.Command, files []string) error {
	if err := o.hostFlags.check(cmd); err != nil {
		return err
	}
	_, real := o.real()
	switch {
	case o.compare != "bytes" && o.compare != "fields":
		return fmt.Errorf("--compare takes bytes or fields, got %q", o.compare)
	case o.demo && (real || o.line != ""):
		return errors.New("--demo is the demonstration line, without --port, --tcp and --line")
	case o.writes && !real && o.line == "" && !o.demo:
		return errors.New("--writes changes devices: say --demo for the demonstration line, or --port, --tcp or --line")
	case o.writes && real && !o.yes && slices.Contains(files, "-"):
		return errQuestionOnStdin
	}
	if err := checkRanges(cmd, []limit{{"retries", o.retries, 100}}); err != nil {
		return err
	}
	return o.recordingFlags.check(files)
}

func (o *replayMasterOptions) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	recording, _, err := o.read(ctx, stdin, stdout, stderr)
	if err != nil {
		return err
	}
	if err := o.allow(recording, stdin, stderr); err != nil {
		return err
	}
	h, err := o.open(ctx, stderr)
	if err != nil {
		return err
	}
	defer h.Close()
	c := &comparing{replayMasterOptions: o, recording: recording, stdout: stdout}
	c.rerun = replay.Rerun{Recording: recording, Writes: o.writes, Retries: o.retries, Fields: o.compare == "fields", Tell: c.tell}
	took, err := h.work(ctx, c.rerun.Run)
	if err == nil {
		err = c.writeErr
	}
	if err != nil {
		return err
	}
	fmt.Fprintln(stderr, took)
	return c.end()
}

// allow lets writes through only when they were meant.
func (o *replayMasterOptions) allow(r *replay.Recording, stdin io.Reader, stderr io.Writer) error {
	writes := 0
	for i := range r.Transactions {
		if r.Transactions[i].Writes() {
			writes++
		}
	}
	if _, real := o.real(); !real || !o.writes || writes == 0 {
		return nil
	}
	fmt.Fprintln(stderr, writeCaution)
	return confirm(o.yes, fmt.Sprintf("send %s that may write?", count(writes, "request", "requests")), stdin, stderr)
}

// comparing is a rerun that is under way.
type comparing struct {
	*replayMasterOptions
	recording *replay.Recording
	rerun     replay.Rerun
	stdout    io.Writer
	writeErr  error
	objects   view.JSON
}

func (c *comparing) tell(x *replay.Comparison) {
	device := c.recording.Name(x.Was.Request.Address)
	if c.json {
		c.write(string(c.objects.AppendComparison(nil, x, device)))
		return
	}
	c.write(view.ComparisonSentence(x, device))
}

func (c *comparing) write(line string) {
	if _, err := io.WriteString(c.stdout, line+"\n"); err != nil && c.writeErr == nil {
		c.writeErr = err
	}
}

// end says what all came to.
func (c *comparing) end() error {
	if c.json {
		c.write(string(view.AppendRerun(nil, &c.rerun)))
	} else {
		c.write(view.RerunSummary(&c.rerun))
	}
	switch {
	case c.writeErr != nil:
		return c.writeErr
	case c.rerun.Replies == 0 && c.rerun.Verdicts[replay.Missing] > 0:
		return errNobody
	case !c.rerun.InOrder():
		return errNotInOrder
	}
	return nil
}
