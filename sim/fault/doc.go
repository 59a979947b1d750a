// Package fault is what can be wrong on a line: with a device, with what a
// station sends, with the wires. Each fault strikes by chance, so many times, or
// for a time, and all by the line's seed: every fault draws from a source of its
// own, which follows from the seed and its name, so that one more fault changes
// nothing of what the others do.
//
// Where several strike one message they do so in the order in which they were
// added, each on what the one before has left. What a talker believes of its own
// message does not change: a master counts its timers from where its check byte
// should have been.
package fault
