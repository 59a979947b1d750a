package main

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/master"
)

// An order is a command that is to be asked for again and again.
type order struct {
	command uint16
	data    []byte
}

// An asking is an order to one device, with a period; 0 is as often as there are
// turns.
type asking struct {
	device master.Target
	order
	every time.Duration
}

// parseAsking reads DEVICE:COMMAND[=HEX][:PERIOD]. It begins at the end, as a tag
// may have colons of its own.
func parseAsking(text string) (a asking, err error) {
	rest, last, ok := cutLast(text, ":")
	if period, err := time.ParseDuration(last); ok && err == nil && last != "0" {
		if period < shortestPeriod || period > longestPeriod {
			return a, fmt.Errorf("period %v is out of range, want %v to %v", period, shortestPeriod, longestPeriod)
		}
		a.every = period
		rest, last, ok = cutLast(rest, ":")
	}
	if !ok || rest == "" {
		return a, errors.New("want DEVICE:COMMAND or DEVICE:COMMAND:PERIOD, for instance LT-103:3:2s")
	}
	if a.order, err = parseOrder(last); err != nil {
		return a, err
	}
	a.device, err = parseTarget(rest)
	return a, err
}

func cutLast(s, sep string) (before, after string, found bool) {
	i := strings.LastIndex(s, sep)
	if i < 0 {
		return "", s, false
	}
	return s[:i], s[i+len(sep):], true
}

// parseOrder reads COMMAND[=HEX], such as 3 or 9=00010203.
func parseOrder(text string) (o order, err error) {
	number, data, _ := strings.Cut(text, "=")
	n, err := strconv.ParseUint(number, 10, 16)
	if err != nil {
		return o, fmt.Errorf("%q is no command, want 0 to 65535, with data as in 9=00010203", text)
	}
	if o.data, err = hex.DecodeString(data); err != nil {
		return o, fmt.Errorf("data %q of command %d are no hex, want pairs of hex digits", data, n)
	}
	o.command = uint16(n)
	request := frame.Frame{Kind: frame.STX, Address: frame.Broadcast}
	request.SetNumber(o.command, o.data)
	if _, err := request.AppendBinary(nil); err != nil {
		return o, fmt.Errorf("data of %d bytes do not fit into a request", len(o.data))
	}
	return o, nil
}

// parseTarget reads which device is meant: ten hex digits are a unique address, a
// number is a polling address, all else is a tag or a long tag.
func parseTarget(text string) (t master.Target, err error) {
	if unique, err := frame.ParseUnique(text); err == nil {
		return master.Target{Address: unique}, nil
	}
	if n, err := strconv.ParseInt(text, 10, 64); err == nil {
		if n < 0 || n > frame.MaxPolling {
			return t, fmt.Errorf("%s is no polling address, want 0 to %d; or a unique address of 10 hex digits, or a tag", text, frame.MaxPolling)
		}
		return master.Target{Address: frame.Polling(uint8(n))}, nil
	}
	if text == "" {
		return t, errors.New("want a tag, a polling address or a unique address")
	}
	if err := master.CheckTag(text); err != nil {
		return t, fmt.Errorf("tag %q %w", text, err)
	}
	return master.Target{Tag: text}, nil
}

// targetName is how a person calls a device that has not introduced itself.
func targetName(t master.Target) string {
	if t.Tag != "" {
		return t.Tag
	}
	if n, ok := t.Address.IsPolling(); ok {
		return fmt.Sprintf("polling address %d", n)
	}
	return t.Address.String()
}

// check refuses what may write to a device of a type, and what cannot be asked
// without data.
func (o order) check(book *payload.Book, of payload.DeviceType) error {
	def, known := book.Lookup(o.command, of)
	switch {
	case !known:
		return fmt.Errorf("poll only reads, and nothing is known of command %d: define it in a file for --commands", o.command)
	case book.Writes(o.command, of):
		return fmt.Errorf("poll only reads, and command %d (%s) writes: send does that", o.command, def.Name)
	case len(o.data) > 0:
		return nil
	}
	if _, err := encodeFields(def, o.command, frame.STX, 0, nil); err != nil {
		return fmt.Errorf("%w; give the data as hex, as in %d=00", err, o.command)
	}
	return nil
}

// queries is a schedule as the master wants it. Nothing may stand there twice.
func queries(list []asking) ([]master.Query, error) {
	var all []master.Query
	seen := map[string]bool{}
	for _, a := range list {
		key := fmt.Sprint(targetName(a.device), " ", a.command, " ", a.data)
		if seen[key] {
			return nil, fmt.Errorf("command %d of %s is asked for twice", a.command, targetName(a.device))
		}
		seen[key] = true
		all = append(all, master.Query{Device: a.device, Command: a.command, Data: a.data, Every: sim.Ticks(a.every)})
	}
	return all, nil
}

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

// shortest is how long one round takes at least, with devices that answer at once and
// want as few preambles as may be.
func shortest(queries ...master.Query) master.Terms {
	return master.Shortest(queries, master.Preambles(0), 0)
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
