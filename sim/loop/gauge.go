package loop

// OhmPerKM is the resistance of a copper conductor of an American Wire Gauge at 20 °C;
// gauges 0 to 40, also odd ones. ok is false for others.
func OhmPerKM(awg int) (ohm float64, ok bool) { panic("not written yet") }
