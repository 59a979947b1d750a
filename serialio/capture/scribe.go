package capture

import (
	"cmp"
	"time"

	"looptone/frame"
)

// A scribe writes entries, in the order in which they come, to one file behind the
// other.
type scribe struct {
	Recording
	paper
	missing []missing // by stream: what could not be written
	before  int64     // bytes in files that are complete
	heard   time.Time // when the last entry was over
	writing fault     // of the file
	opening fault     // of the next one
	err     error     // why a recording is not complete
}

// A fault is why something could not be done, and when to try it again.
type fault struct {
	err   error
	retry time.Time
}

// paper is the file that is being written.
type paper struct {
	file    *sheet
	writer  *Writer // nil where a recording could not begin
	opened  time.Time
	origin  time.Time // time 0
	elapsed []time.Duration
}

// A sheet is a file that knows how much of it was written, and with what that ends.
type sheet struct {
	File
	n    int64
	last byte
}

func (t *sheet) Write(b []byte) (n int, err error) {
	n, err = t.File.Write(b)
	if n > 0 {
		t.n, t.last = t.n+int64(n), b[n-1]
	}
	return n, err
}

// newLine ends a line of which only a part could be written.
func (t *sheet) newLine() error {
	if t.n == 0 || t.last == '\n' {
		return nil
	}
	_, err := t.Write([]byte{'\n'})
	return err
}

// retryEvery is how long nothing is tried again that could not be written.
const retryEvery = time.Second

func newScribe(r Recording) scribe {
	if r.Trouble == nil {
		r.Trouble = func(error) {}
	}
	return scribe{Recording: r, missing: make([]missing, len(r.Streams))}
}

// start opens the first file and begins it.
func (s *scribe) start(at time.Time) (err error) {
	s.paper, err = s.open(at)
	s.heard = at
	return err
}

// open opens a file and begins it.
func (s *scribe) open(at time.Time) (p paper, err error) {
	file, err := s.Open()
	if err != nil {
		return p, err
	}
	p = paper{file: &sheet{File: file}, opened: at}
	if err = p.begin(at, s.Streams); err != nil {
		file.Discard() // the reason for that is worth more than its error
	}
	return p, err
}

// begin begins a recording in the file.
func (p *paper) begin(at time.Time, streams []Stream) (err error) {
	if err = p.file.newLine(); err != nil {
		return err
	}
	p.origin, p.elapsed = at, make([]time.Duration, len(streams))
	p.writer, err = NewWriter(p.file, at.Truncate(time.Microsecond), streams)
	return err
}

// since is the time of an entry, in whole microseconds. Those of a stream never run
// backwards.
func (p *paper) since(e *entry) time.Duration {
	elapsed := &p.elapsed[e.stream]
	*elapsed = min(max(*elapsed, e.at.Sub(p.origin).Truncate(time.Microsecond)), latest)
	return *elapsed
}

// take writes an entry, or counts it among what is missing.
func (s *scribe) take(e *entry) (written bool) {
	s.rotateBefore(e)
	if e.what == resumption {
		s.resume(e.at)
		return true
	}
	if written = s.mayWrite() && s.tellMissing() && s.write(e); !written {
		s.missing[e.stream].add(e)
	}
	if e.at.After(s.heard) {
		s.heard = e.at
	}
	return written
}

// write writes an entry; false when that cannot be done.
func (s *scribe) write(e *entry) bool {
	if s.writer == nil {
		return s.note(&s.writing, s.begin(e.at, s.Streams)) && s.write(e)
	}
	at := s.since(e)
	var err error
	switch e.what {
	case characters:
		err = s.writer.Heard(e.stream, at, e.chars, e.marks)
	case carrierOn, carrierOff:
		err = s.writer.Carrier(e.stream, at, e.what == carrierOn)
	case loss:
		err = s.writer.Lost(e.stream, at, e.lost)
	case remark:
		err = s.writer.Remark(string(appendSeconds(nil, at)) + " " + e.text)
	}
	return s.note(&s.writing, err)
}

// note tells when something begins to fail and when it goes on.
func (s *scribe) note(f *fault, err error) bool {
	if (err == nil) != (f.err == nil) {
		s.Trouble(err)
	}
	if f.err = err; err != nil {
		f.retry = time.Now().Add(retryEvery)
	}
	return err == nil
}

// mayWrite reports whether writing does not fail, or may be tried again.
func (s *scribe) mayWrite() bool { return s.writing.err == nil || !time.Now().Before(s.writing.retry) }

// tellMissing writes what could not be written before; false where it still cannot.
func (s *scribe) tellMissing() bool {
	for i := range s.missing {
		m := &s.missing[i]
		if m.any() {
			m.tell(uint8(i), func(e entry) bool { return s.write(&e) })
		}
		if m.any() {
			return false
		}
	}
	return true
}

// resume begins another recording in the file.
func (s *scribe) resume(at time.Time) {
	s.tellMissing()
	if s.writer != nil {
		s.note(&s.writing, s.writer.End())
	}
	s.note(&s.writing, s.begin(at, s.Streams)) // or else in front of the next entry
	s.heard = at
}

// idle does what is to be done without an entry, and tells when to ask again.
func (s *scribe) idle(now time.Time) (wait time.Duration) {
	wait = time.Hour
	if s.mayWrite() {
		s.tellMissing()
	}
	if s.writing.err != nil {
		wait = max(s.writing.retry.Sub(now), retryEvery/10)
	}
	if s.RotateEvery == 0 {
		return wait
	}
	due := s.opened.Add(s.RotateEvery)
	if quiet := s.heard.Add(silenceBefore(0)); due.Before(quiet) {
		due = quiet
	}
	if s.opening.err != nil && due.Before(s.opening.retry) {
		due = s.opening.retry
	}
	if due.After(now) {
		return min(wait, due.Sub(now))
	}
	s.rotate(now)
	return min(wait, retryEvery)
}

// rotateBefore begins another file in front of an entry, if one is due and the line was
// silent for long enough.
func (s *scribe) rotateBefore(e *entry) {
	overdue := s.overdue(e.at)
	begin := e.at.Add(-frame.Characters(int64(len(e.chars))))
	if overdue < 0 || s.opening.err != nil && time.Now().Before(s.opening.retry) || begin.Sub(s.heard) < silenceBefore(overdue) {
		return
	}
	origin := begin.Add(-time.Second)
	if origin.Before(s.heard) {
		origin = s.heard
	}
	s.rotate(origin)
}

// overdue is for how long another file should have begun; below 0, not yet. One of twice
// its size is overdue for the longest time.
func (s *scribe) overdue(at time.Time) time.Duration {
	overdue := time.Duration(-1)
	if s.RotateEvery > 0 {
		overdue = at.Sub(s.opened) - s.RotateEvery
	}
	if s.RotateSize > 0 && s.file.n >= s.RotateSize {
		over := float64(s.file.n-s.RotateSize) / float64(s.RotateSize)
		overdue = max(overdue, time.Duration(over*float64(longestOverdue)))
	}
	return overdue
}

// longestOverdue is when another file begins in spite of a message that is divided.
const longestOverdue = 20 * time.Second

// silenceBefore is for how long a line must be silent for another file to begin: so long
// that nobody answers any more; of a line that is never so silent, where a message ends.
//
// Source: FieldComm Group support article 8000040648 (a reply begins within 28
// characters); common practice for the rest.
func silenceBefore(overdue time.Duration) time.Duration {
	const late = 16 * time.Millisecond // as is usual behind a USB adapter
	switch {
	case overdue < longestOverdue/2:
		return frame.Characters(28) + late
	case overdue < longestOverdue:
		return frame.Characters(silence) + late
	}
	return -time.Hour
}

// rotate ends the file and begins another, if that can be done.
func (s *scribe) rotate(origin time.Time) {
	s.tellMissing()
	next, err := s.open(origin)
	if !s.note(&s.opening, err) {
		return
	}
	s.endFile()
	s.paper = next
}

// endFile completes the file.
func (s *scribe) endFile() {
	var err error
	if s.writer != nil {
		err = s.writer.End()
	}
	err = cmp.Or(err, s.file.Close())
	s.before += s.file.n
	s.err = cmp.Or(s.err, err)
}

// finish completes the recording.
func (s *scribe) finish() {
	if !s.tellMissing() {
		s.err = cmp.Or(s.err, s.writing.err)
	}
	s.endFile()
}

func (s *scribe) isFull() bool { return s.MaxSize > 0 && s.before+s.file.n >= s.MaxSize }
