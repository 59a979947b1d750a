//go:build unix

package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"looptone/frame"
)

// A flow of 60 m³/h, a cubic metre a minute, whose total is kept ten times a
// second.
const killed = `
[line]
name = "kills"
[[device]]
tag = "FT-1"
polling = 1
kind = "flow"
revision = 7
latency_ms = 10
[device.sensor]
lower = 0
upper = 100
unit = "kPa"
[device.user_unit]
lower = 0
upper = 120
unit = "m³/h"
[device.totaliser]
unit = "m³"
save_every = "100ms"
[device.process]
model = "constant"
value = 25
`

const (
	flow     = 1.0 / 60 // m³/s
	interval = 0.1      // s
	saving   = 0.05     // s, that a saving may be under way when the end comes
)

// saying is how long it takes at most until it is heard that there is a line.
const saying = 20 * time.Millisecond

// linkGrant is how long a master leaves the line to the other one.
//
// Source: FieldComm Group support article 8000040648 (8 characters, 73 ms).
const linkGrant = 80 * time.Millisecond

// TestTimingKills kills a simulation that is written to and adds up, 200 times at
// moments of chance, 20 times in CI. What was acknowledged is there afterwards,
// totals lose one interval at most, and count nothing twice.
func TestTimingKills(t *testing.T) {
	lines, kills := 10, 20
	if inCI() {
		lines, kills = 4, 5
	}
	for seed := range lines {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			v := newVictim(t, uint64(seed))
			for range kills {
				v.live()
			}
			t.Logf("%d kills, %d writes acknowledged, %.4f m³", kills, v.acknowledged, v.total)
		})
	}
}

// victim is a simulation with a state file that is killed again and again.
type victim struct {
	*testing.T
	chance       *rand.Rand
	line, state  string
	traced       string    // where the system calls are written down; empty: nowhere
	acknowledged uint32    // the last number that the device has acknowledged
	sent         uint32    // the last one that was sent
	total        float64   // the last total that was read, m³
	asked        time.Time // for it
	started      time.Time // the line began no earlier
	ended        time.Time // the one before ended no later
}

func newVictim(t *testing.T, seed uint64) *victim {
	dir := t.TempDir()
	v := &victim{T: t, chance: rand.New(rand.NewPCG(seed, 4)),
		line: filepath.Join(dir, "line.toml"), state: filepath.Join(dir, "state")}
	if err := os.WriteFile(v.line, []byte(killed), 0o600); err != nil {
		t.Fatal(err)
	}
	return v
}

// live is one life of the simulation, from its start to its violent end.
func (v *victim) live() {
	v.Helper()
	cmd, conn := v.start()
	defer conn.Close()
	v.check(conn)
	death := time.AfterFunc(time.Duration(v.chance.IntN(900))*time.Millisecond, func() { cmd.Process.Kill() })
	defer death.Stop()
	for last := v.total; v.write(conn) && v.read(conn); last = v.total {
		if v.total < last {
			v.Fatalf("the total went from %v back to %v m³", last, v.total)
		}
	}
	cmd.Wait()
	v.ended = time.Now()
}

// start starts the simulation and connects to it.
func (v *victim) start() (*exec.Cmd, net.Conn) {
	v.Helper()
	cmd := program(v.T, "sim", v.line, "--state", v.state, "--listen", "127.0.0.1:0")
	if v.traced != "" {
		cmd.Args = append([]string{"strace", "-f", "-y", "-o", v.traced, "-e", "trace=read,write,fdatasync",
			"-e", "inject=fdatasync:delay_enter=100000", cmd.Path}, cmd.Args[1:]...)
		cmd.Path, _ = exec.LookPath("strace")
		cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	}
	said, err := cmd.StderrPipe()
	if err != nil {
		v.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		v.Fatal(err)
	}
	v.Cleanup(func() { cmd.Process.Kill() })
	lines := bufio.NewScanner(said)
	for lines.Scan() {
		if address, ok := strings.CutPrefix(lines.Text(), "listening on "); ok {
			v.started = time.Now().Add(-saying)
			go io.Copy(io.Discard, said)
			conn, err := net.Dial("tcp", address)
			if err != nil {
				v.Fatal(err)
			}
			return cmd, conn
		}
	}
	v.Fatalf("the simulation ended by itself: %v", cmd.Wait())
	return nil, nil
}

// check compares what is there after a start with what was told before.
func (v *victim) check(conn net.Conn) {
	v.Helper()
	number, ok := v.ask(conn, 16)
	if !ok {
		v.Fatal("no reply after the start")
	}
	n := uint32(number[0])<<16 | uint32(number[1])<<8 | uint32(number[2])
	if n < v.acknowledged || n > v.sent {
		v.Fatalf("the final assembly number is %d, want %d, which was acknowledged, to %d, which was sent last", n, v.acknowledged, v.sent)
	}
	v.acknowledged, v.sent = n, n
	before, asked := v.total, v.asked
	if !v.read(conn) {
		v.Fatal("no reply after the start")
	}
	if most := flow * (interval + saving); v.total < before-most {
		v.Fatalf("the total went from %v back to %v m³, want at most %v less", before, v.total, most)
	}
	if asked.IsZero() {
		return
	}
	ran := v.ended.Sub(asked) + time.Since(v.started) // since that total was asked for
	if most := before + flow*ran.Seconds(); v.total > most {
		v.Fatalf("the total is %v m³, want at most %v: something was counted twice", v.total, most)
	}
}

// write writes the next number; false when the device is dead.
func (v *victim) write(conn net.Conn) bool {
	v.sent++
	n := v.sent
	if _, ok := v.ask(conn, 19, byte(n>>16), byte(n>>8), byte(n)); !ok {
		return false
	}
	v.acknowledged = n
	return true
}

// read reads the net total.
func (v *victim) read(conn net.Conn) bool {
	asked := time.Now()
	data, ok := v.ask(conn, 33, 3)
	if !ok {
		return false
	}
	v.asked = asked
	bits := uint32(data[2])<<24 | uint32(data[3])<<16 | uint32(data[4])<<8 | uint32(data[5])
	v.total = float64(math.Float32frombits(bits))
	return true
}

// ask sends a command and gives the data of the reply; ok is false when the
// connection ends.
func (v *victim) ask(conn net.Conn, command uint8, data ...byte) (reply []byte, ok bool) {
	v.Helper()
	f := frame.Frame{Kind: frame.STX, Primary: true, Address: frame.UniqueOf(7, 249, 0xf903, 101), Command: command, Data: data}
	chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		v.Fatal(err)
	}
	<-time.After(linkGrant) // the line belongs to the other master for so long
	if _, err := conn.Write(chars); err != nil {
		return nil, false
	}
	conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	var decoder frame.Decoder
	var ev frame.Event
	buf := make([]byte, 100)
	for {
		n, err := conn.Read(buf)
		if os.IsTimeout(err) {
			v.Fatalf("command %d: no reply in 10 s", command)
		}
		if err != nil {
			return nil, false
		}
		decoder.Feed(buf[:n], nil)
		for decoder.Next(&ev) {
			if ev.Outcome == frame.Whole && ev.Frame.Kind == frame.ACK {
				if code, _ := ev.Frame.Status.Response.Code(); code != 0 {
					v.Fatalf("command %d: response code %d", command, code)
				}
				return ev.Frame.Clone().Data, true
			}
		}
	}
}
