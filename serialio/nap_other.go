//go:build !linux

package serialio

import "time"

func nap(d time.Duration) { time.Sleep(d) }
