package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/sim/loop"
)

type budgetOptions struct {
	file string
	svg  string
	seed seedFlag
	json bool
}

func newBudget() *cobra.Command {
	var o budgetOptions
	cmd := &cobra.Command{
		Use:   "budget [LINE.toml]",
		Short: "will a loop work with this supply, this resistor, this cable?",
		Long: `Budget reckons the loop that LINE.toml describes, or that of the built-in
demonstration line, and holds it against its limits. Nothing is simulated, and
nothing outside is touched.

It says first whether the loop will work, what is wrong and what would mend it. Then
come the voltage at every device, now and when every device draws the most it may;
how many devices there is room for, and which supply is needed; how much of the
tones each device hears, and with how much it is heard; and how long the cable may
be. Now is the moment at which a simulation begins. The most that a device may draw
is what it is parked or held at, else the higher one of its upper saturation limit
and its failure current.

Limits, and where they come from:
  tones at a receiver   120 mV peak to peak are always heard, less than 80 mV never,
                        and what is in between by chance: Texas Instruments
                        application note SLAAER4
  loop resistance       230 to 1100 ohm: Instrumentation Reference Book, 3rd edition
  cable                 R·C of the loop below 65 µs: the manuals that are shown
                        beside it, as is what other published rules allow
  lift-off voltage, supply current
                        as LINE.toml has them; what it has not is not assumed, and
                        that limit is not known
Taken for granted is that nothing has inductance, and that the cable is at 20 °C.

With --svg it also draws the voltage along the line. With "--svg -" the picture is on
stdout, and the text on stderr.

With --json it writes objects, one a line, in this order; what is not known is null:
  the line      line, in_order, supply_v, supply_ohm, supply_ma, resistor_ohm,
                barrier_ohm, series, host_at, host_swapped, cable_m (all segments),
                time_constant_us, sum_ma, worst_sum_ma, source_v and worst_source_v
                (where the cable begins), need_v, most_devices, most_like
  each cable    cable, behind, length_m, ohm_per_km (of one core), nf_per_km, end_v
                and worst_end_v (at its far end)
  each device   device, behind, dark (null, "too low" or "reversed"), terminal_v,
                had_v (when it went dark), worst_terminal_v, lift_off_v,
                loop_current_ma, worst_loop_current_ma, input_nf, hears_v (of the
                host) and heard_v (by the host), both as if it were lit
  each rule     rule, most_m (of cable), binding, formula, source
  each verdict  limit, device, verdict (holds, broken or unknown), got, want, unit,
                says, mend
  at last       assumed, cautions
What begins with worst is at the highest currents; a voltage below 0 stands for
currents that the supply cannot push so far. Behind null is where the cable begins.

The exit code is 3 when a limit is broken.`,
		Example: `  looptone budget
  looptone budget plant.toml
  looptone budget plant.toml --svg plant.svg
  looptone budget plant.toml --json`,
		Args:              oneFileAtMost,
		ValidArgsFunction: cobra.FixedCompletions([]string{"toml"}, cobra.ShellCompDirectiveFilterFileExt),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			if err := o.check(cmd, args); err != nil {
				return usageError{err}
			}
			return o.run(cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.svg, "svg", "", "draw the voltage along the line in `FILE`; - is stdout")
	if err := cmd.MarkFlagFilename("svg", "svg"); err != nil {
		panic(err) // the flag was just defined
	}
	o.seed.add(cmd)
	f.BoolVar(&o.json, "json", false, "JSON objects: the line, each cable, device, rule and verdict")
	return cmd
}

func (o *budgetOptions) check(cmd *cobra.Command, args []string) error {
	switch {
	case len(args) == 1 && o.file == "":
		return errors.New("the name of the line file is empty")
	case o.json && o.svg == "-":
		return errors.New("budget has one stdout: --json or --svg -, not both")
	}
	return checkNotEmpty(cmd, "svg")
}

func (o *budgetOptions) run(stdout, stderr io.Writer) error {
	d, _, err := describe(o.file)
	if err != nil {
		return err
	}
	b, err := d.Budget(o.seed.value)
	if err != nil {
		return err
	}
	if err := o.draw(d.Name, b, stdout); err != nil {
		return err
	}
	said := []byte(view.Budget(d.Name+o.from(), b))
	switch {
	case o.json:
		said = view.AppendBudget(nil, d.Name, b)
	case o.svg == "-":
		stdout = stderr
	}
	if _, err := stdout.Write(said); err != nil {
		return err
	}
	if !b.OK() {
		return errNotInOrder
	}
	return nil
}

// from says where the description comes from.
func (o *budgetOptions) from() string {
	if o.file == "" {
		return ", the demonstration line"
	}
	return ", as " + o.file + " describes it"
}

// draw writes the picture, if one is wanted.
func (o *budgetOptions) draw(name string, b *loop.Budget, stdout io.Writer) error {
	if o.svg == "" {
		return nil
	}
	if err := refuseSameFile("--svg", o.svg, "the line file", o.file); err != nil {
		return err
	}
	return writePicture(o.svg, view.AppendLoopPicture(nil, name, b), stdout)
}
