package device

import (
	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// Config is what a device is when it leaves the factory.
type Config struct {
	Identity
	Tag         string // up to 8 characters of packed ASCII
	LongTag     string // up to 32 characters of Latin-1, from revision 6 on
	Descriptor  string // up to 16 characters of packed ASCII
	Message     string // up to 32 characters of packed ASCII
	Date        string // yyyy-mm-dd
	Polling     uint8
	LoopCurrent bool     // loop current mode: enabled; revision 5 has none, there the polling address decides
	Latency     sim.Tick // end of a request to the reply's first start bit
	Level       float32  // of its tones at the receivers, in volts peak to peak; 0 is usual
	ClockPPM    int32    // error of its clock: +1000 makes its bits 0.1 % longer
	Transmitter transmitter.Config

	// Trouble tells what is wrong when a request is answered; nil for nothing. It is
	// asked once for each request that is meant for the device and was understood, at
	// the end of the request.
	Trouble func(now sim.Tick, write bool) Trouble

	WriteProtect     bool          // writes are refused
	MultidropCurrent bool          // revision 5: a controller that is on drives the current at every polling address
	WriteTime        sim.Tick      // that a write takes; beyond the slave time-out its reply is delayed
	StoreTime        sim.Tick      // that a write takes until it is durable
	SaveEvery        sim.Tick      // from one saving of the totals to the next
	Store            Store         // nil: what was written is gone with the device
	Memory           Memory        // what it remembers from before
	Bursts           []Publication // what it publishes by itself; without one it does not begin by itself
}

// Identity is what a device tells of itself in reply to command 0.
type Identity struct {
	Revision         uint8 // universal revision, 5 to 7
	Maker            uint16
	Type             uint16 // revision 7: the expanded device type; before, one byte
	DeviceID         uint32 // 24 bits
	DeviceRevision   uint8
	SoftwareRevision uint8
	HardwareRevision uint8 // 5 bits
	Preambles        uint8 // that it wants in requests
	ReplyPreambles   uint8
}

// Unique is the device's unique address.
func (id *Identity) Unique() frame.Address {
	return frame.UniqueOf(id.Revision, id.Maker, id.Type, id.DeviceID)
}

// check refuses the first setting that is wrong.
func (c *Config) check() error {
	if c.Revision < 5 || c.Revision > 7 {
		return setting.Refuse("revision", c.Revision, "5, 6 or 7")
	}
	if err := checkPolling(c.Polling, c.Revision); err != nil {
		return err
	}
	switch {
	case c.DeviceID > 0xffffff:
		return setting.Refuse("device_id", c.DeviceID, "0 to %d", 0xffffff)
	case c.Latency < sim.CarrierLead || c.Latency > sim.SlaveTimeOut:
		return refuseLatency(c.Latency)
	case c.Revision < 7 && c.Maker > 0xff:
		return setting.Refuse("maker", c.Maker, "0 to 255 in revision %d", c.Revision)
	case c.Revision < 7 && c.Type > 0xff:
		return setting.Refuse("device_type", c.Type, "0 to 255 in revision %d", c.Revision)
	case c.Unique().IsBroadcast():
		return setting.Refuse("device_id", c.DeviceID, "another one: with this device_type it makes the broadcast address")
	}
	if err := c.checkPreambles(); err != nil {
		return err
	}
	if err := c.checkTexts(); err != nil {
		return err
	}
	return c.checkBursts()
}

func refuseLatency(latency sim.Tick) error {
	const name = "latency_ms"
	ms := func(t sim.Tick) string { return setting.Time(name, t.Duration()) }
	return setting.Refuse(name, ms(latency), "%s, which the carrier needs to come up, to %s, the slave time-out: "+
		"a device is later only by a fault", ms(sim.CarrierLead), ms(sim.SlaveTimeOut))
}

func checkPolling(polling, revision uint8) error {
	most := frame.MaxPolling
	if revision == 5 {
		most = frame.MaxPolling5
	}
	if int(polling) > most {
		return setting.Refuse("polling", polling, "0 to %d, as revision %d has them", most, revision)
	}
	return nil
}

// checkPreambles keeps the numbers of preambles that the standard allows.
//
// Source: Texas Instruments application note SLAAEH0, section 1.5.3 (5 to 20).
func (c *Config) checkPreambles() error {
	for _, n := range []struct {
		setting string
		got     uint8
	}{{"preambles", c.Preambles}, {"reply_preambles", c.ReplyPreambles}} {
		if n.got < 5 || n.got > 20 {
			return setting.Refuse(n.setting, n.got, "5 to 20")
		}
	}
	return nil
}

// checkTexts refuses texts that do not fit their field on the line.
func (c *Config) checkTexts() error {
	for _, t := range []struct {
		setting, text string
		append        func() ([]byte, error)
	}{
		{"tag", c.Tag, func() ([]byte, error) { return payload.AppendPackedASCII(nil, c.Tag, 6) }},
		{"descriptor", c.Descriptor, func() ([]byte, error) { return payload.AppendPackedASCII(nil, c.Descriptor, 12) }},
		{"message", c.Message, func() ([]byte, error) { return payload.AppendPackedASCII(nil, c.Message, 24) }},
		{"long_tag", c.LongTag, func() ([]byte, error) { return payload.AppendLatin1(nil, c.LongTag, 32) }},
		{"date", c.Date, func() ([]byte, error) { return payload.AppendDate(nil, c.Date) }},
	} {
		if _, err := t.append(); err != nil {
			return &setting.Error{Name: t.setting, Err: err}
		}
	}
	return nil
}
