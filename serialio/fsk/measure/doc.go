// Package measure measures a waveform: what tones are in it, when bits and carriers begin
// and end, what lies under and beside them, and how that stands to what is published of
// the signal.
//
// Where the characters are is found by [fsk.Demodulator]. That says which tone there is
// from which bit to which, a run; everything else is measured on the samples. In each run
// a sinusoid is fitted by least squares, away from its ends. Its phase, where it is
// carried on to the next run, meets that one's: there is the edge, if the phase does not
// jump. If it jumps, the edge is where the samples leave the one sinusoid for the other.
// What is left when the tones are taken away shows what lies under them, and with that
// taken away they are fitted again, some times over.
//
// Samples are read once; what is held of them is a carrier, or a part of it.
package measure
