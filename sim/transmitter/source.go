package transmitter

// Source is what a modulated current follows.
type Source uint8

const (
	ProcessVariable Source = iota
	ManipulatedVariable
)
