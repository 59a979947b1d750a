// Package fsk makes samples of characters and characters of samples: 1200 bit/s, a 1 is
// 1200 Hz and a 0 is 2200 Hz, and the phase is continuous.
package fsk

// The tones and the bit rate.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3.
const (
	BitRate = 1200.0 // bit/s
	MarkHz  = 1200.0 // of a 1
	SpaceHz = 2200.0 // of a 0
)
