package master_test

import (
	"fmt"
	"math"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/master"
	"looptone/sim/transmitter"
)

// Numbers of the standard, written down here once more: 1200 bit/s, 11 bits a
// character, in sixths of a microsecond.
//
// Source: FieldComm Group support article 8000040648 (bit, character, 8 and 33
// characters); Texas Instruments application note SLAAEH0, 1.5.3 (the parts of a
// frame); Allen-Bradley 1797-6.5.3 (2006) p.C-2 and Texas Instruments DAC8742H data
// sheet, HART timing table (carrier on within 5 bits, off within 3).
const (
	aSecond    = 6_000_000
	aBit       = aSecond / 1200
	aCharacter = 11 * aBit
	aLead      = 5 * aBit
	aTail      = 3 * aBit
	aGrant     = 8 * aCharacter
)

// term is a part of a sum of characters and other times, to be printed.
type term struct {
	what  string
	ticks int64
}

func sumOf(t *testing.T, title string, terms []term) (sum int64) {
	t.Helper()
	text := title + ":"
	for _, p := range terms {
		sum += p.ticks
		text += fmt.Sprintf("\n  %9d ticks %9.3f ms  %s", p.ticks, float64(p.ticks)*1000/aSecond, p.what)
	}
	t.Logf("%s\n  %9d ticks %9.3f ms  in all", text, sum, float64(sum)*1000/aSecond)
	return sum
}

// four is a device with four dynamic variables.
func four(revision, polling uint8, latency sim.Tick) device.Config {
	c := config(revision, polling)
	c.Latency = latency
	c.Transmitter.Controller = &transmitter.Controller{Mode: transmitter.Manual, Gain: 1}
	return c
}

// The poll cycle of 15 devices with command 3, from carrier on to carrier on of the
// same request, to the tick.
func TestPollCycleTermByTerm(t *testing.T) {
	const devices = 15
	latency := func(i int) int64 { return int64(20+5*i) * aSecond / 1000 }
	var configs []device.Config
	var queries []master.Query
	terms := []term{}
	for i := 1; i <= devices; i++ {
		c := four(5+2*uint8(i%2), uint8(i), sim.Tick(latency(i)))
		configs = append(configs, c)
		queries = append(queries, master.Query{Device: master.Target{Address: frame.Polling(uint8(i))}, Command: 3})
		terms = append(terms,
			term{fmt.Sprintf("device %d: carrier lead, 5 bits", i), aLead},
			term{"request: 5 preambles", 5 * aCharacter},
			term{"request: delimiter 1, address 5, command 1, byte count 1, check byte 1", 9 * aCharacter},
			term{"latency of the device, its carrier lead included", latency(i)},
			term{"reply: 5 preambles", 5 * aCharacter},
			term{"reply: delimiter 1, address 5, command 1, byte count 1, status 2, current 4, 4 × unit and variable 5, check byte 1", (9 + 2 + 4 + 4*5) * aCharacter},
			term{"carrier tail, 3 bits", aTail},
			term{"what is left of link grant: 8 characters less the tail", aGrant - aTail})
	}
	want := sumOf(t, "cycle of 15 devices with command 3", terms)

	line := watch(lineOf(t, 1, configs...))
	poll := master.Poll{Queries: queries, Rounds: 4, Retries: 3}
	m := master.New(master.Config{Primary: true}, poll.Run)
	defer m.Close()
	seat := line.Join(m)
	for !m.Done() {
		line.Run(line.Next())
	}
	talks := line.talks[seat]
	if got, want := len(talks), devices*(1+4); got != want {
		t.Fatalf("%d requests, want %d: who each is, and 4 rounds", got, want)
	}
	for at := 2 * devices; at+devices < len(talks); at++ { // behind the round in which they say who they are
		if got := int64(talks[at+devices].on - talks[at].on); got != want {
			t.Errorf("request %d: the cycle takes %d ticks, want %d: %d bits apart", at, got, want, (got-want)/aBit)
		}
	}
}

// paces asks the same again and again and gives how long it takes from the first
// start bit to when the next carrier may go on.
func paces(t *testing.T, c device.Config, request master.Transaction) sim.Tick {
	t.Helper()
	line := lineOf(t, 1, c)
	var began []sim.Tick
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		for range 5 {
			tr := request
			if !yield(&tr) {
				return
			}
			began = append(began, tr.Began)
		}
	})
	defer m.Close()
	line.Join(m)
	for !m.Done() {
		line.Run(line.Next())
	}
	return began[4] - began[3] - aLead
}

// Rules of thumb, with 5 preambles, by unique address, 50 ms for the device, and link
// grant; without the carrier lead of the request.
//
// Source: computed from the character time and the timers of FieldComm Group support
// article 8000040648 and the lengths of frames of Texas Instruments SLAAEH0, 1.5.3;
// latency from memory. About 2 transactions per second: Allen-Bradley 1794-UM063A (2006)
// appendix C, and 1797-6.5.3 (2006) p.C-2.
func TestRulesOfThumbForTransactions(t *testing.T) {
	for _, tt := range []struct {
		name            string
		revision        uint8
		command         uint16
		short           bool
		data            []byte
		request, reply  int64 // characters
		totalMs         float64
		fifteenDevicesS float64
	}{
		{name: "command 1", revision: 7, command: 1, request: 14, reply: 21, totalMs: 444, fifteenDevicesS: 6.7},
		{name: "command 2", revision: 7, command: 2, request: 14, reply: 24, totalMs: 472, fifteenDevicesS: 7.1},
		{name: "command 3, four variables", revision: 7, command: 3, request: 14, reply: 40, totalMs: 618, fifteenDevicesS: 9.3},
		{name: "command 0, short, revision 5", revision: 5, command: 0, short: true, request: 10, reply: 24, totalMs: 435},
		{name: "command 0, short, revision 7", revision: 7, command: 0, short: true, request: 10, reply: 34, totalMs: 527},
		{name: "command 9, four slots", revision: 7, command: 9, data: []byte{0, 1, 2, 3}, request: 18, reply: 53, totalMs: 774, fifteenDevicesS: 11.6},
	} {
		const latency = 50 * aSecond / 1000
		c := four(tt.revision, 3, latency)
		request := master.Transaction{Address: c.Unique(), Command: tt.command, Data: tt.data, Preambles: 5}
		if tt.short {
			request.Address = frame.Polling(3)
		}
		got := paces(t, c, request)
		want := sumOf(t, tt.name, []term{{"request", tt.request * aCharacter}, {"latency", latency}, {"reply", tt.reply * aCharacter}, {"link grant", aGrant}})
		if int64(got) != want {
			t.Errorf("%s: got %d ticks, want %d", tt.name, got, want)
		}
		if ms := math.Round(got.Seconds() * 1000); ms != tt.totalMs {
			t.Errorf("%s: got %g ms, want %g", tt.name, ms, tt.totalMs)
		}
		if s := math.Round(15*got.Seconds()*10) / 10; tt.fifteenDevicesS != 0 && s != tt.fifteenDevicesS {
			t.Errorf("%s: 15 devices take %g s, want %g", tt.name, s, tt.fifteenDevicesS)
		}
		if rate := 1 / got.Seconds(); tt.command > 0 && tt.command <= 3 && math.Round(rate) != 2 {
			t.Errorf("%s: %.2f transactions per second, want about 2", tt.name, rate)
		}
	}
}

// A silent polling address takes 394 ms, 16 of them 6.3 s, 64 of them 25 s: a request
// with 5 preambles, and link quiet of a primary master.
//
// Source: computed from FieldComm Group support article 8000040648 (character, 33
// characters).
func TestRulesOfThumbForSilence(t *testing.T) {
	for n, want := range map[int]string{1: "0.394", 16: "6.3", 64: "25"} {
		line := watch(sim.NewLine(1))
		m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
			for i := range n {
				if !yield(&master.Transaction{Address: frame.Polling(uint8(i)), Preambles: 5}) {
					return
				}
			}
		})
		defer m.Close()
		seat := line.Join(m)
		for !m.Done() {
			line.Run(line.Next())
		}
		took := line.Now() - line.talks[seat][0].on - sim.Tick(n)*aLead
		if sum := sim.Tick(n) * (10 + 33) * aCharacter; took != sum {
			t.Errorf("%d silent addresses: %d ticks, want %d", n, took, sum)
		}
		var decimals int
		switch n {
		case 1:
			decimals = 3
		case 16:
			decimals = 1
		}
		if got := fmt.Sprintf("%.*f", decimals, took.Seconds()); got != want {
			t.Errorf("%d silent addresses: %s s, want %s s", n, got, want)
		}
	}
}

// What a device publishes without a pause: its message with 5 preambles by unique
// address, and link grant.
//
// Source: computed from FieldComm Group support article 8000040648 (character, 8
// characters) and Flowserve LMENIM2340-00 p.34 (link grant between bursts); more than 3
// bursts per second: Allen-Bradley 1797-6.5.3 (2006) p.C-2.
func TestRulesOfThumbForBursts(t *testing.T) {
	for _, tt := range []struct {
		command    uint16
		characters int64
		ms         float64
		perSecond  string
	}{{1, 21, 266, "3.8"}, {3, 40, 440, "2.3"}} {
		c := four(7, 3, 50*aSecond/1000)
		c.Bursts = []device.Publication{{Command: tt.command}}
		line := watch(lineOf(t, 1, c))
		line.Run(60 * sim.Second)
		var starts []sim.Tick
		for _, talks := range line.talks {
			for _, s := range talks {
				starts = append(starts, s.on)
			}
		}
		if len(starts) < 100 {
			t.Fatalf("command %d: %d bursts in a minute, want more than 100", tt.command, len(starts))
		}
		for i := 1; i < len(starts); i++ {
			if got, want := starts[i]-starts[i-1], sim.Tick(tt.characters*aCharacter+aGrant); got != want {
				t.Fatalf("command %d: burst %d comes %d ticks behind the one before, want %d", tt.command, i, got, want)
			}
		}
		period := (starts[len(starts)-1] - starts[0]).Seconds() / float64(len(starts)-1)
		if got := math.Round(period * 1000); got != tt.ms {
			t.Errorf("command %d: a burst every %g ms, want %g", tt.command, got, tt.ms)
		}
		if got := fmt.Sprintf("%.1f", 1/period); got != tt.perSecond {
			t.Errorf("command %d: %s bursts per second, want %s", tt.command, got, tt.perSecond)
		}
	}
}
