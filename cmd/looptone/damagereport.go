package main

import (
	"fmt"
	"io"

	"looptone/serialio/capture"
)

// reported is how many damages of a file are told one by one.
const reported = 10

// damageReport tells what of a file could not be read, and what is missing in it.
// Neither is trouble on the line.
type damageReport struct {
	to     io.Writer
	name   string
	places int
	lost   int64
}

func (d *damageReport) add(r *capture.Record) {
	d.lost += r.Lost
	if r.Damage == nil {
		return
	}
	if d.places++; d.places <= reported {
		fmt.Fprintln(d.to, r.Damage)
	}
}

func (d *damageReport) end() {
	if d.places > 0 {
		fmt.Fprintf(d.to, "%s: the file is damaged in %s; the rest was read\n", d.name, count(d.places, "place", "places"))
	}
	if d.lost > 0 {
		fmt.Fprintf(d.to, "%s: %s lost while it was recorded\n", d.name, count(int(d.lost), "character was", "characters were"))
	}
}
