package master_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// sightings scans polling addresses 1 and 2, with a device at each, so many times. spoil
// may change how a transaction of a scan, counted from 1, ended.
func sightings(t *testing.T, scans int, spoil func(scan int, tr *master.Transaction)) (told []string) {
	t.Helper()
	l := lineOf(t, 1, config(7, 1), config(7, 2))
	scan, last := 0, frame.Address{}
	w := master.Watch{From: 1, To: 2, Retries: 2,
		Found:    func(f master.Found) { told = append(told, fmt.Sprint("found ", f.Polling)) },
		Complete: func() { told = append(told, "complete") },
		Changed: func(s master.Sighting) {
			text := fmt.Sprint(scan, " ", s.Change, " ", s.Found.Polling)
			if s.Found.Unreadable {
				text += " unreadable"
			}
			if s.Was != nil {
				text += fmt.Sprintf(" (%d %s)", s.Was.Polling, *s.Was.LongTag)
			}
			if s.At <= 0 || s.At > l.Now() {
				t.Errorf("%s: at %v, and it is %v", text, s.At, l.Now())
			}
			told = append(told, text)
		},
	}
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		w.Run(func(tr *master.Transaction) bool {
			if tr.Address == frame.Polling(1) && last != tr.Address {
				scan++
			}
			if last = tr.Address; scan > scans || !yield(tr) {
				return false
			}
			spoil(scan, tr)
			return true
		})
	})
	defer m.Close()
	l.Join(m)
	for !m.Done() && l.Now() < 1000*sim.Second {
		l.Run(l.Next())
	}
	return told
}

func TestWatch(t *testing.T) {
	second := unique(config(7, 2))
	tries := 0
	tests := []struct {
		name  string
		spoil func(scan int, tr *master.Transaction)
		want  []string
	}{
		{"nothing happens", func(int, *master.Transaction) {}, nil},
		{"a reply is lost now and then", func(scan int, tr *master.Transaction) {
			if scan%2 == 0 && tr.Address == frame.Polling(2) {
				tr.Outcome = master.Silent
			}
		}, nil},
		{"a device misses all but the last question for it", func(scan int, tr *master.Transaction) {
			if scan != 2 || tr.Command != 0 || tr.Address != frame.Polling(2) && tr.Address != second {
				return
			}
			if tries++; tries < 4 {
				tr.Outcome = master.Silent
			}
		}, nil},
		{"a device goes for a scan", func(scan int, tr *master.Transaction) {
			if scan == 2 && (tr.Address == frame.Polling(2) || tr.Address == second) {
				tr.Outcome = master.Silent
			}
		}, []string{"2 went 2", "3 came 2"}},
		{"a device hears only its unique address", func(scan int, tr *master.Transaction) {
			if scan >= 2 && tr.Address == frame.Polling(2) {
				tr.Outcome = master.Silent
			}
		}, []string{"3 went 2"}},
		{"tags are not told once", func(scan int, tr *master.Transaction) {
			if scan == 2 && (tr.Command == 13 || tr.Command == 20) {
				tr.Outcome = master.Silent
			}
		}, nil},
		{"somebody sits at the same address for a scan", func(scan int, tr *master.Transaction) {
			if scan == 2 && tr.Address == frame.Polling(2) {
				tr.Outcome = master.Unreadable
			}
			if scan == 2 && tr.Address == second {
				tr.Outcome = master.Silent
			}
		}, []string{"2 came 2 unreadable", "3 went 2 unreadable"}},
		{"a long tag changes", func(scan int, tr *master.Transaction) {
			if scan >= 3 && tr.Command == 20 && tr.Address == second {
				tr.Reply.Data[0] = 'p'
			}
		}, []string{"3 changed 2 (2 Pressure 2)"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			want := append([]string{"found 1", "found 2", "complete"}, tt.want...)
			if diff := cmp.Diff(want, sightings(t, 4, tt.spoil)); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}
