package view

import (
	"strconv"

	"looptone/sim/transmitter"
)

// A Strapping is what is known of a table that was made for a vessel.
type Strapping struct {
	Vessel       string // its shape
	Points       int
	WorstPercent float64 // how far the table is off between its points at most, in percent of the volume
}

// AppendStage writes a stage as a JSON object.
func AppendStage(dst []byte, s *transmitter.StageInfo) []byte {
	o := object{b: append(dst, '{')}
	o.text(`"stage":`, s.Name)
	o.text(`"unit":`, s.Unit)
	o.text(`"what":`, s.What)
	return append(o.b, '}')
}

// AppendPath writes the way through a device as a JSON object: its tag, what can be
// read behind each stage, and its table, if one was made for a vessel.
func AppendPath(dst []byte, tag string, outputs []transmitter.Output, table *Strapping) []byte {
	o := object{b: append(dst, '{')}
	o.text(`"device":`, tag)
	o.b = append(o.b, `,"outputs":[`...)
	for i, out := range outputs {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.b = append(o.b, '{')
		o.text(`"name":`, out.Name)
		o.text(`"unit":`, out.Unit.String())
		o.int(`"unit_code":`, int64(out.Unit))
		o.close()
	}
	o.b = append(o.b, ']')
	if table != nil {
		o.open(`"table":`)
		o.text(`"vessel":`, table.Vessel)
		o.int(`"points":`, int64(table.Points))
		o.key(`"worst_error_percent":`)
		o.b = strconv.AppendFloat(o.b, table.WorstPercent, 'g', -1, 64)
		o.close()
	}
	return append(o.b, '}')
}
