package page

import (
	"encoding/json"
	"io"
	"math"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"looptone/sim/linefile"
)

// A quarter of an hour is kept, once a second, oldest first.
func TestTrendOfAQuarterOfAnHour(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		time.Sleep(20*time.Minute + 500*time.Millisecond) // of the bubble
		synctest.Wait()
		told := r.scene.trend.tell()
		if n := len(told.Time); n != trendLen || told.Time[0] != 301 || told.Time[n-1] != 1200 {
			t.Fatalf("got %d times from %v to %v s, want 900 from 301 to 1200 s", n, told.Time[0], told.Time[n-1])
		}
		for i, d := range told.Devices {
			if len(d.PV) != trendLen || len(d.Percent) != trendLen || len(d.MA) != trendLen {
				t.Errorf("device %d: got %d, %d and %d numbers, want 900 each", i, len(d.PV), len(d.Percent), len(d.MA))
			}
			if d.PV[0] != 5 || d.Percent[0] != 50 {
				t.Errorf("device %d: got %v bar, %v %%, want 5 bar, 50 %%", i, d.PV[0], d.Percent[0])
			}
			if d.SetPoint != nil {
				t.Errorf("device %d: got set points, want none where there is no controller", i)
			}
		}
	})
}

// The trend is what the devices have measured at that moment.
func TestTrendIsWhatWasMeasured(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		time.Sleep(42 * time.Second) // of the bubble
		synctest.Wait()
		var values Values
		r.page.do(func(s *Scene) { values = s.values() })
		told := r.scene.trend.tell()
		n := len(told.Time) - 1
		if values.Time != told.Time[n] {
			t.Fatalf("got values of %v s and a trend up to %v s, want both of 42 s", values.Time, told.Time[n])
		}
		for i, d := range told.Devices {
			v := values.Devices[i]
			for what, pair := range map[string][2]float64{
				"PV": {float64(d.PV[n]), *v.PV}, "percent": {float64(d.Percent[n]), *v.Percent}, "mA": {float64(d.MA[n]), *v.MA},
			} {
				near(t, what, pair[0], pair[1], 1e-6*math.Abs(pair[1]))
			}
		}
		fc := told.Devices[controlled]
		if fc.SetPoint[n] != 60 || math.Abs(float64(fc.Manipulated[n])-(*values.Devices[controlled].MA-4)/0.16) > 1e-4 {
			t.Errorf("got a set point of %v %% and a manipulated variable of %v %%, want 60 %% and that of %v mA",
				fc.SetPoint[n], fc.Manipulated[n], *values.Devices[controlled].MA)
		}
	})
}

// A device without power measures nothing, and its current is 0.
func TestTrendOfADarkDevice(t *testing.T) {
	run(t, linefile.Example(), Config{}, func(r *running) {
		time.Sleep(10500 * time.Millisecond) // of the bubble
		r.must(Wish{Do: "act", Action: map[string]any{"set": "line.supply_v", "to": 5.0}})
		time.Sleep(5 * time.Second)
		synctest.Wait()
		text, err := json.Marshal(r.scene.trend.tell().Devices[sphere])
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(string(text), `"ma":[4,4,4,4,4,4,4,4,4,4,4,0,0,0,0,0]}`) || strings.Count(string(text), "null") != 10 {
			t.Errorf("got %s, want five seconds without PV, without percent and with 0 mA", text)
		}
	})
}

// Earlier values are told in the unit that counts now.
func TestTrendInAnotherUnit(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		time.Sleep(3500 * time.Millisecond) // of the bubble
		r.must(Wish{Do: "send", As: "secondary", Device: "PT-1", Command: 44, Fields: map[string]any{"primary variable unit": "kPa"}})
		time.Sleep(5 * time.Second)
		synctest.Wait()
		pv := r.scene.trend.tell().Devices[0].PV
		for i, x := range pv {
			near(t, "PV in kPa", float64(x), 500, 1e-3)
			if t.Failed() {
				t.Fatalf("at %d s", i)
			}
		}
	})
}

func TestDeviceAndTrendAreServed(t *testing.T) {
	s := serve(t, two, Config{})
	tests := []struct {
		method, path string
		status       int
		want         string
	}{
		{"GET", "/device?i=0", 200, `{"tag":"PT-1",`},
		{"GET", "/device?i=1", 200, `{"tag":"PT-2",`},
		{"GET", "/device?i=2", 404, "device 2 is not on this line\n"},
		{"GET", "/device?i=-1", 404, "device -1 is not on this line\n"},
		{"GET", "/device", 400, "i: got \"\", want the number of a device, from 0\n"},
		{"GET", "/device?i=PT-1", 400, "i: got \"PT-1\", want the number of a device, from 0\n"},
		{"POST", "/device?i=0", 405, "got POST, want GET\n"},
		{"GET", "/trend", 200, `{"epoch":1,"time":[0`},
		{"POST", "/trend", 405, "got POST, want GET\n"},
	}
	for _, tt := range tests {
		r, err := http.NewRequest(tt.method, "http://"+s.at+tt.path, nil)
		if err != nil {
			t.Fatal(err)
		}
		reply, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(reply.Body)
		reply.Body.Close()
		if err != nil || reply.StatusCode != tt.status || !strings.HasPrefix(string(text), tt.want) {
			t.Errorf("%s %s: got %d, %.80q, %v, want %d, %q", tt.method, tt.path, reply.StatusCode, text, err, tt.status, tt.want)
		}
	}
	http.DefaultClient.CloseIdleConnections()
}

// A device that is opened holds up the line for a moment only.
func BenchmarkOpened(b *testing.B) {
	p := New(Config{Description: linefile.Demonstration()})
	defer p.Close()
	a, err := p.config.Description.Assemble(nil, nil)
	if err != nil {
		b.Fatal(err)
	}
	defer a.Close()
	s := &Scene{page: p, assembly: a}
	for b.Loop() {
		s.opened(orifice)
	}
}
