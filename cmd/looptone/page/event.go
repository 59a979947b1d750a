// Package page is the live page of a line: what goes on there, told to browsers, and what
// somebody there wants done.
package page

// What a browser is told, as server-sent events: the name of the event, and one
// of these as JSON. All times are seconds of line time unless a name says otherwise.
// A browser that comes, or comes back, is told "hello" first, which has everything
// that it needs; then "clock", "carrier", "message", "values", "stations", "news",
// "standing" and "ask" as they happen.

// A Hello is the line as it is when a browser comes. When the line is put back to its
// start everybody is told hello again, with another Epoch; and with the same one when
// something of Loop, Devices or Kinds has changed.
type Hello struct {
	Line      string             `json:"line"`  // its name
	Shown     string             `json:"shown"` // which one: "Quillmere, the simulated demonstration line"
	Epoch     int                `json:"epoch"`
	Simulated bool               `json:"simulated"` // nobody outside can be on it: who pauses stops it for everybody
	Cautions  []string           `json:"cautions"`  // where something real may be behind it; none otherwise
	Timers    map[string]float64 `json:"timers"`    // slave_time_out, hold, link_grant, link_quiet_primary, link_quiet_secondary, character, bit
	Clock     Clock              `json:"clock"`
	Stations  []Station          `json:"stations"` // in the order of their lanes
	Loop      Loop               `json:"loop"`
	Devices   []Device           `json:"devices"`
	Kinds     []FaultKind        `json:"kinds"` // of faults that can be added
	Carriers  []Carrier          `json:"carriers"`
	Messages  []Message          `json:"messages"` // the latest of them
	News      []News             `json:"news"`     // the latest 50 since the start of the line, oldest first
	Standing  Standing           `json:"standing"`
	Ask       *Ask               `json:"ask"`
	Values    Values             `json:"values"`
}

// A Clock ties line time to the wall clock: line time was Line when this was sent, and
// goes on at Pace. It is sent when that changes, and once a second.
type Clock struct {
	Line float64 `json:"line"`
	Pace float64 `json:"pace"` // 0 stands still, 1 is real time
	By   string  `json:"by"`   // who changed it; empty: nobody yet
	Why  string  `json:"why"`  // "paused", "one message on", "the class is asked who will answer", "slow motion", …
}

// A Station is a lane.
type Station struct {
	ID     int    `json:"id"`
	Name   string `json:"name"`   // LT-103, primary master, host on the pty
	Kind   string `json:"kind"`   // device, master, outside, fault
	Device int    `json:"device"` // index in Devices, −1 for none
	Gone   bool   `json:"gone"`   // it has left the line
}

// A Carrier is sent when it goes on; what comes in from outside piece by piece, as one
// without lead and tail that is sent again, with the same N, when it has become longer.
type Carrier struct {
	N       int64        `json:"n"`
	Station int          `json:"station"`
	On      float64      `json:"on"`
	Off     float64      `json:"off"`
	Start   float64      `json:"start"`            // edge of the first start bit
	Chars   int          `json:"chars"`            // they follow without a gap, but for the pauses, and what is less than half of one
	FF      int          `json:"ff"`               // preambles among them, at the beginning
	Pauses  [][2]float64 `json:"pauses,omitempty"` // index of the character behind it, seconds
	Marks   []int        `json:"marks,omitempty"`  // indices of characters that are sent wrongly
	Level   float64      `json:"level"`            // volts peak to peak
}

// A Message is sent when it was heard, or when nobody has answered by the slave time-out;
// and once more, with the same N, when the class was asked about it: until then it does
// not say what is asked for.
type Message struct {
	N        int64   `json:"n"`
	From     int     `json:"from"`  // station, −1 for nobody known
	To       int     `json:"to"`    // station, −1 for nobody known, and for all
	Start    float64 `json:"start"` // first preamble
	End      float64 `json:"end"`   // end of the check byte
	Kind     string  `json:"kind"`  // request, reply, burst, damage, noise, unanswered
	Sentence string  `json:"sentence"`
	Hex      string  `json:"hex"`      // delimiter to check byte, or what was heard, without blanks; without the check byte while the class is asked for that
	FF       int     `json:"ff"`       // preambles in front
	ReplyTo  int64   `json:"reply_to"` // N of the request, 0 for none
	After    float64 `json:"after"`    // response time
	Command  int     `json:"command"`  // −1 for none
}

// Apart is the answer to GET /message?n=N, for the latest 2000 messages: one taken apart,
// in byte order. What could not be read is one box.
type Apart struct {
	N     int64 `json:"n"`
	Boxes []Box `json:"boxes"`
}

// A Box is some bytes of a message, their caption, and what they say.
type Box struct {
	Hex      string `json:"hex"`
	Caption  string `json:"caption"`
	Sentence string `json:"sentence"`
}

// Loop is the electricity, as a picture needs it.
type Loop struct {
	Known       bool         `json:"known"` // the line file says something of it; else voltages are not reckoned
	SupplyV     float64      `json:"supply_v"`
	ResistorOhm float64      `json:"resistor_ohm"`
	BarrierOhm  float64      `json:"barrier_ohm"`
	Series      []Instrument `json:"series"`
	HostAt      string       `json:"host_at"` // resistor, supply or a tag
	Cables      []Cable      `json:"cables"`
	Heard       bool         `json:"heard"` // what anybody says reaches everybody whose device is not dark
}

type Instrument struct {
	Name string  `json:"name"`
	Ohm  float64 `json:"ohm"`
}

// A Cable goes on behind another one; −1: behind the supply.
type Cable struct {
	Name    string  `json:"name"`
	Behind  int     `json:"behind"`
	LengthM float64 `json:"length_m"`
}

// A Device is what of a device does not change, and the names of its outputs.
type Device struct {
	Tag      string   `json:"tag"`
	Kind     string   `json:"kind"`
	Revision int      `json:"revision"`
	Behind   int      `json:"behind"` // cable at whose end it hangs, −1 for none
	Place    int      `json:"place"`  // along the wires, from 0 on
	Outputs  []Output `json:"outputs"`
}

// An Output is what can be read behind a stage.
type Output struct {
	Name  string `json:"name"`  // as in --values
	Stage string `json:"stage"` // sensor, damping, …
	Unit  string `json:"unit"`
	Says  string `json:"says"` // what the stage does, one sentence
}

// Values are sent twice a second of wall time, when something has changed.
type Values struct {
	Time    float64       `json:"time"`
	SumMA   float64       `json:"sum_ma"`
	Devices []DeviceValue `json:"devices"`
}

// A DeviceValue is a device now; numbers that are none are null.
type DeviceValue struct {
	Polling  int        `json:"polling"`
	Mode     string     `json:"mode"` // parked, moving, fixed
	MA       *float64   `json:"ma"`
	V        *float64   `json:"v"`    // across it, where that is reckoned
	Dark     string     `json:"dark"` // why it does not work; empty: it does
	PV       *float64   `json:"pv"`
	PVUnit   string     `json:"pv_unit"`
	Percent  *float64   `json:"percent"`
	Bursting bool       `json:"bursting"`
	Out      []*float64 `json:"out"` // in the order of Device.Outputs
}

// A FaultKind is a kind of fault and its settings, for a form.
type FaultKind struct {
	Kind     string    `json:"kind"`
	Does     string    `json:"does"`
	Strikes  string    `json:"strikes"` // device, talker, line
	Settings []Setting `json:"settings"`
}

type Setting struct {
	Key     string `json:"key"`
	Says    string `json:"says"`
	Default string `json:"default"`
}

// Standing is what was done to the line and can be undone.
type Standing struct {
	Faults  []string `json:"faults"`  // names of those that are on
	Undo    string   `json:"undo"`    // what undo would undo; empty for nothing
	Restart string   `json:"restart"` // why the line cannot be put back to its start; empty: it can
	Scan    bool     `json:"scan"`    // one is under way
	Polls   []string `json:"polls"`   // what is polled, one a master
}

// News is something that happened: an action, electricity, who paused.
type News struct {
	Time float64 `json:"time"`
	By   string  `json:"by"`
	Says string  `json:"says"`
}

// An Ask is a question to the class: the line stands still until it is answered, or let
// go on.
type Ask struct {
	Open     bool     `json:"open"`
	Request  int64    `json:"request"`  // N of the message
	Question string   `json:"question"` // "who", "check byte"
	Text     string   `json:"text"`
	Choices  []string `json:"choices"` // for who: the stations and "nobody"
	Answer   string   `json:"answer"`  // what was right, once it is closed
	Says     string   `json:"says"`    // why, one sentence
	Given    string   `json:"given"`   // what was answered; empty where the line was let go on without an answer
	Right    bool     `json:"right"`
}
