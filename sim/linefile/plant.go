package linefile

import (
	"looptone/frame/userfile"
	"looptone/sim/process"
)

// water is the density of what is in a plant where a description does not say.
const water = 1000 // kg/m³

// mostHeight is how high a tank may be.
const mostHeight = 1000 // m

// tank reads a vessel that is filled and emptied. One that does not say how fast
// it empties does so twice as fast, when it is full, as it is filled: so its valve
// can hold any level from a quarter up. It stands open, unless it says what presses
// on what is in it.
func tank(t *userfile.Table, k kind, _ *ground) process.Model {
	p := process.Tank{
		VolumeM3:     needed(t, "volume_m3", "20.0"),
		DensityKgM3:  t.Number("density_kg_m3", water),
		LevelPercent: t.Number("level_percent", 50),
		InflowM3H:    t.Number("inflow_m3h", 0),
	}
	p.Shape, _ = shape(t)
	above := 0.0
	if k.name == absolute {
		above = process.AtmosphereKPa
	}
	p.AboveKPa = t.Number("above_kpa", above)
	p.OutflowM3H = t.Number("outflow_m3h", 2*p.InflowM3H)
	if _, given := t.Ask("height_m"); given {
		p.HeightM = t.AboveZero("height_m", mostHeight, 1)
	}
	if pipe, _ := t.Choice("valve_on", "outflow", "inflow"); pipe == "inflow" {
		p.ValveOn = process.Inflow
	}
	return p
}

// orifice reads a flow through an orifice plate. Its discharge coefficient depends
// on the plate and on the flow, and must be given.
func orifice(t *userfile.Table, _ kind, _ *ground) process.Model {
	p := process.Orifice{
		PipeMM:        needed(t, "pipe_mm", "100.0"),
		BoreMM:        needed(t, "bore_mm", "60.0"),
		Discharge:     needed(t, "discharge", "0.606"),
		Expansibility: t.Number("expansibility", 1),
		DensityKgM3:   t.Number("density_kg_m3", water),
		FlowKgH:       needed(t, "flow_kg_h", "36000.0"),
		SwingKgH:      t.Number("swing_kg_h", 0),
		Period:        seconds(t, "period_s"),
		LagS:          t.Number("lag_s", 0),
	}
	if p.SwingKgH != 0 {
		t.NeedBeside("swing_kg_h", "period_s")
	}
	return p
}

// thermal reads something that warms up, from the ambient temperature where it
// does not say.
func thermal(t *userfile.Table, _ kind, _ *ground) process.Model {
	p := process.Thermal{
		Ambient:      needed(t, "ambient", "20.0"),
		Rise:         needed(t, "rise", "30.0"),
		TimeConstant: neededSeconds(t, "time_constant_s"),
	}
	p.Start = t.Number("start", p.Ambient)
	return p
}
