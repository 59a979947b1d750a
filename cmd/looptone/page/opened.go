package page

import (
	"fmt"

	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Opened is the answer to GET /device?i=N: one device, and its stages like beads on a
// string, from the process to the loop current. Settings change by writes and actions;
// then it is to be asked for again. Values come by [Values].
type Opened struct {
	Tag        string   `json:"tag"`
	LongTag    string   `json:"long_tag"`
	Descriptor string   `json:"descriptor"`
	Unique     string   `json:"unique"` // ten hex digits
	Polling    int      `json:"polling"`
	Revision   int      `json:"revision"`
	Mode       string   `json:"mode"` // as in DeviceValue
	Why        string   `json:"why"`  // it is in that mode, in a sentence or two
	Dark       string   `json:"dark"`
	SetPoint   *float64 `json:"set_point"` // of its controller, percent; null without
	Beads      []Bead   `json:"beads"`     // in the order of Device.Outputs
}

// A Bead is an output with the stage behind which it stands.
type Bead struct {
	Name     string  `json:"name"`  // as in --values
	Title    string  `json:"title"` // in plain words
	Unit     string  `json:"unit"`
	From     int     `json:"from"`   // the bead whose value goes into it, −1 for none
	String   bool    `json:"string"` // it stands on the way to the loop current; others hang on that
	Idle     bool    `json:"idle"`   // as it is set it hands on what it is given
	Says     string  `json:"says"`   // what the stage does, one sentence
	Settings []Dial  `json:"settings"`
	Curve    *Curve  `json:"curve"` // null where time counts more than the input
	Over     []Track `json:"over"`  // what to draw over time in its place, or below it
}

// A Dial is a setting of a stage as it is now.
type Dial struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Says  string `json:"says"` // what it does, one sentence
}

// A Track is a line over time: the value of a bead, or what a controller is set to.
type Track struct {
	Bead int    `json:"bead"` // −1: the set point
	Name string `json:"name"`
}

// opened is device i now; nil where there is none. It is called between two events of
// the line.
func (s *Scene) opened(i int) *Opened {
	if i < 0 || i >= len(s.assembly.Devices) {
		return nil
	}
	d := s.assembly.Devices[i]
	d.Transmitter().To(s.assembly.Line.Now())
	v := s.valueOf(i)
	c := d.Config()
	o := &Opened{
		Tag: c.Tag, LongTag: c.LongTag, Descriptor: c.Descriptor, Unique: fmt.Sprint(c.Unique()),
		Polling: v.Polling, Revision: int(c.Revision), Mode: v.Mode, Dark: v.Dark,
	}
	o.Why = why(d, v.Mode)
	if x := d.Transmitter().Config().Controller; x != nil {
		o.SetPoint = number(x.SetPoint)
	}
	vessel, known := s.page.config.Description.Vessels[c.Tag]
	o.Beads = beads(d.Transmitter(), vessel, known)
	return o
}

// why is the reason for what the loop current does.
func why(d *device.Device, mode string) string {
	c, at := d.Config(), d.Polling()
	switch cfg := d.Transmitter().Config(); {
	case mode == "fixed":
		return fmt.Sprintf("Somebody holds it at %s for a test, until it is let go.", figure(cfg.Current.HeldMA, "mA"))
	case c.Revision > 5 && mode == "parked":
		return fmt.Sprintf("In revision %d the loop current mode alone decides, and it is off.", c.Revision)
	case c.Revision > 5:
		return fmt.Sprintf("In revision %d the loop current mode alone decides, and it is on.", c.Revision)
	case mode == "parked":
		return fmt.Sprintf("In revision %d the polling address decides: at any but 0 the current is parked.", c.Revision)
	case at == 0:
		return fmt.Sprintf("In revision %d the polling address decides: at 0 the current moves.", c.Revision)
	}
	return "Its address would park the current, but a controller that is on drives it."
}

// beads are the stages of a transmitter. The table may have been made for a vessel.
func beads(t *transmitter.Transmitter, vessel process.Shape, known bool) []Bead {
	outputs, inputs := t.Outputs(), t.Inputs()
	on := onString(inputs)
	cfg := t.Config()
	list := make([]Bead, len(outputs))
	for i, out := range outputs {
		b := Bead{Name: out.Name, Title: titles[out.Name], Unit: out.Unit.String(), From: inputs[i], String: on[i], Says: stageSays(out.Name)}
		b.Settings = dials(&cfg, out.Name)
		if out.Name == "table" && known {
			b.Settings = append(b.Settings, vesselDials(cfg.Table, vessel)...)
		}
		b.Idle = idle(&cfg, out.Name)
		if i > 0 {
			b.Curve = curveOf(t, &cfg, out.Name, outputs[inputs[i]])
		}
		b.Over = tracks(out.Name, i, inputs[i])
		list[i] = b
	}
	return list
}

// onString tells which outputs stand on the way to the last one.
func onString(inputs []int) []bool {
	on := make([]bool, len(inputs))
	for i := len(inputs) - 1; i >= 0; i = inputs[i] {
		on[i] = true
	}
	return on
}

// tracks are what to draw over time for an output that takes the one before it.
func tracks(name string, own, from int) []Track {
	switch name {
	case "process":
		return []Track{{own, "process"}}
	case "damping":
		return []Track{{from, "goes in"}, {own, "comes out"}}
	case "totaliser":
		return []Track{{own, "net total"}}
	case "totaliser_forward":
		return []Track{{own, "forward total"}}
	case "controller":
		return []Track{{-1, "set point"}, {from, "process variable"}, {own, "output"}}
	}
	return nil
}

// titles are the outputs in plain words.
var titles = map[string]string{
	"process":           "process",
	"sensor":            "sensor",
	"characterisation":  "thermal correction",
	"damping":           "damping",
	"trim":              "sensor trim",
	"range":             "range",
	"transfer":          "transfer function",
	"table":             "table",
	"user_unit":         "user unit",
	"totaliser":         "net total",
	"totaliser_forward": "forward total",
	"controller":        "controller",
	"output":            "output",
	"loop_current":      "loop current",
}
