package serialio

import (
	"time"

	"golang.org/x/sys/unix"
)

// nap sleeps for d by the kernel's own clock; a signal may end it early.
func nap(d time.Duration) {
	t := unix.NsecToTimespec(int64(d))
	unix.ClockNanosleep(unix.CLOCK_MONOTONIC, 0, &t, nil)
}
