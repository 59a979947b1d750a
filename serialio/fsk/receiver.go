package fsk

// A receiver reads the characters of a carrier, from when it is heard to its end.
type receiver struct {
	front   *front
	got     func(Heard)
	framing framing
	trellis trellis

	on       bool
	told     bool  // the carrier was
	traced   bool  // where the carrier began is known better
	began    int64 // cell
	from     int64 // what is before that is decided
	decided  int64 // the end of the last character, or where the carrier began
	quiet    int64 // until then there is only mark since from
	next     int64 // the next cell that makes it worth while to look again
	scanned  int64 // until then the carrier is there, or its end is known
	off      int64 // its end; 0 as long as it goes on
	over     int64 // end of the carrier before
	strength float64
	lately   float64 // the mean level of the last bits, of strength
	before   float64 // that of the last

	running bool // characters follow each other
	clock   clock
	score   [places]float64
	locked  bool // just now
	unity   float64
	wrong   float64 // characters of late, that had a wrong parity or stop bit
	first   Heard   // character, until it is certain that it is a carrier
	waits   bool    // that one
	clearly bool    // it is one
	sure    bool    // it is a carrier beyond doubt
}

const (
	border   = 0.7  // of the amplitude: between what is carrier and what is not
	louder   = 1.5  // of the amplitude: a carrier does not become that within some characters
	stir     = 0.4  // of the amplitude: a start bit is above that
	rise     = 5    // cells from where a start bit stirs to where it is whole
	backward = 1200 // cells that are looked at, at most, for a begin before what was heard
)

// begin begins with a carrier that was heard. Where there is much beside it, it may have
// begun long before: then it is told of when that is known.
func (r *receiver) begin(at int64, amplitude float64, clean bool) {
	at = max(at-bit, r.over, 0) // rather too early than behind the first character
	r.on, r.waits, r.told, r.traced, r.running, r.sure, r.off, r.next = true, false, false, false, false, false, 0, 0
	r.began, r.from, r.scanned, r.strength = at, at, at, amplitude
	r.unity = 0.8
	if clean {
		r.tell()
	}
}

// tell tells of the carrier.
func (r *receiver) tell() {
	r.told = true
	r.got(Heard{At: float64(r.began) / innerRate, Bit: 1 / BitRate, Carrier: +1})
}

// work goes on as far as cells go.
func (r *receiver) work() {
	end := r.front.end() - 1
	if !r.traced {
		if end < r.began+6*bit {
			return
		}
		r.trace()
	}
	for r.on {
		if r.running && !r.run(end) || !r.running && !r.hunt(end) {
			return
		}
	}
}

// trace looks for where the carrier began, which in noise is before it was heard.
func (r *receiver) trace() {
	r.traced = true
	r.measure(r.began + bit)
	if !r.told {
		var sum, most float64
		for at := r.began; at > max(r.over, r.began-backward); at -= bit {
			sum += r.level(at, 1)/r.strength - border
			if sum > most {
				most, r.from = sum, at
			}
			if sum < most-6 {
				break
			}
		}
		r.began = max(r.from, r.over, 0)
		r.tell()
	}
	r.from = max(r.from-bit/2, r.over, 0)
	r.decided, r.quiet = r.from, r.from
	r.scanned = max(r.scanned, r.from) + bit
}

// hunt looks for the next character behind a rest, and reports whether there is more to
// do.
func (r *receiver) hunt(end int64) bool {
	r.watch(end)
	to := end
	if r.off != 0 {
		to = min(to, r.off-bit/2)
	}
	to = min(to, r.from+sight)
	final := r.off != 0 && to >= r.off-bit/2
	if !final && to < r.next {
		return false
	}
	if !r.stirs(to) {
		if final {
			return r.leave()
		}
		return false
	}
	if now := r.level(to-(short+2)*bit, short); now > louder*r.strength && r.sure { // somebody else has taken over
		r.strength = now
		r.from = max(r.from, to-4*charCells)
	}
	first, run, found := r.framing.find(r.front, r.from, to, r.strength, !r.sure)
	if begun := r.quiet + rise; begun < to && first > begun+bit/4 && r.sure {
		// A character begins at the first space, whatever it says.
		if mark, space := r.front.cell(begun).sizes(); space-mark > open*r.strength {
			first, run, found = begun, 1, true
		}
	}
	switch {
	case found && (final || to-first >= enough):
		if final && to-first < charCells-bit {
			return r.leave()
		}
		return r.lock(first, to, min(max(run, 1), guessed))
	case final:
		return r.leave()
	case !found && to-r.from >= sight:
		r.from = to - charCells
		return true
	case found:
		r.from = max(r.from, first-2*bit)
		r.next = min(first+enough, r.from+sight)
	default:
		r.next = min(to+charCells/2, r.from+sight)
	}
	return false
}

// stirs passes over mark, and reports whether there is anything else before to.
func (r *receiver) stirs(to int64) bool {
	for r.quiet = max(r.quiet, r.from); r.quiet < to; r.quiet += bit / 4 {
		if _, space := r.front.cell(r.quiet).sizes(); space > stir*r.strength {
			r.from = max(r.from, r.quiet-2*bit)
			return true
		}
	}
	r.from = max(r.from, to-2*bit)
	return false
}

func (r *receiver) leave() bool {
	r.on, r.over = false, r.off
	r.got(Heard{At: float64(r.off) / innerRate, Bit: 1 / BitRate, Carrier: -1})
	return false
}

// rest goes back to looking for the next character.
func (r *receiver) rest(at float64) bool {
	if r.waits && r.clearly {
		r.confirm()
	}
	r.waits = false
	r.running, r.next = false, 0
	r.from = max(int64(at)-1, r.from+1)
	r.quiet = r.from
	return true
}
