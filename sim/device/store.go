package device

import "looptone/frame"

// A Store keeps what devices must remember when their power is lost.
type Store interface {
	// Save begins to keep m, in place of what was kept of the device with that
	// address, and returns at once: m is its own from then on.
	Save(device frame.Address, m Memory) Saving
}

// A Saving is on its way to what survives a loss of power.
type Saving interface {
	// Done reports whether it has arrived, or why it never will.
	Done() (done bool, err error)
}
