package main

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"image"
	"image/png"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected outputs in testdata/script")

// TestMain lets the scripts run the program itself, each time as a process of
// its own.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"looptone": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs testdata/script/*.txtar: what a user types and sees.
func TestScripts(t *testing.T) { runScripts(t, "../../testdata/script") }

// TestTimingScripts runs those that join processes in real time.
func TestTimingScripts(t *testing.T) { runScripts(t, "../../testdata/script/live") }

func runScripts(t *testing.T, folder string) {
	testscript.Run(t, testscript.Params{
		Dir:           folder,
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			testdata, err := filepath.Abs("../../testdata")
			env.Setenv("QUILLMERE", filepath.Join(testdata, "captures", "quillmere.txt"))
			env.Setenv("CAPTURES", filepath.Join(testdata, "captures"))
			env.Setenv("LINES", filepath.Join(testdata, "lines"))
			env.Setenv("COMMANDS", filepath.Join(testdata, "commands"))
			// A whole frame, two stray characters behind it, and the end of the input.
			stray := []byte("\xff\xff\x02\x80\x01\x00\x83\x00\x55")
			var picture bytes.Buffer // a file of another program
			err = errors.Join(err, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 8, 8))))
			return errors.Join(err,
				os.WriteFile(filepath.Join(env.WorkDir, "stray.bin"), stray, 0o600),
				os.WriteFile(filepath.Join(env.WorkDir, "picture.png"), picture.Bytes(), 0o600))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":    exits,
			"appears":  appears,
			"freeport": freePort,

			"interrupted": interrupted,
		},
	})
}

// exits runs a program and wants exactly that exit code: exits N program args...
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits N program args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("%s exits with %d, want %d", args[1], got, want)
	}
}

// appears waits for a file or an open TCP port that a program in the background
// makes: appears NAME
func appears(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: appears NAME")
	}
	there := func() bool {
		if _, _, err := net.SplitHostPort(args[0]); err == nil {
			conn, err := net.Dial("tcp", args[0])
			if err == nil {
				conn.Close()
			}
			return err == nil
		}
		_, err := os.Lstat(ts.MkAbs(args[0]))
		return err == nil
	}
	ts.Check(poll(there))
}

// poll asks until the answer is yes, for half a minute at the most.
func poll(ready func() bool) error {
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	defer stop()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for !ready() {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
	}
	return nil
}

// freePort sets a variable to an address that nobody listens on: freeport NAME
func freePort(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: freeport NAME")
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ts.Check(err)
	defer l.Close()
	ts.Setenv(args[0], fmt.Sprint(l.Addr()))
}

// interrupted runs a program that has more than enough to do, interrupts it after
// a moment, and wants exit code 130: interrupted program args...
func interrupted(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: interrupted program args...")
	}
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Dir, cmd.Env = ts.Getenv("WORK"), []string{"PATH=" + ts.Getenv("PATH")}
	stdin, err := cmd.StdinPipe()
	ts.Check(err)
	defer stdin.Close()
	ts.Check(cmd.Start())
	interrupting := time.AfterFunc(300*time.Millisecond, func() { cmd.Process.Signal(os.Interrupt) })
	defer interrupting.Stop()
	cmd.Wait()
	if code := cmd.ProcessState.ExitCode(); code != 130 {
		ts.Fatalf("%s, interrupted, exits with %d, want 130", args[0], code)
	}
}
