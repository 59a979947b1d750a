// Package payload gives the data of a frame a meaning. One [Definition] a
// command, which is pure data, encodes, decodes and explains: a master builds
// its requests from it, a simulated device its replies, a listener its
// sentences.
//
// A [Layout] places fields one behind another:
//
//	Head          Group, Min to Max times     Tail    extra bytes
//	┌───┬───┬───┐ ┌───┬───┐ ┌───┬───┐         ┌───┐   ┌─ ─ ─ ─ ─
//	└───┴───┴───┘ └───┴───┘ └───┴───┘ …       └───┘   └─ ─ ─ ─ ─
//	              slot 0    slot 1                    of a newer revision
//
// A field may be some bits of a byte, may name the field that holds its unit,
// and a unit may name the field that holds the class on which it depends. Bytes
// may name the field that holds their number; then they end their list, and slots
// have lengths of their own. All numbers stand on the wire with their most
// significant byte first.
//
// Devices of one revision may differ: then the revision has several layouts,
// which the length of the data tells apart.
//
// Data, here, are what stands between the status bytes and the check byte,
// without the number of an extended command.
//
// Source for the layouts: the manuals named at each file of definitions.
package payload
