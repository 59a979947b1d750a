package main

import (
	"fmt"
	"strings"

	"looptone/sim/master"
)

// leastPreambles is how many a device wants at least.
//
// Source: Texas Instruments application note SLAAEH0, section 1.5.3 (5 to 20).
const leastPreambles = 5

// checkLoad refuses periods that are too short for what is to be done in them, and
// shows the sum. Devices are taken to answer at once.
func checkLoad(schedule []master.Query) error {
	var load float64
	var periodic []master.Query
	for _, q := range schedule {
		if q.Every > 0 {
			periodic = append(periodic, q)
			load += float64(shortest(q).Sum()) / float64(q.Every)
		}
	}
	if load <= 1 {
		return nil
	}
	every := periodic[0].Every
	for _, q := range periodic {
		if q.Every != every {
			return overloaded(periodic, load)
		}
	}
	return fmt.Errorf("a period of %v is too short: one round of %s takes at least %v",
		every.Duration(), count(len(periodic), "transaction", "transactions"), shortest(periodic...))
}

func shortest(queries ...master.Query) master.Terms {
	return master.Shortest(queries, leastPreambles, 0)
}

// overloaded says of a schedule of several periods what each part of it takes.
func overloaded(periodic []master.Query, load float64) error {
	var parts []string
	for _, q := range periodic {
		takes := shortest(q).Sum()
		parts = append(parts, fmt.Sprintf("command %d of %s takes %.1f ms every %v",
			q.Command, targetName(q.Device), 1000*takes.Seconds(), q.Every.Duration()))
	}
	return fmt.Errorf("the periods are too short: %s; that is %.0f %% of the time, and one round takes at least %v",
		strings.Join(parts, ", "), 100*load, shortest(periodic...))
}
