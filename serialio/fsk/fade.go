package fsk

import "math"

// By what a carrier is taken to be there still.
const (
	fading = 0.62 // of the amplitude: the mean over some bits is above that
	long   = 8    // such bits
	silent = 0.2  // of the amplitude: the mean over few bits is above that
	short  = 2    // such bits
	noisy  = 0.42 // of all power, the tones have at least that much
)

// watch looks for the end of the carrier.
func (r *receiver) watch(end int64) {
	for ; r.off == 0 && r.scanned+(long+1)*bit < end; r.scanned += bit {
		if r.ofTones(r.scanned) < noisy || r.level(r.scanned, long) < fading*r.strength || r.level(r.scanned, short) < silent*r.strength {
			r.end()
		}
	}
}

// watchOn looks for the end of the carrier where bits are known to begin.
func (r *receiver) watchOn(end int64) {
	c := &r.clock
	for ; r.off == 0 && r.scanned+bit/2+1 < end; r.scanned += bit {
		at := c.at + math.Floor((float64(r.scanned)-c.at)/c.bit+0.5)*c.bit
		level := r.front.cell(int64(at+0.5)).loud(c.space) / r.strength
		r.lately += (level - r.lately) * (1.0 / 6)
		quiet := level < silent && r.before < silent
		r.before = level
		if r.lately < fading || quiet {
			r.end()
		}
	}
}

// end takes down where a carrier ends that has gone in the next few bits, or the last.
func (r *receiver) end() {
	from := max(r.scanned-long*bit, r.began+bit)
	var sum, most float64
	last := from
	for at := from; at < min(r.scanned+long*bit, r.front.end()); at += bit / 4 {
		sum += r.front.cell(at).loud(1)/r.strength - border
		if sum > most {
			most, last = sum, at
		}
	}
	r.off = max(last+3*bit/4, r.began+1)
}

// level is the mean amplitude over bits, of the louder tone of each.
func (r *receiver) level(at int64, bits int64) float64 {
	var best float64
	for shift := int64(0); shift < bit; shift += bit / 2 { // bits may begin anywhere
		var sum float64
		for k := range bits {
			sum += r.front.cell(at + shift + k*bit).loud(1)
		}
		best = max(best, sum/float64(bits))
	}
	return best
}

// ofTones is how much of all power over some bits is in the louder tones.
func (r *receiver) ofTones(at int64) float64 {
	var tones, all float64
	for k := range int64(long) {
		c := r.front.cell(at + k*bit)
		tones += c.power() * bit / 2
		all += float64(c.energy)
	}
	return tones / max(all, 1e-300)
}

// measure takes the amplitude from some bits.
func (r *receiver) measure(at int64) { r.strength = max(r.level(at, 5), 1e-30) }
