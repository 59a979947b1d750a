package page

import (
	"math"
	"strconv"
	"sync"
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/transmitter"
)

// What is kept of a line for whoever comes later.
const (
	trendPeriod = time.Second
	trendLen    = 15 * 60
)

// Trend is the answer to GET /trend: what the devices have measured so far, once a second
// of line time, for a quarter of an hour.
type Trend struct {
	Epoch   int           `json:"epoch"`
	Time    []float64     `json:"time"`
	Devices []DeviceTrend `json:"devices"` // in the order of Hello.Devices
}

// A DeviceTrend is what was measured at the times of a [Trend]; null where there was no
// number. Set point and manipulated variable are there where there is a controller.
type DeviceTrend struct {
	PV          numbers `json:"pv"` // in the unit of now
	Percent     numbers `json:"percent"`
	MA          numbers `json:"ma"`
	SetPoint    numbers `json:"set_point,omitempty"`
	Manipulated numbers `json:"manipulated,omitempty"`
}

// numbers are written with seven figures at most, and as null where there is none.
type numbers []float32

func (list numbers) MarshalJSON() ([]byte, error) {
	b := []byte{'['}
	for i, x := range list {
		if i > 0 {
			b = append(b, ',')
		}
		if v := float64(x); math.IsNaN(v) || math.IsInf(v, 0) {
			b = append(b, "null"...)
		} else {
			b = strconv.AppendFloat(b, v, 'g', -1, 32)
		}
	}
	return append(b, ']'), nil
}

// A trendStation says nothing on the line, and writes down once a second what the devices
// measure. Whoever asks for it does not hold up the line.
type trendStation struct {
	assembly *linefile.Assembly
	epoch    int
	next     time.Duration

	mu      sync.Mutex // holds what follows
	count   int        // of seconds so far
	time    ring[float64]
	devices []deviceRings
}

// deviceRings are what is kept of a device.
type deviceRings struct {
	pvUnit                                 unit.Code
	controlled                             bool
	pv, percent, ma, setPoint, manipulated ring[float32]
}

// A ring holds the latest of a series: number n stands at n modulo its length.
type ring[T any] []T

// put is called with the number of what is put, from 0.
func (r *ring[T]) put(n int, x T) {
	if len(*r) < trendLen {
		*r = append(*r, x)
		return
	}
	(*r)[n%trendLen] = x
}

// list is what is there after so many were put, oldest first.
func (r ring[T]) list(count int) []T {
	if len(r) < trendLen {
		return append([]T{}, r...)
	}
	at := count % trendLen
	return append(append(make([]T, 0, trendLen), r[at:]...), r[:at]...)
}

// keepTrend puts a trend station on a line.
func keepTrend(a *linefile.Assembly, epoch int) *trendStation {
	t := &trendStation{assembly: a, epoch: epoch, devices: make([]deviceRings, len(a.Devices))}
	for i, d := range a.Devices {
		t.devices[i].controlled = d.Transmitter().Config().Controller != nil
	}
	a.Line.Join(t)
	return t
}

// Step writes at whole seconds.
func (t *trendStation) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if sim.Ticks(t.next) <= now {
		t.write(now)
		t.next += trendPeriod
	}
	return nil, sim.Ticks(t.next)
}

func (t *trendStation) write(now sim.Tick) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.time.put(t.count, t.next.Seconds())
	for i, d := range t.assembly.Devices {
		d.Transmitter().To(now)
		t.devices[i].write(t.count, d.Transmitter())
	}
	t.count++
}

func (r *deviceRings) write(n int, t *transmitter.Transmitter) {
	none := float32(math.NaN())
	pv, u := t.PrimaryVariable()
	if u != r.pvUnit {
		r.convert(u)
	}
	r.ma.put(n, float32(t.WireCurrentMA()))
	if lit(t) {
		r.pv.put(n, float32(pv))
		r.percent.put(n, float32(t.PercentOfRange()))
	} else {
		r.pv.put(n, none)
		r.percent.put(n, none)
	}
	if !r.controlled {
		return
	}
	out, _ := t.Output("controller") // no number without power
	r.setPoint.put(n, float32(t.Config().Controller.SetPoint))
	r.manipulated.put(n, float32(out.Value))
}

// lit reports whether a transmitter has power: without it nothing stands behind its
// stages.
func lit(t *transmitter.Transmitter) bool {
	o, _ := t.Output("output")
	return !math.IsNaN(o.Value)
}

// convert has the earlier values stand in the unit that counts from now on; those of
// which there is no way to it are gone.
func (r *deviceRings) convert(to unit.Code) {
	for i, x := range r.pv {
		v, err := unit.Convert(float64(x), r.pvUnit, to)
		if err != nil {
			v = math.NaN()
		}
		r.pv[i] = float32(v)
	}
	r.pvUnit = to
}

// tell is what was kept. It may be called from any goroutine.
func (t *trendStation) tell() *Trend {
	t.mu.Lock()
	defer t.mu.Unlock()
	told := &Trend{Epoch: t.epoch, Time: t.time.list(t.count), Devices: make([]DeviceTrend, len(t.devices))}
	for i := range t.devices {
		r := &t.devices[i]
		told.Devices[i] = DeviceTrend{PV: r.pv.list(t.count), Percent: r.percent.list(t.count), MA: r.ma.list(t.count)}
		if r.controlled {
			told.Devices[i].SetPoint, told.Devices[i].Manipulated = r.setPoint.list(t.count), r.manipulated.list(t.count)
		}
	}
	return told
}
