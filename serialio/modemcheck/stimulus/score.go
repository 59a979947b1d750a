package stimulus

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"looptone/serialio/modemcheck"
)

// A Result is what a modem has made of a set.
type Result struct {
	Set    *Set
	Scores []Score // one a waveform
}

// A Score is what a modem has made of a waveform.
type Score struct {
	Waveform     *Waveform
	Way          *modemcheck.Way // what was tested; nil where there is no capture of it
	Around       modemcheck.Messages
	TellsCarrier bool // the captures tell of carriers
	Carriers     int  // without characters, that were sent
	Detected     int  // of them
	WentOn       int  // carriers that were reported while it was tested
	Verdicts     []modemcheck.Verdict
}

// Finding is Broken where a limit is, else that of the first limit, which is what the
// waveform is for. Without any limit the waveform is not judged.
func (s *Score) Finding() (f modemcheck.Finding, judged bool) {
	if len(s.Verdicts) == 0 {
		return modemcheck.NotMeasurable, false
	}
	for _, v := range s.Verdicts {
		if v.Finding == modemcheck.Broken {
			return modemcheck.Broken, true
		}
	}
	return s.Verdicts[0].Finding, true
}

// OK reports whether no limit is broken.
func (r *Result) OK() bool {
	for i := range r.Scores {
		if f, _ := r.Scores[i].Finding(); f == modemcheck.Broken {
			return false
		}
	}
	return true
}

// Score holds what a modem has put out against what the set holds. It takes one capture of
// everything, played in order with any pauses between; or one of each waveform in order; or
// some whose names are those of waveforms, with any ending: "level-90.txt". Captures need no
// times; with times, and carriers, more can be told.
func (s *Set) Score(heard []*Heard) (*Result, error) {
	l := newTimeline(s)
	x := newIndex(l.sent)
	of, err := s.assign(heard)
	if err != nil {
		return nil, err
	}
	r := &Result{Set: s, Scores: make([]Score, len(s.Waveforms))}
	tells := false
	for i := range r.Scores {
		r.Scores[i].Waveform = &s.Waveforms[i]
	}
	for k, h := range heard {
		tells = tells || h.TellsCarrier()
		if err := r.take(l, x, h, of[k]); err != nil {
			return nil, err
		}
	}
	for i := range r.Scores {
		r.Scores[i].TellsCarrier = tells
		r.Scores[i].Judge()
	}
	return r, nil
}

// everything stands for all waveforms.
const everything = -1

// assign finds which waveform each capture is of.
func (s *Set) assign(heard []*Heard) ([]int, error) {
	of, used, named := make([]int, len(heard)), map[int]string{}, 0
	for k, h := range heard {
		of[k] = s.named(h.Name)
		if of[k] == everything {
			continue
		}
		if other, ok := used[of[k]]; ok {
			return nil, fmt.Errorf("%s and %s are both of %s: want one capture of a waveform", other, h.Name, s.Waveforms[of[k]].Name)
		}
		used[of[k]] = h.Name
		named++
	}
	switch {
	case named == len(heard), len(heard) == 1:
		return of, nil
	case len(heard) == len(s.Waveforms) && named == 0:
		for k := range of {
			of[k] = k
		}
		return of, nil
	}
	return nil, fmt.Errorf("got %d captures for %d waveforms: want one of all, one of each in the order of playing, or names such as %s.txt",
		len(heard), len(s.Waveforms), s.Waveforms[0].Name)
}

// named is the waveform that a file is called after.
func (s *Set) named(file string) int {
	name, _, _ := strings.Cut(filepath.Base(file), ".")
	for i := range s.Waveforms {
		w := &s.Waveforms[i]
		if name == w.Name || name == strings.TrimSuffix(w.File, ".wav") {
			return i
		}
	}
	return everything
}

// take compares one capture, of a waveform or of everything.
func (r *Result) take(l *timeline, x *index, h *Heard, of int) error {
	rows := x.rows(h.chars)
	p := &placer{heard: h, sent: l.sent, rows: rows, anchors: x.anchors(rows, h.chars)}
	if err := r.checkOwn(p, of); err != nil {
		return err
	}
	stretches, owners := l.stretches, l.of
	if of != everything {
		stretches, owners = l.only(of)
		p.keep(of)
		p.begin = l.begins[of]
	}
	timing := modemcheck.Timing{Marks: h.parity, Lateness: h.late}
	for k, w := range modemcheck.CompareEach(stretches, p.arrivals(), timing) {
		r.Scores[owners[k].waveform].add(w, owners[k].tested)
	}
	for k, o := range owners {
		if o.tested {
			r.Scores[o.waveform].countCarriers(p.carriersOn(), l.begins[o.waveform], &stretches[k])
		}
	}
	return nil
}

func (s *Score) add(w *modemcheck.Way, tested bool) {
	if tested {
		s.Way = w
		return
	}
	s.Around.Sent += w.Messages.Sent
	s.Around.Whole += w.Messages.Whole
	s.Around.Damaged += w.Messages.Damaged
	s.Around.Lost += w.Messages.Lost
}

// checkOwn refuses a capture of something else: of another set, or of another waveform than
// its name or its place says.
func (r *Result) checkOwn(p *placer, of int) error {
	came := p.came()
	if n := p.heard.wholeFrames(); len(came) == 0 && n > 0 {
		return fmt.Errorf("%s holds %d whole messages, and none of this set, whose seed is %d: want a capture of what a modem made of it", p.heard.Name, n, r.Set.Seed)
	}
	if of == everything || came[of] > 0 {
		return r.checkOrder(p, of)
	}
	for i := range r.Set.Waveforms {
		if came[i] > 0 {
			return fmt.Errorf("%s holds messages of %s, and none of %s", p.heard.Name, r.Set.Waveforms[i].Name, r.Set.Waveforms[of].Name)
		}
	}
	return nil
}

// checkOrder refuses a capture in which another waveform stands where it does not belong:
// all of it would be extra characters of the one there.
func (r *Result) checkOrder(p *placer, of int) error {
	stray, among, ok := p.astray(of)
	if !ok {
		return nil
	}
	want := "want one capture of one waveform, or one of all"
	if of == everything {
		want = "want them in the order of their numbers, each once, or one capture of each"
	}
	return fmt.Errorf("%s holds messages of %s among those of %s: %s", p.heard.Name, r.Set.Waveforms[stray].Name, r.Set.Waveforms[among].Name, want)
}

// only is the part of a time line that is of one waveform.
func (l *timeline) only(of int) (stretches []modemcheck.Stretch, owners []stretchOf) {
	for k, o := range l.of {
		if o.waveform == of {
			stretches, owners = append(stretches, l.stretches[k]), append(owners, o)
		}
	}
	return stretches, owners
}

// keep leaves only the anchors in one waveform.
func (p *placer) keep(of int) {
	var kept []anchor
	for _, a := range p.anchors {
		if p.sent[a.sent].waveform == of {
			kept = append(kept, a)
		}
	}
	p.anchors = kept
}

// aside is how far beside a carrier news of it may stand: clocks differ, and ports are late.
const aside = 100 * time.Millisecond

// countCarriers counts those that were reported while something was tested. The waveform
// begins at begin.
func (s *Score) countCarriers(on []time.Duration, begin time.Duration, tested *modemcheck.Stretch) {
	s.WentOn = within(on, tested.From.Sub(epoch), tested.To.Sub(epoch))
	s.Carriers, s.Detected = len(s.Waveform.Tones), 0
	for _, tone := range s.Waveform.Tones {
		from := begin + seconds(tone.At)
		if within(on, from-aside, from+seconds(tone.For)+aside) > 0 {
			s.Detected++
		}
	}
}

// within is how many moments lie in a time.
func within(moments []time.Duration, from, to time.Duration) (n int) {
	for _, at := range moments {
		if at >= from && at < to {
			n++
		}
	}
	return n
}
