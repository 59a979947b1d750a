// Package wave reads and writes waveforms: samples of one voltage, at even times. It
// knows nothing of tones.
package wave
