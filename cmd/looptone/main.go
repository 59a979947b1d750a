// Looptone stands in for whatever is missing on a two-wire 4-20 mA loop with
// HART-style messages, and explains every byte that passes.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// run is the program without its process. SIGINT and SIGTERM end what is going
// on, a second one ends the process, and so does the loss of the terminal unless
// the program was started to outlive it.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	ctx, stop := signal.NotifyContext(context.Background(), signals...)
	defer stop()
	context.AfterFunc(ctx, stop)
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	cmd, err := root.ExecuteContextC(ctx)
	return exitCode(err, cmd.CommandPath(), stderr)
}
