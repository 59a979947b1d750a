package serialio

// PortInfo is a serial port of this machine, and what stands behind it as far as the
// operating system knows.
type PortInfo struct {
	Name   string   // what [Open] takes
	Driver string   // of the operating system; "" where it is not known
	USB    *USBInfo // nil where it is not on USB
}

// USBInfo is the adapter that a port belongs to.
type USBInfo struct {
	Vendor, Product string // codes, four hex digits
	Name            string // that the adapter gives itself; may be empty
}

// Ports are the serial ports of this machine with hardware behind them, by their names.
// None is opened: that would put RTS and DTR on. An error is an [*OpError].
func Ports() ([]PortInfo, error) {
	ports, err := listPorts()
	if err != nil {
		return nil, &OpError{Op: "list ports", Err: err}
	}
	return ports, nil
}
