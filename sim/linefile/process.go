package linefile

import (
	"fmt"
	"math"
	"slices"
	"time"

	"looptone/frame/userfile"
	"looptone/sim/process"
)

// models are the processes that a description may name.
var models = []struct {
	name  string
	plant bool // a valve may act on it
	read  func(t *userfile.Table, k kind, on *ground) process.Model
}{
	{"constant", false, constant},
	{"ramp", false, ramp},
	{"step", false, step},
	{"sine", false, sine},
	{"csv", false, playback},
	{"tank", true, tank},
	{"orifice", true, orifice},
	{"thermal", true, thermal},
}

// course reads what the sensor of such a device meets, and the tag of the device
// whose current opens the valve, if there is one.
func course(t *userfile.Table, k kind, on *ground) (p process.Config, valve string) {
	names := make([]string, len(models))
	for i := range models {
		names[i] = models[i].name
	}
	t.Need("model", `"sine"`)
	name, ok := t.Choice("model", names...)
	p.Noise = t.Number("noise", 0)
	if _, fails := t.Ask("fails_at_s"); fails {
		p.FailsAt = time.Duration(math.Round(t.AboveZero("fails_at_s", longest, 1) * 1e9))
	}
	if !ok {
		return p, ""
	}
	t.Name += fmt.Sprintf(" of model %q", name)
	m := &models[slices.Index(names, name)]
	p.Model = m.read(t, k, on)
	if m.plant {
		valve, _ = t.Text("valve")
	} else if t.Has("valve") {
		t.Refuse("valve", fmt.Errorf("a valve acts on a tank, a flow through an orifice or a thermal process, "+
			"not on one of model %q: leave it out", name))
	}
	return p, valve
}

func constant(t *userfile.Table, _ kind, _ *ground) process.Model {
	return process.Constant(needed(t, "value", "10.0"))
}

func ramp(t *userfile.Table, _ kind, _ *ground) process.Model {
	return process.Ramp{From: needed(t, "from", "10.0"), To: needed(t, "to", "10.0"),
		Start: seconds(t, "start_s"), Length: neededSeconds(t, "length_s")}
}

func step(t *userfile.Table, _ kind, _ *ground) process.Model {
	return process.Step{Before: needed(t, "before", "10.0"), After: needed(t, "after", "10.0"),
		Start: neededSeconds(t, "start_s")}
}

func sine(t *userfile.Table, _ kind, _ *ground) process.Model {
	return process.Sine{Low: needed(t, "low", "10.0"), High: needed(t, "high", "10.0"),
		Period: neededSeconds(t, "period_s")}
}

// valves refuses the tag of a valve that is no device's.
func valves(t *userfile.Table, devices []entry) {
	known := tags(devices)
	for i := range devices {
		valve := devices[i].valve
		if valve != "" && !slices.Contains(known, valve) {
			t.Refuse(userfile.Element("device", i)+".process.valve", notOnTheLine("valve", valve, known))
		}
	}
}

// needed reads a number that must be there; example is one.
func needed(t *userfile.Table, key, example string) float64 {
	t.Need(key, example)
	return t.Number(key, 0)
}

// neededSeconds reads a number of seconds that must be there.
func neededSeconds(t *userfile.Table, key string) time.Duration {
	t.Need(key, "60")
	return seconds(t, key)
}
