// Package statefile keeps what simulated devices remember in one file, through
// any death of the process and any loss of power.
//
// The file is a bbolt file with two buckets:
//
//	looptone   format   "1"
//	           digest   SHA-256 of everything in devices, see digest
//	devices    unique address, ten hex digits → [device.Memory] as JSON
//
// bbolt's copy on write keeps the state before a transaction whole until the one
// after it, and a transaction is one write of records and digest together: what
// is found after a death is what was there before a transaction or behind it.
// bbolt has no checksum of what it keeps and trusts its pages: a wrong one ends
// the process or runs in a circle. So [Open] follows every page by itself first
// and compares the digest; what does not fit is refused and left as it is.
package statefile
