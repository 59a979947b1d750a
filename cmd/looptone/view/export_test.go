package view

import "looptone/frame/payload"

// Values says what values are, as a sentence does.
func Values(values []payload.Value) string {
	var p prose
	p.values(values)
	return string(p.b)
}
