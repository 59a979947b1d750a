package stimulus

import (
	"time"

	"looptone/frame"
	"looptone/serialio/modemcheck"
)

// epoch is where time lines begin; which moment it is does not matter.
var epoch = time.Unix(0, 0).UTC()

// apart is between two waveforms on a time line: more than what a character can be late.
const apart = 2 * time.Second

// A timeline is all waveforms of a set one behind the other.
type timeline struct {
	set       *Set
	begins    []time.Duration // of each waveform
	stretches []modemcheck.Stretch
	of        []stretchOf
	sent      []sentChar
	messages  int
}

// A stretchOf says what a stretch is of.
type stretchOf struct {
	waveform int
	tested   bool // it is what is tested, not what stands around it
}

func newTimeline(s *Set) *timeline {
	l := &timeline{set: s}
	var at time.Duration
	for i := range s.Waveforms {
		l.begins = append(l.begins, at)
		l.add(i)
		at += seconds(s.Waveforms[i].Seconds) + apart
	}
	return l
}

func seconds(t float64) time.Duration { return time.Duration(t * float64(time.Second)) }

// add adds waveform i: what stands before, what is tested, what stands behind.
func (l *timeline) add(i int) {
	w := &l.set.Waveforms[i]
	before, tested, behind := w.parts()
	from, to := 0.0, w.Seconds
	if len(before) > 0 {
		from = before[len(before)-1].end() + silence/2
		l.stretch(i, false, 0, from, before)
	}
	if len(behind) > 0 {
		to = behind[0].At - silence/2
	}
	l.stretch(i, true, from, to, tested)
	if len(behind) > 0 {
		l.stretch(i, false, to, w.Seconds, behind)
	}
}

// parts are the messages before what is tested, of it, and behind it.
func (w *Waveform) parts() (before, tested, behind []Message) {
	m := w.Messages
	for len(before) < len(m) && m[len(before)].Around && (len(w.Tones) == 0 || m[len(before)].At < w.Tones[0].At) {
		before = m[:len(before)+1]
	}
	tested = m[len(before):]
	for len(tested) > 0 && tested[len(tested)-1].Around {
		tested = tested[:len(tested)-1]
	}
	return before, tested, m[len(before)+len(tested):]
}

func (l *timeline) stretch(i int, tested bool, from, to float64, messages []Message) {
	at := epoch.Add(l.begins[i])
	s := modemcheck.Stretch{From: at.Add(seconds(from)), To: at.Add(seconds(to))}
	for _, m := range messages {
		s.Sent = append(s.Sent, modemcheck.Sent{At: at.Add(seconds(m.At)), Chars: m.Bytes})
		for k, c := range m.Bytes {
			end := l.begins[i] + seconds(m.At) + frame.Characters(int64(k+1))
			l.sent = append(l.sent, sentChar{value: c, waveform: i, message: l.messages, end: end})
		}
		l.messages++
	}
	l.stretches = append(l.stretches, s)
	l.of = append(l.of, stretchOf{i, tested})
}
