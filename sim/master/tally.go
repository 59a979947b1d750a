package master

import (
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim"
)

// A Tally counts the requests of one command to a device, of a device, or of all.
type Tally struct {
	Name    string // of the device; empty for all
	Command int    // -1 for all commands

	Asked    int64 // = Answered + Damaged + Silent + Busy + the one under way, if it is one of these
	Answered int64 // the device carried the command out or refused it
	Damaged  int64 // something could not be read: by the master, or by the device, which said so
	Silent   int64
	Busy     int64              // the device was busy, or a delayed response goes on
	Retries  int64              // of Asked, those that repeat one before
	Response exchange.Quantiles // of Answered and Busy
	Occupied sim.Tick           // how long its requests and their replies had the line, carriers included
	Last     sim.Tick           // when the last answer ended; 0 for never
}

// wholeDevice stands for all commands of a device, or of all devices.
const wholeDevice = -1

// verdict is how a request fared, as it is counted.
type verdict uint8

const (
	answered verdict = iota + 1
	damaged
	silent
	busy
)

func (t *Transaction) verdict() verdict {
	switch code, understood := t.Reply.Status.Response.Code(); {
	case t.Outcome == Silent:
		return silent
	case t.Outcome != Answered || !understood:
		return damaged
	case payload.Unfinished(code):
		return busy
	}
	return answered
}

// counter is a tally that is being kept.
type counter struct {
	tally    Tally
	response exchange.ResponseTimes
}

// add counts a request that has ended.
func (c *counter) add(t *Transaction, v verdict, retry bool) {
	n := &c.tally
	n.Asked++
	if retry {
		n.Retries++
	}
	switch v {
	case answered:
		n.Answered++
		n.Last = t.Ended
	case damaged:
		n.Damaged++
	case silent:
		n.Silent++
	case busy:
		n.Busy++
	}
	if v == answered || v == busy {
		c.response.Add(exchange.Elapsed{Known: true, Time: t.ResponseTime.Duration(), Uncertainty: t.Late.Duration()})
	}
	n.Occupied += t.Occupied
}

// tell is the count so far, with what is under way.
func (c *counter) tell(requests, retries int64) Tally {
	t := c.tally
	t.Asked += requests
	t.Retries += retries
	t.Response = c.response.Quantiles()
	return t
}
