package report

import "time"

// delays counts response times by their length: single milliseconds up to a second, then
// tens of milliseconds up to mostDelay, and beyond all together.
type delays struct {
	count [fineDelays + coarseDelays + 1]uint32
}

const (
	fineDelays   = 1000
	coarseDelays = 400
	coarse       = 10 // milliseconds
)

func (d *delays) add(t time.Duration) {
	ms := int(max(t, 0) / time.Millisecond)
	if ms < fineDelays {
		d.count[ms]++
		return
	}
	d.count[fineDelays+min((ms-fineDelays)/coarse, coarseDelays)]++
}

// counted are the lengths that there were, each as from, to and how often; from and to
// are milliseconds. The last one holds what is longer, too.
func (d *delays) counted() (all [][3]int) {
	for i, n := range d.count {
		switch {
		case n == 0:
		case i < fineDelays:
			all = append(all, [3]int{i, i + 1, int(n)})
		default:
			from := fineDelays + (i-fineDelays)*coarse
			all = append(all, [3]int{from, from + coarse, int(n)})
		}
	}
	return all
}
