package main

import (
	"errors"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"looptone/cmd/looptone/report"
)

// reportFlag is where a report goes, beside what a command shows.
type reportFlag struct{ report string }

func (r *reportFlag) add(cmd *cobra.Command, of string) {
	cmd.Flags().StringVar(&r.report, "report", "", "also write a page about "+of+", one file that opens in any browser, to `FILE.html`")
	if err := cmd.MarkFlagFilename("report", "html", "htm"); err != nil {
		panic(err) // the flag was just defined
	}
}

func (r *reportFlag) check(cmd *cobra.Command) error {
	if r.report == "-" {
		return errors.New("--report wants a file, for instance report.html, got -")
	}
	return checkNotEmpty(cmd, "report")
}

// create begins the report, if one is wanted; nil where none is. What is read must not be
// written over. From then on whoever reads what is shown may go: the report is written
// all the same.
func (r *reportFlag) create(read ...string) (*report.File, error) {
	if r.report == "" {
		return nil, nil
	}
	for _, other := range read {
		if err := refuseSameFile("--report", r.report, "a file that is read", other); err != nil {
			return nil, err
		}
	}
	signal.Ignore(syscall.SIGPIPE)
	return report.Create(r.report)
}

// unread is an error of showing, but where a report is written it is none that nobody
// reads what is shown any more.
func (r *reportFlag) unread(err error) error {
	if r.report == "" {
		return err
	}
	return unless(err, syscall.EPIPE)
}
