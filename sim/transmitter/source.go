package transmitter

import "looptone/sim/setting"

// Source is what a modulated current follows.
type Source uint8

const (
	ProcessVariable     Source = iota // the primary variable in percent
	ManipulatedVariable               // what the controller puts out, in every mode
)

func (c *Config) checkSource() error {
	switch {
	case c.Source > ManipulatedVariable:
		return setting.Refuse("output.source", c.Source, "the process variable or the manipulated variable")
	case c.Source == ManipulatedVariable && c.Controller == nil:
		return setting.Refuse("output.source", "the manipulated variable", "the process variable: there is no controller")
	}
	return nil
}
