package view

import (
	"iter"

	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Measured are the values of a reply or burst that are measured numbers, by name.
func Measured(m *exchange.Message) iter.Seq2[string, *payload.Value] {
	return func(yield func(string, *payload.Value) bool) {
		for v := range measured(m) {
			if !yield(variable(v), v) {
				return
			}
		}
	}
}
