package report

import (
	"math"
	"strconv"
)

// The data of a page, as its scripts read them. Times are seconds; stations are numbers.

type trafficData struct {
	From     seconds       `json:"from"`
	To       seconds       `json:"to"`
	Clock    string        `json:"clock,omitempty"` // wall clock of time 0
	Untimed  bool          `json:"untimed"`
	Counts   countsData    `json:"counts"`
	Stations []stationData `json:"stations"`
	Times    []timesData   `json:"times"`
	Bits     []string      `json:"bits"` // of a device status, from the top one down
	Commands []commandData `json:"commands"`
	Lanes    gridData      `json:"lanes"`
	Curves   []curveData   `json:"curves"`
	Delays   []delayData   `json:"delays"`
	Texts    []string      `json:"texts"` // of the boxes of messages
	Messages rawJSON       `json:"messages"`
}

// countsData are numbers of messages; the keys are those of the same things in decode's
// summary.
type countsData struct {
	Characters int64 `json:"characters"`
	Requests   int64 `json:"requests"`
	Replies    int64 `json:"replies"`
	Bursts     int64 `json:"bursts"`
	Primary    int64 `json:"primary"`
	Secondary  int64 `json:"secondary"`
	Answered   int64 `json:"answered"`
	Unanswered int64 `json:"unanswered"`
	Retries    int64 `json:"retries"`
	Damaged    int64 `json:"damaged"`
	Noise      int64 `json:"noise"`
}

type stationData struct {
	ID   int    `json:"id"`
	Name string `json:"name"`
	Kind string `json:"kind"` // device, master, unknown
}

// timesData are the response times of a device.
type timesData struct {
	Device string  `json:"device"`
	Count  int64   `json:"count"`
	Least  seconds `json:"least"`
	Median seconds `json:"median"`
	Most95 seconds `json:"most_95"`
	Most99 seconds `json:"most_99"`
	Most   seconds `json:"most"`
}

type commandData struct {
	Command uint16 `json:"command"`
	Name    string `json:"name"`
}

// gridData are the lanes in steps. Lanes hold step, characters and what went wrong, one
// behind the other; statuses step, bits that were set and bits that were not, where
// either changes.
type gridData struct {
	From     seconds    `json:"from"`
	Step     seconds    `json:"step"`
	Steps    int        `json:"steps"`
	Lanes    []laneData `json:"lanes"`
	Statuses []laneData `json:"statuses"`
}

type laneData struct {
	Station int     `json:"station"`
	Runs    []int64 `json:"runs"`
}

// curveData are points: from, to, least and most, one behind the other.
type curveData struct {
	Station  int        `json:"station"`
	Name     string     `json:"name"`
	Unit     string     `json:"unit"`
	Readings int64      `json:"readings"`
	Points   pointsData `json:"points"`
}

type delayData struct {
	Station int      `json:"station"`
	Counted [][3]int `json:"counted"` // from and to in milliseconds, how often
}

// rawJSON is written as it is.
type rawJSON []byte

func (r rawJSON) MarshalJSON() ([]byte, error) { return r, nil }

// seconds are written to the microsecond.
type seconds float64

func (s seconds) MarshalJSON() ([]byte, error) { return appendSeconds(nil, float64(s)), nil }

func appendSeconds(dst []byte, s float64) []byte {
	if math.IsNaN(s) || math.IsInf(s, 0) {
		return append(dst, "null"...)
	}
	return strconv.AppendFloat(dst, math.Round(s*1e6)/1e6, 'f', -1, 64)
}

// pointsData are the points of a curve, flat. Values have seven digits that count, as many
// as a 32-bit float holds.
type pointsData []point

func (all pointsData) MarshalJSON() ([]byte, error) {
	b := []byte{'['}
	for i, p := range all {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(appendSeconds(b, p.from), ',')
		b = append(appendSeconds(b, p.to), ',')
		b = append(strconv.AppendFloat(b, p.low, 'g', 7, 64), ',')
		b = strconv.AppendFloat(b, p.high, 'g', 7, 64)
	}
	return append(b, ']'), nil
}
