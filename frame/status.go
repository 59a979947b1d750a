package frame

// Status is the two bytes that every reply and burst carries before its data.
type Status struct {
	Response Response
	Device   DeviceStatus
}

// Response is the first status byte: communication errors when bit 7 is set,
// otherwise a response code.
type Response uint8

// Code is the response code, 0 to 127; ok is false when the byte reports
// communication errors instead.
func (r Response) Code() (code uint8, ok bool) { return uint8(r), r&0x80 == 0 }

// Errors are the communication errors that the byte reports; ok is false when
// it holds a response code.
func (r Response) Errors() (f Faults, ok bool) {
	if r&0x80 == 0 {
		return 0, false
	}
	return Faults(r) & allFaults, true
}

// Faults is a set of communication errors as a device reports them, in the bit
// places of the first status byte.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4; Moore
// Industries THZ2/TDZ2 transmitter manual p.29.
type Faults uint8

const (
	VerticalParity     Faults = 0x40 // a character's parity bit
	Overrun            Faults = 0x20
	FramingError       Faults = 0x10 // a character's stop bit
	LongitudinalParity Faults = 0x08 // the check byte
	BufferOverflow     Faults = 0x02
)

const allFaults = VerticalParity | Overrun | FramingError | LongitudinalParity | BufferOverflow

// Response is the status byte that reports f.
func (f Faults) Response() Response { return Response(f) | 0x80 }

// Names lists the faults of the set, top bit first; empty, not nil, when there
// are none.
func (f Faults) Names() []string { return f.AppendNames([]string{}) }

// AppendNames appends what Names lists to dst.
func (f Faults) AppendNames(dst []string) []string {
	return appendNames(dst, uint8(f), &faultNames)
}

var faultNames = [8]string{1: "vertical parity", 2: "overrun", 3: "framing",
	4: "longitudinal parity", 6: "buffer overflow"}

// DeviceStatus is the second status byte, the field device status.
//
// Source: Moore Industries THZ2/TDZ2 transmitter manual p.29.
type DeviceStatus uint8

const (
	DeviceMalfunction             DeviceStatus = 0x80
	ConfigurationChanged          DeviceStatus = 0x40
	ColdStart                     DeviceStatus = 0x20
	MoreStatusAvailable           DeviceStatus = 0x10
	LoopCurrentFixed              DeviceStatus = 0x08
	LoopCurrentSaturated          DeviceStatus = 0x04
	NonPrimaryVariableOutOfLimits DeviceStatus = 0x02
	PrimaryVariableOutOfLimits    DeviceStatus = 0x01
)

// Names lists what the byte says, top bit first; empty, not nil, for 0.
func (s DeviceStatus) Names() []string { return s.AppendNames([]string{}) }

// AppendNames appends what Names lists to dst.
func (s DeviceStatus) AppendNames(dst []string) []string {
	return appendNames(dst, uint8(s), &statusNames)
}

var statusNames = [8]string{"device malfunction", "configuration changed", "cold start",
	"more status available", "loop current fixed", "loop current saturated",
	"non-primary variable out of limits", "primary variable out of limits"}

// appendNames appends the names of the bits that are set, top bit first.
func appendNames(dst []string, bits uint8, of *[8]string) []string {
	for i, name := range of {
		if bits&(0x80>>i) != 0 && name != "" {
			dst = append(dst, name)
		}
	}
	return dst
}
