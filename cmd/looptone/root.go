package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

const about = `looptone stands in for whatever is missing on a two-wire 4-20 mA loop: the
devices, the host, the whole line, or the traffic of another day; and explains
every byte that passes.

Without --port, --tcp, --rfc2217 or --line, commands work on a built-in demonstration line,
which is simulated and harmless. Results go to stdout, everything else to stderr.

` + exitCodes

// newRoot is the command line.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "looptone",
		Short:         "see, simulate and explain a two-wire loop with digital messages on it",
		Long:          about,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          noCommand,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SuggestionsMinimumDistance = 2
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usagef("%s: %w", cmd.Name(), err)
	})
	root.AddCommand(newScan(), newSim(), newSend(), newPoll(), newBudget(), newDecode(), newRecord(), newReplay(), newCheckModem(), newMeasure(), newEncode(), newList())
	return root
}

// noCommand refuses words that are no command.
func noCommand(root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	hint := "want one of " + strings.Join(names, ", ")
	if near := root.SuggestionsFor(args[0]); len(near) > 0 {
		hint = fmt.Sprintf("did you mean %s?", near[0])
	}
	return usagef("there is no command %q: %s", args[0], hint)
}

// noArgs and oneFileAtMost refuse arguments that a command does not take.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s takes no arguments, got %q", cmd.Name(), args[0])
	}
	return nil
}

func oneFileAtMost(cmd *cobra.Command, args []string) error {
	if len(args) > 1 {
		return usagef("%s takes one file, got %d", cmd.Name(), len(args))
	}
	return nil
}

// choices are the values that completion offers for a flag.
func choices(cmd *cobra.Command, flag string, values ...string) {
	err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(values, cobra.ShellCompDirectiveNoFileComp))
	if err != nil {
		panic(err) // the flag was just defined
	}
}
