// Package modemcheck is the bench test of a modem. Messages that follow from a seed go
// through it; what comes out is held against what went in, character by character and
// moment by moment.
//
// There are three hook-ups: [Loopback], one port whose own messages come back; [Pair],
// two ports with a modem each, of which now one talks and now the other; and [Line], a
// port that asks while a line behind a second port answers. Each shows other limits.
// What a hook-up cannot show, or what nothing was heard of, is [NotMeasurable] and never
// [Kept].
//
// [Plan], [Compare], [CompareEach] and [Way.Judge] compute and do nothing else. What a receiver
// makes of tones, of which ports know nothing, is tested by package stimulus.
package modemcheck
