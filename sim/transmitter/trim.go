package transmitter

// Trim corrects the characterised value: it is multiplied by Gain, then Offset is
// added, in the sensor's unit. A Gain of 0 stands for 1.
type Trim struct{ Gain, Offset float64 }
