// Package sim is a two-wire line in simulated time, with stations on it: it
// carries characters from talker to listeners, lets two carriers at once
// spoil each other bit by bit, and tells every station what it hears and when.
// It reads no clock and starts no goroutine; a run is reproducible from its
// seed.
package sim
