package page

import (
	"encoding/hex"
	"fmt"
	"strings"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim/device"
	"looptone/sim/master"
)

// A whom is a device that is asked, as the line knows it; or, without one, a polling
// address.
type whom struct {
	device  *device.Device // nil: nobody is known there
	address frame.Address
}

// whom finds the device that a wish is about.
func (h *Hands) whom(w *Wish) (whom, error) {
	if w.Polling != nil {
		return h.atPolling(w)
	}
	for _, d := range h.assembly.Devices {
		if d.Config().Tag == w.Device {
			return whom{d, d.Config().Unique()}, nil
		}
	}
	if w.Device == "" {
		return whom{}, fmt.Errorf("device: none is given, want one of %s", h.tags())
	}
	return whom{}, fmt.Errorf("device: got %q, want one of %s", w.Device, h.tags())
}

// atPolling finds the device at a polling address. Everybody there hears command 0; all
// else is said to one device by its unique address.
func (h *Hands) atPolling(w *Wish) (found whom, err error) {
	n := uint8(*w.Polling)
	if w.Command == 0 {
		return whom{nil, frame.Polling(n)}, nil
	}
	var there []string
	for _, d := range h.assembly.Devices {
		if d.Polling() == n {
			found = whom{d, d.Config().Unique()}
			there = append(there, d.Config().Tag)
		}
	}
	switch len(there) {
	case 0:
		return found, fmt.Errorf("polling: nobody of this line is at polling address %d: want another one, or command 0, which asks who is there", n)
	case 1:
		return found, nil
	}
	return found, fmt.Errorf("polling: %s share polling address %d: want a device by its tag, or command 0, which asks all of them", strings.Join(there, " and "), n)
}

func (h *Hands) tags() string {
	var list []string
	for _, d := range h.assembly.Devices {
		list = append(list, d.Config().Tag)
	}
	return strings.Join(list, ", ")
}

func (w *whom) name() string {
	if w.device != nil {
		return w.device.Config().Tag
	}
	n, _ := w.address.IsPolling()
	return fmt.Sprintf("polling address %d", n)
}

func (w *whom) revision() uint8 {
	if w.device != nil {
		return w.device.Config().Revision
	}
	return payload.NewestRevision
}

func (w *whom) deviceType() payload.DeviceType { return payload.DeviceTypeOf(w.address) }

// preambles is how many go in front of what is said to it.
func (w *whom) preambles() int {
	if w.device != nil {
		return master.Preambles(w.device.Config().Preambles)
	}
	return master.Preambles(255)
}

// known is the device as somebody who has listened for long knows it.
func (w *whom) known() *exchange.Device {
	if w.device == nil {
		return nil
	}
	c := w.device.Config()
	return &exchange.Device{Unique: w.address, Polling: int(w.device.Polling()), Revision: c.Revision,
		Manufacturer: c.Maker, DeviceType: c.Type, DeviceRevision: c.DeviceRevision, Tag: c.Tag, LongTag: c.LongTag}
}

// encode is the data of a command, from the fields or the hex of a wish.
func (w *whom) encode(wish *Wish) (data []byte, err error) {
	if wish.Data != "" {
		if data, err = hex.DecodeString(strings.ReplaceAll(wish.Data, " ", "")); err != nil {
			return nil, fmt.Errorf("data: got %q, want pairs of hex digits", wish.Data)
		}
		return data, nil
	}
	words, err := wish.words()
	if err != nil {
		return nil, err
	}
	def, known := payload.Lookup(uint16(wish.Command))
	switch {
	case (!known || len(def.Request) == 0) && len(words) == 0:
		return nil, nil
	case !known || len(def.Request) == 0:
		return nil, fmt.Errorf("fields: nothing is known of those of command %d: want its data as hex", wish.Command)
	}
	if data, err = def.AppendWords(nil, frame.STX, w.revision(), words); err != nil {
		return nil, fmt.Errorf("fields: command %d (%s): %w", def.Command, def.Name, err)
	}
	return data, nil
}
