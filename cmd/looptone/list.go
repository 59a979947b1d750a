package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim/linefile"
)

func newList() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "list commands|units|codes|faults|stages|ports|example",
		Short: "the tables: commands, engineering units, codes and their meaning, faults, stages, serial ports; a line file to begin with",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("there is no list of %q: want commands, units, codes, faults, stages, ports or example", args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			return usagef("list wants one of commands, units, codes, faults, stages, ports and example")
		},
	}
	cmd.AddCommand(newListCommands(), listOf("units", "engineering units by quantity", listUnits), listOf("codes", "code tables", listCodes),
		newListFaults(), newListStages(), newListPorts(), newListExample())
	return cmd
}

func listOf(name, short string, list func(io.Writer)) *cobra.Command {
	return &cobra.Command{
		Use: name, Short: short, Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return tabulate(cmd.OutOrStdout(), list)
		},
	}
}

// tabulate aligns what list writes, and is the first error of writing it.
func tabulate(out io.Writer, list func(io.Writer)) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	list(w)
	return w.Flush()
}

func newListCommands() *cobra.Command {
	var files []string
	cmd := &cobra.Command{
		Use: "commands", Short: "commands and the fields of their data; with --commands, checks a file", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			book, err := readCommands(files)
			if err != nil {
				return err
			}
			return tabulate(cmd.OutOrStdout(), func(w io.Writer) { listCommands(w, book) })
		},
	}
	cmd.Flags().StringArrayVar(&files, "commands", nil, "definitions of device-specific commands in `FILE.toml` (repeatable)")
	return cmd
}

func listCommands(w io.Writer, book *payload.Book) {
	for _, e := range book.All() {
		whose, writes := "", ""
		if e.User {
			whose = "for " + e.DeviceType.String()
		}
		if e.Write {
			writes = "writes"
		}
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", e.Command, e.Name, writes, whose)
		for _, l := range e.Request {
			listLayout(w, "request", &l)
		}
		for _, l := range e.Reply {
			listLayout(w, "reply", &l)
		}
	}
}

func listLayout(w io.Writer, direction string, l *payload.Layout) {
	parts := []string{fieldNames(l.Head), "", fieldNames(l.Tail)}
	if len(l.Group) > 0 {
		parts[1] = fmt.Sprintf("%d to %d times (%s)", l.Min, l.Max, fieldNames(l.Group))
	}
	var fields []string
	for _, part := range parts {
		if part != "" {
			fields = append(fields, part)
		}
	}
	text := "no data"
	if len(fields) > 0 {
		text = strings.Join(fields, ", ")
	}
	fmt.Fprintf(w, "\t%s, %v: %s\n", direction, l.For, text)
}

func fieldNames(fields []payload.Field) string {
	var names []string
	for i := range fields {
		names = append(names, strings.ReplaceAll(fields[i].Name, " ", "_"))
	}
	return strings.Join(names, ", ")
}

func listUnits(w io.Writer) {
	for _, code := range unit.Codes() {
		fmt.Fprintf(w, "%d\t%v\t%v\t%s\n", code, code, code.Quantity(), memory(code.FromMemory()))
	}
	fmt.Fprintln(w, "with the classification of the variable")
	for _, c := range unit.WithClass() {
		fmt.Fprintf(w, "%d\t%s\tclass %d\t%s\n", c.Code, c.Symbol, c.Class, memory(c.ClassFromMemory))
	}
}

func listCodes(w io.Writer) {
	for _, t := range payload.Tables() {
		fmt.Fprintf(w, "%s\n", t.Name)
		for _, r := range t.Rows {
			code := fmt.Sprint(r.Code)
			if r.Mask != 0 {
				code = fmt.Sprintf("%02x of %02x", r.Code, r.Mask)
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\n", code, r.Text, memory(r.FromMemory))
		}
	}
}

func newListExample() *cobra.Command {
	return &cobra.Command{
		Use:   "example",
		Short: "the line file of the demonstration line, to copy and change",
		Long: `Example prints the file that describes the built-in demonstration line. A copy of
it, changed, is a line of your own: sim runs it, scan and send take it with --line.`,
		Example: "  looptone list example > my.toml\n  looptone sim my.toml --pty loop",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := io.WriteString(cmd.OutOrStdout(), linefile.Example())
			return err
		},
	}
}

// memory says where a row comes from that has no document.
func memory(is bool) string {
	if is {
		return "from memory"
	}
	return ""
}
