package page

// What a browser asks for: POST /do with a JSON object, up to 64 KiB, as
// application/json, and the key in the header X-Looptone-Key. Preview shows what would
// be sent or done, and does nothing. The answer is an Outcome with status 200, also where the line refuses what is
// wanted. Who asks wrongly is told so in text: 400 where it is no wish, 403 without the
// key or from another page, 413 and 415 for too much and for another kind of content.

// A Wish is what somebody at a browser wants done.
type Wish struct {
	Do      string `json:"do"`
	By      string `json:"by"` // what he calls himself, up to 40 characters
	Preview bool   `json:"preview"`

	Pace    float64        `json:"pace"`    // of "pace": 0.001 to 1
	As      string         `json:"as"`      // of scan, poll, quiet, send: primary or secondary
	Device  string         `json:"device"`  // tag: of poll and send
	Polling *int           `json:"polling"` // instead of it
	To      *int           `json:"to"`      // of scan: the last polling address, 15
	Command int            `json:"command"`
	Every   float64        `json:"every"`  // seconds, of poll
	Fields  map[string]any `json:"fields"` // of send and poll: the data by the names of its fields
	Data    string         `json:"data"`   // instead of them: hex
	Yes     bool           `json:"yes"`    // of send: the caution was read, and it is to be written
	Action  map[string]any `json:"action"` // of act: as on --control
	Ask     string         `json:"ask"`    // of ask: off, who, check byte
	Answer  string         `json:"answer"` // of answer
}

// The wishes: pause, go, pace, step (one message on), ask, answer, scan, poll, quiet
// (no more polling), send, act, undo, restart.

// An Outcome is what came of a wish.
type Outcome struct {
	OK      bool   `json:"ok"`
	Error   string `json:"error,omitempty"`
	Says    string `json:"says,omitempty"`   // what was done or would be, one sentence
	Hex     string `json:"hex,omitempty"`    // the message that would be sent, preambles included
	Boxes   []Box  `json:"boxes,omitempty"`  // taken apart
	Action  string `json:"action,omitempty"` // the action, as --control takes it
	Caution string `json:"caution,omitempty"`
}
