package serialio

import (
	"context"
	"errors"
	"syscall"
	"testing"
	"testing/synctest"
	"time"
)

// A message of 12 characters takes 110 ms: 12 × 11 / 1200 s.
var twelve = make([]byte, 12)

var keying = Modem{RTS: RTSKeys}

// onRig runs a test with a port on a rig.
func onRig(t *testing.T, m Modem, test func(t *testing.T, r *rig, p *Port)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		r := newRig()
		p := newPort("rig", r, Settings{Modem: m})
		defer p.Close()
		test(t, r, p)
	})
}

func TestKeyingAroundAMessage(t *testing.T) {
	tests := []struct {
		name           string
		hold           time.Duration
		at, lead, tail time.Duration
		drain          time.Duration // when the port says that all has left
		want           []string
	}{
		{"in time", 0, 50 * ms, 4 * ms, 3 * ms, 0,
			[]string{"46ms RTS on", "50ms write 12", "160ms drain", "163ms RTS off"}},
		{"without carrier times", 0, 50 * ms, 0, 0, 0,
			[]string{"50ms RTS on", "50ms write 12", "160ms drain", "160ms RTS off"}},
		{"late: the lead is kept", 0, -time.Second, 4 * ms, 3 * ms, 0,
			[]string{"0s RTS on", "4ms write 12", "114ms drain", "117ms RTS off"}},
		{"within the lead", 0, 1 * ms, 4 * ms, 3 * ms, 0,
			[]string{"0s RTS on", "4ms write 12", "114ms drain", "117ms RTS off"}},
		{"hold is longer than the tail", 10 * ms, 50 * ms, 4 * ms, 3 * ms, 0,
			[]string{"46ms RTS on", "50ms write 12", "160ms drain", "170ms RTS off"}},
		{"hold is shorter", 1 * ms, 50 * ms, 4 * ms, 3 * ms, 0,
			[]string{"46ms RTS on", "50ms write 12", "160ms drain", "163ms RTS off"}},
		{"drained late", 10 * ms, 50 * ms, 4 * ms, 3 * ms, 200 * ms,
			[]string{"46ms RTS on", "50ms write 12", "200ms drain", "210ms RTS off"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			onRig(t, Modem{RTS: RTSKeys, Hold: tt.hold}, func(t *testing.T, r *rig, p *Port) {
				r.drain = make(chan struct{})
				after(tt.drain, func() { close(r.drain) })
				if err := p.Send(t.Context(), r.began.Add(tt.at), tt.lead, tt.tail, twelve); err != nil {
					t.Fatal(err)
				}
				time.Sleep(time.Second)
				r.want(t, tt.want...)
			})
		})
	}
}

// A modem with another speed and no parity: 12 × 10 / 2400 s.
func TestKeyingCountsTheCharactersThatAreSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig()
		p := newPort("rig", r, Settings{Baud: 2400, Parity: NoParity, Modem: keying})
		defer p.Close()
		if err := p.Send(t.Context(), r.began, 0, 0, twelve); err != nil {
			t.Fatal(err)
		}
		r.want(t, "0s RTS on", "0s write 12", "50ms drain", "50ms RTS off")
	})
}

func TestNothingIsKeyed(t *testing.T) {
	for name, m := range map[string]Modem{"none": {}, "RTS on": {DTROff: true}, "RTS off": {RTS: RTSOff}} {
		t.Run(name, func(t *testing.T) {
			onRig(t, m, func(t *testing.T, r *rig, p *Port) {
				if err := p.Send(t.Context(), r.began.Add(50*ms), 4*ms, 3*ms, twelve); err != nil {
					t.Fatal(err)
				}
				r.want(t, "50ms write 12")
			})
		})
	}
}

// bare has no modem lines.
type bare struct{ line }

func TestNothingIsKeyedWhereThereIsNoRTS(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig()
		p := newPort("bare", &bare{r}, Settings{Modem: Modem{RTS: RTSKeys, Carrier: DCD}})
		defer p.Close()
		if err := p.Send(t.Context(), r.began, 4*ms, 3*ms, twelve[:1]); err != nil {
			t.Fatal(err)
		}
		r.want(t, "9.166666ms write 1")
		r.in <- twelve
		if a := <-p.Arrivals(); len(a.Chars) != 12 || p.Dropped() != 0 {
			t.Errorf("got %+v, dropped %d", a, p.Dropped())
		}
	})
}

// What is due while RTS is on still needs no other carrier, and no lead.
func TestOneCarrierForMessagesCloseTogether(t *testing.T) {
	onRig(t, keying, func(t *testing.T, r *rig, p *Port) {
		sent := make(chan error)
		for range 2 {
			go func() { sent <- p.Send(t.Context(), r.began, 4*ms, 3*ms, twelve) }()
		}
		if err := errors.Join(<-sent, <-sent); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "4ms write 12", "114ms drain", "114ms write 12", "224ms drain", "227ms RTS off")
	})
}

// A message may come in pieces, as from another port: nothing may tear it, neither its
// carrier nor silence between characters.
func TestOneCarrierForThePiecesOfAMessage(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
		for _, pause := range []time.Duration{0, 0, 9 * ms, 11 * ms} {
			time.Sleep(pause)
			if err := p.Send(t.Context(), time.Time{}, 4*ms, 3*ms, twelve); err != nil {
				t.Fatal(err)
			}
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "4ms write 12", "114ms drain", "114ms write 12", "224ms drain",
			"233ms write 12", "343ms drain", "353ms RTS off",
			"354ms RTS on", "358ms write 12", "468ms drain", "478ms RTS off")
	})
}

// The carrier lasts for as long as the last piece needs, not for as long as an earlier one.
func TestCarrierLastsBehindTheLastPiece(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 50 * ms}, func(t *testing.T, r *rig, p *Port) {
		for range 2 {
			if err := p.Send(t.Context(), time.Time{}, 0, 0, twelve[:1]); err != nil {
				t.Fatal(err)
			}
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "0s write 1", "9.166666ms drain", "9.166666ms write 1", "18.333332ms drain", "68.333332ms RTS off")
	})
}

// Who waits for the time of a later message does not keep the carrier on until then.
func TestRTSGoesOffBetweenMessages(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
		for _, at := range []time.Duration{4 * ms, 500 * ms} {
			if err := p.Send(t.Context(), r.began.Add(at), 4*ms, 3*ms, twelve); err != nil {
				t.Fatal(err)
			}
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "4ms write 12", "114ms drain", "124ms RTS off",
			"496ms RTS on", "500ms write 12", "610ms drain", "620ms RTS off")
	})
}

// A message that is given up does not cut the last character of the one before it.
func TestRTSStaysOnBehindAMessageWhenTheNextIsGivenUp(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
		if err := p.Send(t.Context(), r.began, 4*ms, 3*ms, twelve); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		after(5*ms, cancel)
		if err := p.Send(ctx, r.began.Add(500*ms), 4*ms, 3*ms, twelve); !errors.Is(err, context.Canceled) {
			t.Errorf("got %v", err)
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "4ms write 12", "114ms drain", "124ms RTS off")
	})
}

func TestCloseWaitsUntilRTSMayGoOff(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
		if err := p.Send(t.Context(), r.began, 4*ms, 3*ms, twelve); err != nil {
			t.Fatal(err)
		}
		p.Close()
		time.Sleep(time.Second)
		r.want(t, "0s RTS on", "4ms write 12", "114ms drain", "124ms RTS off", "124ms close")
	})
}

// A modem that cannot be taken off the loop is let go of.
func TestPortEndsWhenRTSStaysOn(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
		r.fail("RTS off", syscall.EIO)
		if err := p.Send(t.Context(), r.began, 0, 0, twelve); err != nil {
			t.Fatal(err)
		}
		for range p.Arrivals() {
			t.Error("something arrived")
		}
		wantGone(t, p)
		r.want(t, "0s RTS on", "0s write 12", "110ms drain", "120ms RTS off", "120ms close")
	})
}

func TestRTSGoesOffWhenItsContextEnds(t *testing.T) {
	tests := []struct {
		name string
		end  time.Duration
		err  error
		want []string
	}{
		{"before", 30 * ms, context.Canceled, nil},
		{"in the lead", 48 * ms, context.Canceled, []string{"46ms RTS on", "48ms RTS off"}},
		{"in the message", 100 * ms, context.Canceled,
			[]string{"46ms RTS on", "50ms write 12", "100ms discard", "100ms RTS off"}},
		{"in the hold", 165 * ms, nil,
			[]string{"46ms RTS on", "50ms write 12", "160ms drain", "170ms RTS off"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			onRig(t, Modem{RTS: RTSKeys, Hold: 10 * ms}, func(t *testing.T, r *rig, p *Port) {
				ctx, cancel := context.WithCancel(t.Context())
				after(tt.end, cancel)
				err := p.Send(ctx, r.began.Add(50*ms), 4*ms, 3*ms, twelve)
				if !errors.Is(err, tt.err) {
					t.Errorf("got %v, want %v", err, tt.err)
				}
				time.Sleep(time.Second)
				r.want(t, tt.want...)
			})
		})
	}
}

func TestCloseInAMessageTakesRTSAwayFirst(t *testing.T) {
	onRig(t, keying, func(t *testing.T, r *rig, p *Port) {
		after(100*ms, func() { p.Close() })
		if err := p.Send(t.Context(), r.began.Add(50*ms), 4*ms, 3*ms, twelve); !errors.Is(err, ErrClosed) {
			t.Errorf("got %v, want %v", err, ErrClosed)
		}
		p.Close()
		r.want(t, "46ms RTS on", "50ms write 12", "100ms discard", "100ms RTS off", "100ms close")
	})
}

func TestCloseDoesNotWaitForADrainThatHangs(t *testing.T) {
	onRig(t, keying, func(t *testing.T, r *rig, p *Port) {
		r.drain = make(chan struct{})
		defer close(r.drain)
		go p.Send(t.Context(), r.began, 0, 0, twelve)
		time.Sleep(time.Second)
		p.Close()
		r.want(t, "0s RTS on", "0s write 12", "1.5s discard", "1.5s close")
	})
}

func TestPortThatVanishesInAMessage(t *testing.T) {
	for name, m := range map[string]Modem{"plain": {}, "keyed": keying, "with a carrier": {Carrier: DCD}} {
		t.Run(name, func(t *testing.T) {
			onRig(t, m, func(t *testing.T, r *rig, p *Port) {
				after(100*ms, r.vanish)
				err := p.Send(t.Context(), r.began.Add(50*ms), 4*ms, 3*ms, twelve)
				if !errors.Is(err, ErrGone) || err.Error() != "send rig: the other end is gone" {
					t.Errorf("send: got %v", err)
				}
				if d := time.Since(r.began); d != 100*ms {
					t.Errorf("Send returned after %v, want 100 ms", d)
				}
				for range p.Arrivals() {
					t.Error("something arrived")
				}
				wantGone(t, p)
				if err := p.Send(t.Context(), time.Now(), 0, 0, twelve); !errors.Is(err, ErrGone) {
					t.Errorf("sent again: got %v", err)
				}
			})
		})
	}
}

func TestRTSGoesOffWhateverFails(t *testing.T) {
	tests := []struct{ fails, want string }{
		{"write 12", "send rig: the other end is gone"},
		{"drain", "send rig: drain: the other end is gone"},
		{"RTS on", "send rig: RTS on: the other end is gone"},
		{"RTS off", "send rig: RTS off: the other end is gone"},
	}
	for _, tt := range tests {
		t.Run(tt.fails, func(t *testing.T) {
			onRig(t, keying, func(t *testing.T, r *rig, p *Port) {
				r.fail(tt.fails, syscall.EIO)
				err := p.Send(t.Context(), r.began, 0, 0, twelve)
				if !errors.Is(err, ErrGone) || err.Error() != tt.want {
					t.Errorf("got %v, want %s", err, tt.want)
				}
				if last := r.deeds[len(r.deeds)-1]; last != "0s RTS off" && last != "110ms RTS off" {
					t.Errorf("the last deed is %q", last)
				}
			})
		})
	}
}

func TestInvertedRTS(t *testing.T) {
	onRig(t, Modem{RTS: RTSKeys, Invert: RTS | DCD}, func(t *testing.T, r *rig, p *Port) {
		if err := p.Send(t.Context(), r.began, 4*ms, 3*ms, twelve); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Second)
		r.want(t, "0s RTS off", "4ms write 12", "114ms drain", "117ms RTS on")
	})
}

func TestModemSettlesBeforeAnybodyListens(t *testing.T) {
	tests := []struct {
		name  string
		modem Modem
		want  []string
		takes time.Duration
	}{
		{"none", Modem{}, nil, 0},
		{"carrier only", Modem{Carrier: DCD}, []string{"0s RTS on", "0s DTR on"}, 0},
		{"keyed", keying, []string{"0s RTS off", "0s DTR on"}, 8 * ms},
		{"listening only", Modem{RTS: RTSOff, DTROff: true}, []string{"0s RTS off", "0s DTR off"}, 8 * ms},
		{"inverted", Modem{RTS: RTSKeys, Invert: RTS | DTR}, []string{"0s RTS on", "0s DTR off"}, 8 * ms},
		{"DTR off, inverted", Modem{DTROff: true, Invert: DTR}, []string{"0s RTS on", "0s DTR on"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRig()
				if err := settle(r, tt.modem); err != nil {
					t.Fatal(err)
				}
				r.want(t, tt.want...)
				if d := time.Since(r.began); d != tt.takes {
					t.Errorf("took %v, want %v", d, tt.takes)
				}
			})
		})
	}
}

func TestModemThatCannotBeSet(t *testing.T) {
	for _, deed := range []string{"RTS off", "DTR on"} {
		r := newRig()
		r.fail(deed, syscall.EIO)
		if err := settle(r, keying); !errors.Is(err, syscall.EIO) {
			t.Errorf("%s fails: got %v", deed, err)
		}
	}
	r := newRig()
	if err := settle(&bare{r}, Modem{Carrier: DCD}); !errors.Is(err, ErrNoLines) {
		t.Errorf("carrier without modem lines: got %v", err)
	}
	if err := settle(&bare{r}, keying); err != nil {
		t.Errorf("RTS without modem lines: got %v", err)
	}
}

// Only inputs are told, whatever else is inverted.
func TestInvertedInputs(t *testing.T) {
	r := newRig()
	for on, want := range map[Lines]Lines{0: DCD | RI, DCD: RI, CTS | RI: DCD | CTS} {
		r.set(on)
		m := modemOf(r, Modem{Invert: RTS | DTR | DCD | RI})
		if got, err := m.Inputs(); got != want || err != nil {
			t.Errorf("%b: got %b, %v, want %b", on, got, err, want)
		}
	}
}
