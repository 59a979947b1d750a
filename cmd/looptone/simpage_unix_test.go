//go:build unix

package main

import (
	"bufio"
	"io"
	"net/http"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
)

// addressOf reads from what a program says on stderr where its page is, and its key.
func addressOf(t testing.TB, stderr io.Reader) (at, key string) {
	t.Helper()
	said := bufio.NewReader(stderr)
	for range 10 {
		line, err := said.ReadString('\n')
		if err != nil {
			t.Fatal(err)
		}
		found := regexp.MustCompile(`^to change the line, too: http://(.*)/#key=([0-9a-f]{32})\n$`).FindStringSubmatch(line)
		if found != nil {
			go io.Copy(io.Discard, said)
			return found[1], found[2]
		}
	}
	t.Fatal("no address with a key is told")
	return "", ""
}

// TestPageOfAProgram: the program says where its page is, shows the line there, obeys the
// holder of the key, and ends at once when it is interrupted with a browser connected.
func TestPageOfAProgram(t *testing.T) {
	sim := program(t, "sim", "--page", "127.0.0.1:0")
	stderr, err := sim.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	ended := false
	t.Cleanup(func() {
		if !ended {
			sim.Process.Kill()
			sim.Wait()
		}
	})
	at, key := addressOf(t, stderr)
	client := &http.Client{Timeout: 20 * time.Second}
	events, err := client.Get("http://" + at + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer events.Body.Close()
	in := bufio.NewReader(events.Body)
	wantLine(t, in, `"line":"Quillmere","shown":"Quillmere, the simulated demonstration line","epoch":1,"simulated":true`)
	wantLine(t, in, `"sentence":"primary → PT-101 (1)  read dynamic variables and loop current"`)

	for _, do := range []string{`{"do":"pause","by":"Anna"}`, `{"do":"restart"}`} {
		r, err := http.NewRequest(http.MethodPost, "http://"+at+"/do", strings.NewReader(do))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/json")
		r.Header.Set("X-Looptone-Key", key)
		answer, err := client.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		text, _ := io.ReadAll(answer.Body)
		answer.Body.Close()
		if !strings.HasPrefix(string(text), `{"ok":true,`) {
			t.Errorf("%s: %s", do, text)
		}
	}
	wantLine(t, in, `"pace":0,"by":"Anna","why":"paused"`)
	wantLine(t, in, `"epoch":2`)

	began := time.Now()
	sim.Process.Signal(os.Interrupt)
	sim.Wait()
	ended = true
	if code := sim.ProcessState.ExitCode(); code != 0 {
		t.Errorf("interrupted it exits with %d, want 0", code)
	}
	if took := time.Since(began); took > 2*time.Second {
		t.Errorf("its end took %v with a browser connected", took)
	}
}

// wantLine reads until a line has a text in it.
func wantLine(t *testing.T, in *bufio.Reader, text string) {
	t.Helper()
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			t.Fatalf("%v before %s", err, text)
		}
		if strings.Contains(line, text) {
			return
		}
	}
}
