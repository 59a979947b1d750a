package device

import (
	"looptone/frame/payload"
	"looptone/sim"
)

// A write is what the device does for a command that writes. do changes m, a copy
// of what the device remembers, or what it does not need to remember; with a code
// that says that the command was not executed, nothing has changed.
type write struct {
	do         func(d *Device, r *request, m *Memory) (code uint8)
	configures bool // the configuration is another one afterwards
	keeps      bool // there is something to keep afterwards
}

// The kinds of writes.
func configuring(do func(*Device, *request, *Memory) uint8) write { return write{do, true, true} }
func noting(do func(*Device, *request, *Memory) uint8) write      { return write{do, false, true} }
func acting(do func(*Device, *request, *Memory) uint8) write      { return write{do, false, false} }

// writes are the commands that this device carries out. Others are not
// implemented.
var writes = map[uint16]write{
	6:   configuring((*Device).writePolling),
	17:  configuring((*Device).writeMessage),
	18:  configuring((*Device).writeTag),
	19:  configuring((*Device).writeFinalAssembly),
	22:  configuring((*Device).writeLongTag),
	34:  configuring((*Device).writeDamping),
	35:  configuring((*Device).writeRange),
	36:  configuring((*Device).setUpperRange),
	37:  configuring((*Device).setLowerRange),
	38:  noting((*Device).resetChanged),
	39:  acting((*Device).controlEEPROM),
	40:  acting((*Device).fixCurrent),
	41:  acting((*Device).selfTest),
	42:  acting((*Device).reset),
	43:  configuring((*Device).setZero),
	44:  configuring((*Device).writeUnit),
	45:  configuring((*Device).trimCurrentZero),
	46:  configuring((*Device).trimCurrentGain),
	47:  configuring((*Device).writeTransfer),
	49:  configuring((*Device).writeSerial),
	51:  configuring((*Device).writeAssignments),
	52:  configuring((*Device).setVariableZero),
	53:  configuring((*Device).writeVariableUnit),
	55:  configuring((*Device).writeVariableDamping),
	56:  configuring((*Device).writeVariableSerial),
	58:  configuring((*Device).writeTag),
	59:  configuring((*Device).writeReplyPreambles),
	79:  acting((*Device).writeVariable),
	82:  configuring((*Device).writeTrimPoint),
	83:  configuring((*Device).resetTrim),
	103: configuring((*Device).writeBurstPeriod),
	104: configuring((*Device).writeBurstTrigger),
	106: acting((*Device).flushDelayed),
	107: configuring((*Device).writeBurstVariables),
	108: configuring((*Device).writeBurstCommand),
	109: configuring((*Device).controlBurst),
}

// isProtected reports whether a command is refused in write protect mode: all
// that writes but tests, a reset, and the flushing of delayed responses.
//
// Source: Flowserve LMENIM2340-00 p.70 (106 knows no such code); 41 and 42 from
// memory.
func isProtected(command uint16) bool {
	switch command {
	case 41, 42, 106:
		return false
	}
	return true
}

// write carries out a command that writes, or puts it off.
func (d *Device) write(r *request, def *payload.Definition, w write) (code uint8) {
	switch {
	case d.cfg.WriteProtect && isProtected(r.command):
		return writeProtected
	case r.now < d.testing:
		return busy
	case !w.keeps:
		return d.carryOut(r, w)
	case d.writeTime() > sim.SlaveTimeOut, d.delayed.concerns(r):
		return d.delay(r, def)
	case d.unsaved.saving != nil: // of a write whose reply came too late
		return busy
	}
	return d.carryOut(r, w)
}

// carryOut carries out a command that writes, all of it or nothing.
func (d *Device) carryOut(r *request, w write) (code uint8) {
	m, before, totals := d.memory, d.memory, d.transmitter.Totals()
	code = w.do(d, r, &m)
	if !payload.Executed(code) {
		return code
	}
	if w.configures {
		m.Changes++
		m.ChangedSecondary, m.ChangedPrimary = true, true
	}
	if d.adopt(r.now, &m) != nil {
		return deviceError
	}
	if d.isParked(&m) {
		d.heldMA = 0
	}
	r.wrote = true
	if d.cfg.Store == nil || !w.keeps {
		return code
	}
	if totals == d.transmitter.Totals() {
		d.save(before, nil)
	} else {
		d.save(before, &totals)
	}
	return code
}
