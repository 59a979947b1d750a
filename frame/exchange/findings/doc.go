// Package findings judges what the hosts on a line kept of the standard and what
// they broke, by the messages of any source: a capture, a port, a simulated line.
//
// Every case in which a rule can be told is counted once: kept or broken; in
// doubt, where what is known of it does not decide; or not measurable, where the
// hook-up cannot show it. What was not seen is never called kept.
//
//	j := findings.New(sight)
//	for t.Next(&m) {
//		j.Add(&m)
//	}
//	j.End()
//	for _, f := range j.Findings() {
//		…
//	}
//
// Hosts are told apart by their master bit, so there are two at most: the primary
// and the secondary master.
package findings
