package frame

import (
	"errors"
	"fmt"
)

const (
	// MaxLen is the length of the longest frame, delimiter to check byte.
	MaxLen = 1 + 5 + 3 + 1 + 1 + MaxCount + 1
	// MaxCount is the largest byte count.
	MaxCount = 255
	// MaxReplyData is the largest number of data bytes beside two status bytes.
	MaxReplyData = MaxCount - statusLen
	// ExtendedCommand is the command byte that says that a command number of
	// two bytes leads the data.
	//
	// Source: Flowserve LMENIM2340-00, p.32; its place in the data from memory.
	ExtendedCommand = 31

	statusLen = 2
)

// A Frame is one message from delimiter to check byte. Byte count and check
// byte follow from the rest and are not stored. Frames that the package hands
// out share their slices with the bytes they were read from; [Frame.Clone]
// keeps one.
type Frame struct {
	Kind      Kind
	Physical  uint8 // type of the physical layer, 0 = FSK
	Address   Address
	Primary   bool   // the master that asks, or is answered, is the primary one
	Burst     bool   // the slave is in burst mode
	Expansion []byte // 0 to 3 bytes
	Command   uint8
	Status    Status // replies and bursts only
	Data      []byte // behind the status bytes
}

// Number is the command's number: the command byte, or behind
// [ExtendedCommand] the number that leads the data, if they hold one.
func (f *Frame) Number() uint16 {
	if f.Command == ExtendedCommand && len(f.Data) >= 2 {
		return uint16(f.Data[0])<<8 | uint16(f.Data[1])
	}
	return uint16(f.Command)
}

// Payload is the data without the number of an extended command.
func (f *Frame) Payload() []byte {
	if f.Command == ExtendedCommand && len(f.Data) >= 2 {
		return f.Data[2:]
	}
	return f.Data
}

// SetNumber sets the command, as an extended one where n does not fit a byte;
// payload is the data that go with it.
func (f *Frame) SetNumber(n uint16, payload []byte) {
	if n <= 255 {
		f.Command, f.Data = uint8(n), payload
		return
	}
	f.Command, f.Data = ExtendedCommand, append([]byte{byte(n >> 8), byte(n)}, payload...)
}

// Clone is a copy of f that shares nothing with it.
func (f *Frame) Clone() Frame {
	c := *f
	c.Expansion = append([]byte(nil), f.Expansion...)
	c.Data = append([]byte(nil), f.Data...)
	return c
}

// ErrField tells that a frame cannot be written down.
var ErrField = errors.New("cannot be written")

// AppendBinary writes f to dst, delimiter to check byte.
func (f *Frame) AppendBinary(dst []byte) ([]byte, error) {
	if err := f.check(); err != nil {
		return dst, err
	}
	start := len(dst)
	dst = append(dst, byte(f.delimiter()))
	dst = f.Address.append(dst, f.flags())
	dst = append(dst, f.Expansion...)
	dst = append(dst, f.Command, byte(f.count()))
	if f.Kind.FromSlave() {
		dst = append(dst, byte(f.Status.Response), byte(f.Status.Device))
	}
	dst = append(dst, f.Data...)
	return append(dst, CheckByte(dst[start:])), nil
}

// AppendPreambles writes n FF characters to dst.
func AppendPreambles(dst []byte, n int) []byte {
	for range n {
		dst = append(dst, 0xff)
	}
	return dst
}

func (f *Frame) check() error {
	switch {
	case !f.Kind.Known():
		return fmt.Errorf("delimiter %w: %v, want STX, ACK or BACK", ErrField, f.Kind)
	case f.Physical > 3:
		return fmt.Errorf("physical layer type %w: got %d, want 0 to 3", ErrField, f.Physical)
	case len(f.Expansion) > 3:
		return fmt.Errorf("expansion %w: got %d bytes, want 0 to 3", ErrField, len(f.Expansion))
	case f.count() > MaxCount:
		room := MaxCount - (f.count() - len(f.Data))
		return fmt.Errorf("data %w: got %d bytes, want at most %d", ErrField, len(f.Data), room)
	}
	return nil
}

func (f *Frame) delimiter() Delimiter {
	d := Delimiter(f.Kind) | Delimiter(f.Physical)<<3 | Delimiter(len(f.Expansion))<<5
	if f.Address.long {
		d |= 0x80
	}
	return d
}

func (f *Frame) flags() (b byte) {
	if f.Primary {
		b |= 0x80
	}
	if f.Burst {
		b |= 0x40
	}
	return b
}

func (f *Frame) count() int {
	if f.Kind.FromSlave() {
		return statusLen + len(f.Data)
	}
	return len(f.Data)
}

// Parse reads b, which must be exactly one frame from delimiter to check byte.
// The frame shares its slices with b. An error is a [*FaultError]; its frame
// then holds what was read up to the fault.
func Parse(b []byte) (Frame, error) {
	var f Frame
	field, at := f.read(b)
	if field == FieldCheckByte && at < len(b) && b[at] == CheckByte(b[:at]) {
		field, at = 0, at+1
	}
	if field == 0 && at == len(b) {
		return f, nil
	}
	fault := &FaultError{Field: field, At: int64(at)}
	switch {
	case field == 0:
		fault.Field, fault.Err = FieldCheckByte, ErrTrailing
	case at == len(b):
		fault.Err = ErrCut
	case field == FieldDelimiter:
		fault.Err = ErrFrameType
	case field == FieldByteCount:
		fault.Err = ErrByteCount
	default:
		fault.Err, fault.Compared = ErrCheckByte, true
		fault.Got, fault.Want = b[at], CheckByte(b[:at])
	}
	return f, fault
}

// read takes a frame from the front of b, up to its check byte, and tells where
// the reading stood when it could not go on: at the check byte where all is well.
// f must be zero.
func (f *Frame) read(b []byte) (field Field, at int) {
	if len(b) == 0 || !Delimiter(b[0]).Kind().Known() {
		return FieldDelimiter, 0
	}
	d := Delimiter(b[0])
	f.Kind, f.Physical = d.Kind(), d.Physical()
	at = 1 + d.addressLen()
	if len(b) < at {
		return FieldAddress, len(b)
	}
	f.Address = addressOf(b[1:at])
	f.Primary, f.Burst = b[1]&0x80 != 0, b[1]&0x40 != 0
	if n := d.Expansion(); n > 0 {
		if len(b) < at+n {
			return FieldExpansion, len(b)
		}
		f.Expansion = b[at : at+n : at+n]
		at += n
	}
	if len(b) == at {
		return FieldCommand, at
	}
	f.Command = b[at]
	return f.readCounted(b, at+1)
}

// readCounted reads from the byte count at at on.
func (f *Frame) readCounted(b []byte, at int) (Field, int) {
	if len(b) == at {
		return FieldByteCount, at
	}
	start, end := at+1, at+1+int(b[at])
	if f.Kind.FromSlave() {
		if end-start < statusLen {
			return FieldByteCount, at
		}
		if len(b) < start+statusLen {
			return FieldStatus, len(b)
		}
		f.Status = Status{Response(b[start]), DeviceStatus(b[start+1])}
		start += statusLen
	}
	if len(b) < end {
		f.Data = b[start:len(b):len(b)]
		return FieldData, len(b)
	}
	f.Data = b[start:end:end]
	return FieldCheckByte, end
}
