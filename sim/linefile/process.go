package linefile

import (
	"fmt"
	"time"

	"looptone/frame/userfile"
	"looptone/sim/process"
)

// course reads what the sensor meets.
func course(t *userfile.Table) (p process.Config) {
	t.Need("model", `"sine"`)
	model, ok := t.Choice("model", "constant", "ramp", "step", "sine")
	p.Noise = t.Number("noise", 0)
	if !ok {
		return p
	}
	t.Name += fmt.Sprintf(" of model %q", model)
	required := func(key string) float64 {
		t.Need(key, "10.0")
		return t.Number(key, 0)
	}
	span := func(key string) time.Duration {
		t.Need(key, "60")
		return seconds(t, key)
	}
	switch model {
	case "constant":
		p.Model = process.Constant(required("value"))
	case "ramp":
		p.Model = process.Ramp{From: required("from"), To: required("to"), Start: seconds(t, "start_s"), Length: span("length_s")}
	case "step":
		p.Model = process.Step{Before: required("before"), After: required("after"), Start: span("start_s")}
	case "sine":
		p.Model = process.Sine{Low: required("low"), High: required("high"), Period: span("period_s")}
	}
	return p
}
