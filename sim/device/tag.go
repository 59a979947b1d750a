package device

// The commands that name a device.

func (d *Device) writeMessage(r *request, m *Memory) (code uint8) {
	message, _ := r.text("message")
	m.Message = &message
	return success
}

// writeTag serves 18, and 58 for a device that is one unit.
func (d *Device) writeTag(r *request, m *Memory) (code uint8) {
	date, ok := r.text("date")
	if !ok {
		return invalidDate
	}
	tag, _ := r.text("tag")
	descriptor, _ := r.text("descriptor")
	m.Tag, m.Descriptor, m.Date = &tag, &descriptor, &date
	return success
}

func (d *Device) writeLongTag(r *request, m *Memory) (code uint8) {
	tag, _ := r.text("long tag")
	m.LongTag = &tag
	return success
}

func (d *Device) writeFinalAssembly(r *request, m *Memory) (code uint8) {
	n := r.whole("final assembly number")
	m.FinalAssembly = &n
	return success
}

func (d *Device) writeSerial(r *request, m *Memory) (code uint8) {
	n := r.whole("transducer serial number")
	m.SerialNumber = &n
	return success
}

// writeReplyPreambles keeps the numbers that the standard allows.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.38 (5 to 20).
func (d *Device) writeReplyPreambles(r *request, m *Memory) (code uint8) {
	n := uint8(r.whole("response preambles"))
	if code := within(float64(n), true, 5, 20); code != success {
		return code
	}
	m.ReplyPreambles = &n
	return success
}
