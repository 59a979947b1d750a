package wave

import (
	"bytes"
	"errors"
	"slices"
)

// IsWAV reports whether a file that begins so is a WAV file; 12 bytes tell.
func IsWAV(head []byte) bool {
	return isRIFF(head) && len(head) >= 12 && string(head[8:12]) == "WAVE"
}

// IsCSV reports whether lines are the beginning of a CSV of a waveform: with a column of
// times, which a header calls so or which rise, and one of other numbers; or without
// times, which [Open] says, if a header calls it volts.
func IsCSV(head []byte) bool {
	if bytes.IndexByte(head, 0) >= 0 {
		return false
	}
	head = head[:bytes.LastIndexByte(head, '\n')+1]
	l, sample, err := findCSV(head, chosen{}, 0)
	if errors.Is(err, errNoTimes) {
		l.head = int64(sample.firstRow(&l))
		l.units(&sample)
		return l.voltUnit.name != ""
	}
	if err != nil {
		return false
	}
	const enough = 3
	var times []float64
	for _, row := range sample.rows[l.head:] {
		if r, ok := numbersOf(&l, row); ok {
			times = append(times, r.time)
		}
	}
	return len(times) >= enough && (l.named || slices.IsSorted(times) && times[0] < times[len(times)-1])
}
