package serialio

import "golang.org/x/sys/unix"

// markErrors has the tty say which characters have a wrong parity or stop bit, in the
// way that an [unescaper] takes apart. The setting belongs to the tty, so a descriptor
// beside that of the serial library serves.
func markErrors(fd int) (bool, error) {
	t, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return false, err
	}
	t.Iflag |= unix.INPCK | unix.PARMRK
	t.Iflag &^= unix.IGNPAR | unix.IGNBRK | unix.BRKINT | unix.ISTRIP
	return true, unix.IoctlSetTermios(fd, unix.TCSETS, t)
}
