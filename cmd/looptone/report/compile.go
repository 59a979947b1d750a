package report

import (
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
)

// compiled is the data of a page, now that everything has come.
func (t *Traffic) compiled(chosen *selection) *trafficData {
	data := &trafficData{
		Untimed: t.timeline.untimed > 0, Bits: frame.DeviceStatus(0xff).Names(),
		From: seconds(t.grid.from), To: seconds(max(t.timeline.last, t.grid.from)),
		Counts: t.countsData(), Commands: t.commandsData(), Lanes: t.gridData(),
		Messages: chosen.JSON(), Texts: chosen.texts,
	}
	if at, known := t.began(); known {
		data.Clock = at.Format(time.RFC3339Nano)
	}
	data.Stations = t.stationsData()
	data.Times = t.timesData()
	data.Curves = t.curvesData()
	for i, s := range t.stations.devices {
		if counted := s.delays.counted(); counted != nil {
			data.Delays = append(data.Delays, delayData{firstDevice + i, counted})
		}
	}
	return data
}

func (t *Traffic) countsData() countsData {
	s := &t.counts
	return countsData{
		Characters: s.Characters, Requests: s.Requests, Replies: s.Replies, Bursts: s.Bursts,
		Primary: s.Primary, Secondary: s.Secondary, Answered: s.Answered, Unanswered: s.Unanswered,
		Retries: s.Retries, Damaged: t.damaged(), Noise: t.noise(),
	}
}

// damaged is how many messages were damaged. A poll keeps no bytes of those, and knows of
// them by the requests that they are no answer to.
func (t *Traffic) damaged() int64 { return max(t.counts.Errors.Damaged(), t.spoiled) }

// noise is how often something was heard that is no message.
func (t *Traffic) noise() int64 {
	e := &t.counts.Errors
	return e.Noise + e.UnknownType + e.Strays
}

// names of the stations that are no devices.
var names = [firstDevice]struct{ name, kind string }{
	primaryMaster:   {"primary master", "master"},
	secondaryMaster: {"secondary master", "master"},
	otherDevices:    {"other devices", "device"},
	unknownTalker:   {"not known whose", "unknown"},
}

// stationsData are those of which something was heard, in the order of their lanes.
func (t *Traffic) stationsData() (all []stationData) {
	add := func(i int) {
		if t.stations.heard[i] {
			all = append(all, stationData{i, names[i].name, names[i].kind})
		}
	}
	add(primaryMaster)
	add(secondaryMaster)
	for i, s := range t.stations.devices {
		all = append(all, stationData{firstDevice + i, s.name(), "device"})
	}
	add(otherDevices)
	add(unknownTalker)
	return all
}

// name is what a device is called: by its tag and polling address, or by its address.
func (s *station) name() string {
	if s.device.Revision > 0 {
		return s.device.String()
	}
	return view.AddressText(s.address)
}

// timesData are the response times of the devices that answered.
func (t *Traffic) timesData() (all []timesData) {
	tallies, _ := t.counts.Devices()
	for i := range tallies {
		d := &tallies[i]
		if q := &d.Responses; q.Count > 0 && i < mostDevicesTold {
			all = append(all, timesData{view.DeviceText(d), q.Count, seconds(q.Min.Seconds()), seconds(q.Median.Seconds()),
				seconds(q.Most95.Seconds()), seconds(q.Most99.Seconds()), seconds(q.Max.Seconds())})
		}
	}
	return all
}

// mostCommands can be chosen by their names.
const mostCommands = 200

func (t *Traffic) commandsData() (all []commandData) {
	for _, c := range t.counts.Commands() {
		one := commandData{Command: c.Command}
		if c.Definition != nil {
			one.Name = c.Definition.Name
		}
		if all = append(all, one); len(all) == mostCommands {
			break
		}
	}
	return all
}

func (t *Traffic) gridData() gridData {
	g := gridData{From: seconds(t.grid.from), Step: seconds(t.grid.width), Steps: t.grid.used}
	for number, l := range t.grid.lanes {
		if l == nil {
			continue
		}
		g.Lanes = append(g.Lanes, laneData{number, l.talk(t.grid.used)})
		if l.status && number >= firstDevice {
			g.Statuses = append(g.Statuses, laneData{number, l.statuses(t.grid.used)})
		}
	}
	return g
}

// talk lists the steps in which something was said.
func (l *lane) talk(used int) (runs []int64) {
	for i := range used {
		if l.chars[i] > 0 || l.wrong[i] > 0 {
			runs = append(runs, int64(i), int64(l.chars[i]), int64(l.wrong[i]))
		}
	}
	return runs
}

// statuses lists the steps in which the status was another than before. Until the next
// reply it is what the last one said; behind the last of all nothing is known.
func (l *lane) statuses(used int) (runs []int64) {
	var set, unset uint8
	end := 0
	for i := range used {
		if l.set[i]|l.unset[i] == 0 {
			continue // no reply
		}
		if end = i + 1; l.set[i] != set || l.unset[i] != unset {
			set, unset = l.set[i], l.unset[i]
			runs = append(runs, int64(i), int64(set), int64(unset))
		}
	}
	return append(runs, int64(end), 0, 0)
}

func (t *Traffic) curvesData() (all []curveData) {
	for _, c := range t.curves.all {
		all = append(all, curveData{c.station, c.name, c.unit, c.readings, c.points})
	}
	return all
}
