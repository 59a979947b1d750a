package view

import (
	"math"
	"strconv"

	"looptone/serialio/fsk/measure"
)

// AppendWaveform writes what a waveform came to as JSON objects, one a line: the waveform,
// each quantity, the edges, the noise, the eye, each verdict.
func AppendWaveform(dst []byte, name string, r *measure.Report) []byte {
	dst = objectLine(dst, func(o *object) { o.waveform(name, r) })
	for _, q := range quantitiesOf(r) {
		dst = objectLine(dst, func(o *object) { o.quantity(&q) })
	}
	dst = objectLine(dst, func(o *object) { o.edges(&r.Edges) })
	unit, parts := noiseOf(r)
	for _, p := range parts {
		dst = objectLine(dst, func(o *object) {
			o.text(`"noise":`, p.name)
			o.text(`"unit":`, unit)
			o.amount(`"silent":`, p.silent)
			o.amount(`"talking":`, p.talking)
		})
	}
	dst = objectLine(dst, func(o *object) { o.eye(&r.Eye) })
	for _, v := range r.Verdicts() {
		dst = objectLine(dst, func(o *object) { o.waveformVerdict(&v) })
	}
	return dst
}

func (o *object) waveform(name string, r *measure.Report) {
	o.text(`"waveform":`, name)
	o.bool(`"in_order":`, r.OK())
	o.amount(`"seconds":`, r.Seconds())
	o.amount(`"rate":`, r.Rate)
	o.amountKnown(`"volts_per_unit":`, r.VoltsPerUnit)
	o.amountKnown(`"ohms":`, r.Ohms)
	o.int(`"carriers":`, int64(r.Carriers))
	o.int(`"characters":`, r.Characters)
	o.int(`"parity_errors":`, r.Messages.Parity)
	o.int(`"framing_errors":`, r.Messages.Framing)
	o.int(`"doubtful_characters":`, r.Doubtful)
	o.int(`"whole_messages":`, int64(r.Messages.Whole))
	o.int(`"damaged_messages":`, int64(r.Messages.Damaged))
	o.int(`"other_characters":`, r.Messages.Noise)
	o.int(`"gaps":`, int64(r.Messages.Gaps))
	o.amount(`"longest_gap_bits":`, r.Messages.LongestGap)
	o.int(`"late_replies":`, int64(r.Messages.Late))
}

func (o *object) quantity(q *quantity) {
	o.text(`"quantity":`, q.name)
	o.textOrNone(`"unit":`, q.unit)
	o.amount(`"mean":`, q.Mean)
	o.amount(`"deviation":`, q.SD)
	o.amount(`"least":`, q.Least)
	o.amount(`"most":`, q.Most)
	o.int(`"times":`, int64(q.N))
}

func (o *object) edges(e *measure.Edges) {
	o.int(`"edges":`, e.Count)
	o.amount(`"rms_off_percent":`, e.RMS*100)
	o.amount(`"most_off_percent":`, e.StartStop*100)
	o.amount(`"jump_rms_degrees":`, e.JumpRMS)
	o.amount(`"largest_jump_degrees":`, e.LargestJump)
	o.amount(`"resolution_degrees":`, e.Resolution)
}

func (o *object) eye(e *measure.Eye) {
	o.amount(`"eye":`, e.Open/2)
	o.int(`"bits":`, e.Bits)
	o.amount(`"reach":`, e.Reach)
	o.key(`"counts":`)
	o.b = append(o.b, '[')
	for row := range e.Rows {
		if row > 0 {
			o.b = append(o.b, ',')
		}
		o.b = append(o.b, '[')
		for column, n := range e.Count[row*e.Columns : (row+1)*e.Columns] {
			if column > 0 {
				o.b = append(o.b, ',')
			}
			o.b = strconv.AppendInt(o.b, n, 10)
		}
		o.b = append(o.b, ']')
	}
	o.b = append(o.b, ']')
}

func (o *object) waveformVerdict(v *measure.Verdict) {
	o.text(`"limit":`, v.Name)
	o.text(`"verdict":`, v.Finding.String())
	got, least, most := v.Got, v.Least, v.Most
	if v.Unit == "" {
		got, least, most = math.NaN(), math.NaN(), math.NaN()
	}
	o.amount(`"got":`, got)
	o.amount(`"least":`, least)
	o.amount(`"most":`, most)
	o.textOrNone(`"unit":`, v.Unit)
	o.text(`"wanted":`, v.Want)
	o.text(`"says":`, v.Says)
	o.text(`"source":`, v.Source)
}
