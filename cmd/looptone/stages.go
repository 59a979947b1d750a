package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/sim/linefile"
	"looptone/sim/transmitter"
)

type stagesOptions struct {
	file string
	demo bool
	json bool
}

func newListStages() *cobra.Command {
	var o stagesOptions
	cmd := &cobra.Command{
		Use:   "stages [LINE.toml]",
		Short: "stages between sensor and loop current; with a line, those of its devices",
		Long: `Stages lists the stages that stand between the sensor and the loop current of a
transmitter, in their usual order. Of the line that LINE.toml describes, or of the
demonstration line with --demo, it lists what can be read behind each device's
stages and in which unit, as sim --values shows it; and how exact a table is that
was made for a vessel.`,
		Example: "  looptone list stages\n  looptone list stages --demo\n  looptone list stages plant.toml --json",
		Args:    oneFileAtMost,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				o.file = args[0]
			}
			if o.demo && o.file != "" {
				return usageError{errors.New("--demo is the demonstration line, without a file")}
			}
			return o.run(cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f := cmd.Flags()
	f.BoolVar(&o.demo, "demo", false, "those of the built-in demonstration line")
	f.BoolVar(&o.json, "json", false, "one JSON object a stage, or a device")
	return cmd
}

func (o *stagesOptions) run(stdout, stderr io.Writer) error {
	if !o.demo && o.file == "" {
		return o.show(stdout, listStages, appendStages)
	}
	d, name, err := describe(o.file)
	if err != nil {
		return err
	}
	paths, err := pathsOf(d)
	if err != nil {
		return err
	}
	fmt.Fprintln(stderr, name)
	return o.show(stdout, paths.list, paths.append)
}

// show shows a list as a table or as JSON lines.
func (o *stagesOptions) show(stdout io.Writer, table func(io.Writer), lines func(dst []byte) []byte) error {
	if !o.json {
		return tabulate(stdout, table)
	}
	_, err := stdout.Write(lines(nil))
	return err
}

func listStages(w io.Writer) {
	for _, s := range transmitter.StageList() {
		fmt.Fprintf(w, "%s\t%s\t%s\n", s.Name, s.Unit, s.What)
	}
}

func appendStages(dst []byte) []byte {
	for _, s := range transmitter.StageList() {
		dst = append(view.AppendStage(dst, &s), '\n')
	}
	return dst
}

// paths are the ways through the devices of a line, in its order.
type paths []devicePath

// A devicePath is the way through a device.
type devicePath struct {
	tag       string
	outputs   []transmitter.Output
	strapping *view.Strapping // of a table that was made for a vessel
}

func pathsOf(d *linefile.Description) (list paths, err error) {
	a, err := d.Assemble(nil, nil)
	if err != nil {
		return nil, err
	}
	for _, dev := range a.Devices {
		p := devicePath{tag: dev.Config().Tag, outputs: dev.Transmitter().Outputs()}
		if vessel, ok := d.Vessels[p.tag]; ok {
			table := dev.Transmitter().Config().Table
			p.strapping = &view.Strapping{Vessel: vessel.String(), Points: len(table),
				WorstPercent: transmitter.StrappingError(table, vessel)}
		}
		list = append(list, p)
	}
	return list, nil
}

func (list paths) list(w io.Writer) {
	for i := range list {
		p := &list[i]
		fmt.Fprintln(w, p.tag)
		for _, out := range p.outputs {
			fmt.Fprintf(w, "  %s\t%v", out.Name, out.Unit)
			if s := p.strapping; s != nil && out.Name == "table" {
				fmt.Fprintf(w, "\t%s in %d points, between them off by %.2g %% of the volume at most", s.Vessel, s.Points, s.WorstPercent)
			}
			fmt.Fprintln(w)
		}
	}
}

func (list paths) append(dst []byte) []byte {
	for i := range list {
		p := &list[i]
		dst = append(view.AppendPath(dst, p.tag, p.outputs, p.strapping), '\n')
	}
	return dst
}
