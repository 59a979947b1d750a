package transmitter

// characterisation takes off what the transmitter knows of its sensor: the
// inverse of what temperature does. Where it knows it exactly, what is left is
// what the sensor met.
type characterisation struct{ offset, gain float64 }

func (c *characterisation) set(effect linear) { c.offset, c.gain = effect.Offset, 1/effect.Gain }

func (c *characterisation) Step(_, in float64) float64 { return (in - c.offset) * c.gain }
