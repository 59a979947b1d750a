package transmitter

// characterisation takes off what the transmitter knows of its sensor: the
// inverse of what temperature does. Where it knows it exactly, what is left is
// what the sensor met.
type characterisation struct{ effect linear }

func (c *characterisation) Step(_, in float64) float64 {
	return (in - c.effect.Offset) / c.effect.Gain
}
