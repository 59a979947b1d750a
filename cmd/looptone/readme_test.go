//go:build unix

package main

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// TestTimingReadme runs every command that README.md shows in a console block and
// compares what it shows. Where something runs in the background, in real time,
// numbers may differ.
func TestTimingReadme(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	folder := userFolder(t)
	blocks := regexp.MustCompile("(?s)```console\n(.*?)```").FindAllStringSubmatch(string(text), -1)
	if len(blocks) < 5 {
		t.Fatalf("only %d console blocks found", len(blocks))
	}
	for _, block := range blocks {
		runBlock(t, folder, block[1])
	}
}

// userFolder is a folder that looks like a fresh clone, and can be written to.
func userFolder(t *testing.T) string {
	t.Helper()
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	for _, name := range []string{"cmd", "frame", "sim", "serialio", "testdata", "go.mod", "go.sum"} {
		if err := os.Symlink(filepath.Join(root, name), filepath.Join(folder, name)); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// runBlock runs a block's commands one after the other; those that end in & go
// on beside the rest of the block, and are interrupted at its end.
func runBlock(t *testing.T, folder, block string) {
	t.Helper()
	live := strings.Contains(block, " &\n")
	for _, shown := range strings.Split(block, "$ ")[1:] {
		command, want, _ := strings.Cut(shown, "\n")
		if background, ok := strings.CutSuffix(command, " &"); ok {
			stop := runBeside(t, folder, background, want)
			defer stop()
			continue
		}
		cmd := shell(t.Context(), folder, command)
		got, err := cmd.CombinedOutput()
		if code := cmd.ProcessState.ExitCode(); code != 0 && code != 3 { // 3: done, and not in order
			t.Errorf("$ %s: %v", command, err)
		}
		compare(t, command, string(got), want, live)
	}
}

func shell(ctx context.Context, folder, command string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, "sh", "-c", "exec "+command)
	if strings.Contains(command, "|") {
		cmd = exec.CommandContext(ctx, "sh", "-c", command)
	}
	cmd.Dir = folder
	cmd.Env = append(os.Environ(), "PATH="+folder+":"+os.Getenv("PATH"))
	return cmd
}

// runBeside starts a command and waits until it has said what is wanted.
func runBeside(t *testing.T, folder, command, want string) (stop func()) {
	t.Helper()
	cmd := shell(context.Background(), folder, command)
	var out lockedBuffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if err := poll(func() bool { return strings.Count(out.String(), "\n") >= strings.Count(want, "\n") }); err != nil {
		t.Errorf("$ %s: %v", command, err)
	}
	compare(t, command, out.String(), want, true)
	return func() {
		cmd.Process.Signal(syscall.SIGINT)
		if err := cmd.Wait(); err != nil {
			t.Errorf("$ %s: interrupted, it ends with %v, want 0", command, err)
		}
	}
}

var (
	numbers = regexp.MustCompile(`\d+(\.\d+)?`)
	blanks  = regexp.MustCompile(` +`)
)

// compare compares output; of live output, numbers by their presence only.
func compare(t *testing.T, command, got, want string, live bool) {
	t.Helper()
	if live {
		got = blanks.ReplaceAllString(numbers.ReplaceAllString(got, "N"), " ")
		want = blanks.ReplaceAllString(numbers.ReplaceAllString(want, "N"), " ")
	}
	if got != want {
		t.Errorf("$ %s\ngot:\n%s\nREADME.md shows:\n%s", command, got, want)
	}
}

// lockedBuffer is a buffer that can be read while a process writes.
type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}
