// Package wave reads and writes waveforms: samples of one voltage, at even times. It
// knows nothing of tones but how many samples a second they need.
//
// It writes WAV files of one channel. It reads WAV files of any number of channels, in
// integers or in floating point, those of more than 4 GiB and of recorders that were
// stopped too; and the CSV of oscilloscopes: remarks, a header and units above the rows,
// either decimal sign, times with few digits. Both are read as they come, in constant
// memory, from a pipe too.
package wave
