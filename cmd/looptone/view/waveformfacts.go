package view

import (
	"strconv"

	"looptone/serialio/fsk/measure"
)

// WaveformCounts is what there is in a waveform.
func WaveformCounts(r *measure.Report) string { return waveformCounts(r) }

// WaveformQuantities is a table of what was measured of a waveform.
func WaveformQuantities(r *measure.Report) (head []string, rows [][]string) {
	head = []string{"Quantity", "Mean", "Deviation", "Least", "Most", "Unit", "Times"}
	for _, q := range quantitiesOf(r) {
		rows = append(rows, []string{q.name, q.number(q.Mean), q.number(q.SD), q.number(q.Least), q.number(q.Most), q.unit, strconv.Itoa(q.N)})
	}
	return head, rows
}
