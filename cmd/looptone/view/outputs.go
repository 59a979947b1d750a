package view

import (
	"math"
	"strconv"
	"time"

	"looptone/sim/transmitter"
)

// AppendOutputs writes as a JSON object what stands behind the stages of a device
// at a moment of line time: its tag, and one number an output, in the output's own
// unit. What is no number is null. The last key, where it is wanted, holds the units.
func AppendOutputs(dst []byte, at time.Duration, tag string, outputs []transmitter.Output, units bool) []byte {
	o := object{b: append(dst, '{')}
	o.seconds(`"time":`, at)
	o.text(`"device":`, tag)
	for i := range outputs {
		o.output(&outputs[i])
	}
	if units {
		o.open(`"units":`)
		for i := range outputs {
			o.text(`"`+outputs[i].Name+`":`, outputs[i].Unit.String())
		}
		o.close()
	}
	return append(o.b, '}')
}

// output writes the shortest decimal that reads back as the same 64-bit float.
func (o *object) output(out *transmitter.Output) {
	o.b = append(o.b, ',', '"')
	o.b = append(o.b, out.Name...)
	o.b = append(o.b, '"', ':')
	if math.IsNaN(out.Value) || math.IsInf(out.Value, 0) {
		o.b = append(o.b, "null"...)
		return
	}
	o.b = strconv.AppendFloat(o.b, out.Value, 'g', -1, 64)
}
