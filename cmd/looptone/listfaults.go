package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/view"
	"looptone/sim/fault"
)

func newListFaults() *cobra.Command {
	return &cobra.Command{
		Use:   "faults",
		Short: "what can be made wrong on a simulated line, and what a host sees of it",
		Long: `Faults lists what can be made wrong on a simulated line: by [[fault]] in a line
file, by sim --fault, or while the line runs by sim --control. Each has a sentence
about what happens on the wires, what it strikes, its settings with their range and
what is usual, and what of it a host behind a pty or TCP can see.`,
		Example: "  looptone list faults\n  looptone sim --pty loop --fault \"late reply, device=LT-103, delay_chars=30\"",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), faultList(fault.Kinds()))
			return err
		},
	}
}

func faultList(kinds []fault.Kind) string {
	var b strings.Builder
	b.WriteString(view.Paragraph(0, 0, "A fault is given to a device by its tag, or to a talker: "+strings.Join(fault.Talkers(), ", ")+
		" (everybody outside) or a tag. Each takes from and until, times of the line, and name, by which it is removed. "+
		"What strikes now and then also takes probability, which is 1 where none is given, and count, without limit."))
	for i := range kinds {
		b.WriteString("\n")
		listFault(&b, &kinds[i])
	}
	return b.String()
}

func listFault(b *strings.Builder, k *fault.Kind) {
	fmt.Fprintf(b, "%s\n", k.Name)
	b.WriteString(view.Paragraph(2, 0, k.What))
	b.WriteString(view.Paragraph(2, 0, strikes(k)))
	for i := range k.Settings {
		b.WriteString(view.Paragraph(2, 2, settingText(&k.Settings[i])))
	}
	if k.Other != "" {
		b.WriteString(view.Paragraph(2, 2, fmt.Sprintf("%s, %s: %s", k.OtherKey, otherwise(k.NoOther), k.Other)))
	}
	b.WriteString(view.Paragraph(2, 0, k.Crosses))
}

// otherwise says what holds where a key is not given.
func otherwise(what string) string {
	if what == "" {
		return "needed"
	}
	return "else " + what
}

// strikes says what a fault is given to, and whether it is there all the time.
func strikes(k *fault.Kind) string {
	whom := map[string]string{"device": "a device", "talker": "a device, a talker, or whoever talks", "line": "the line"}[k.Strikes]
	if k.Lasts {
		return "strikes: " + whom + ", all the time"
	}
	return "strikes: " + whom
}

// settingText is a number with its range and what it is where none is given.
func settingText(s *fault.Setting) string {
	kind, usual := "", fmt.Sprint(s.Usual)
	if s.Whole {
		kind = " whole"
	}
	if s.Needed {
		usual = ""
	}
	return fmt.Sprintf("%s,%s %v to %v, %s: %s", s.Name, kind, s.Least, s.Most, otherwise(usual), s.What)
}
