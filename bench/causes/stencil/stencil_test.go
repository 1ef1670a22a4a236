package stencil

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// bounds are what no instrument of these shops can show beyond.
var bounds = map[sense.Channel][2]float64{
	sense.DP: {-5000, 6000}, sense.AfterfilterDP: {-500, 6000}, sense.Flow: {0, 20}, sense.FlowIndex: {0, 3}, sense.Header: {0, 9e5},
	sense.HeaderLow: {0, 9e5}, sense.FanCurrent: {0, 300}, sense.FanPower: {0, 1e5}, sense.InletSP: {-6000, 500}, sense.Damper: {0, 1},
	sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Temperature: {240, 330}, sense.Humidity: {0, 1}, sense.Barometer: {8e4, 1.1e5},
	sense.BinLevel: {0, 1}, sense.BinMass: {0, 1e5}, sense.Emission: {0, 1e5}, sense.Pulse: {0, 500},
}

// full are the channels that every log has.
var full = []sense.Channel{sense.DP, sense.Flow, sense.Header, sense.HeaderLow, sense.FanCurrent, sense.FanPower, sense.InletSP, sense.Damper,
	sense.Running, sense.Cleaning, sense.Temperature, sense.Humidity, sense.Barometer, sense.BinLevel, sense.BinMass, sense.Emission}

// A machine of each cause can be drawn, its file and log can be, and the same seed draws it again. A trouble that is drawn
// shows beside its twin, or drawCause would not have handed it over.
func TestEveryCauseCanBeDrawn(t *testing.T) {
	for i, cause := range append(made.Causes(), healthy) {
		tr, err := drawCause(rand.New(rand.NewPCG(uint64(i), 1)), cause)
		if err != nil {
			t.Errorf("%s: %v", cause, err)
			continue
		}
		if err := tr.Check(bounds); err != nil {
			t.Errorf("%s: %v", cause, err)
		}
		if err := tr.Collector.Validate(); err != nil {
			t.Errorf("%s: %v", cause, err)
		}
		if err := made.Flaw(tr.Collector); err != nil {
			t.Errorf("%s: %v", cause, err)
		}
		if tr.Truth != cause || cause != healthy && (tr.Severity < 0.25 || tr.Severity > 1 || tr.Old <= 0) || tr.Number > tr.Collector.Filters.Rows {
			t.Errorf("%s: truth %s, severity %v, %v days old, number %d", cause, tr.Truth, tr.Severity, tr.Old, tr.Number)
		}
		if n := tr.Series.Len(); n < 1000 || n > 300000 {
			t.Errorf("%s: %d rows", cause, n)
		}
		for _, c := range full {
			if !read(tr.Series, c) {
				t.Errorf("%s: nothing was read of %v", cause, c)
			}
		}
		for j := 1; j < tr.Series.Len(); j++ {
			if tr.Series.Time[j] <= tr.Series.Time[j-1] {
				t.Fatalf("%s: row %d is not after the one before", cause, j)
			}
		}
	}
}

// read reports that a channel has a reading.
func read(s *sense.Series, c sense.Channel) bool {
	for _, v := range s.Col[c] {
		if !math.IsNaN(v) {
			return true
		}
	}
	return false
}

func TestSameSeedSameTrial(t *testing.T) {
	if err := made.Twice(Draw, 11); err != nil {
		t.Error(err)
	}
}

// A machine that is well has the same log as one whose trouble is yet to come, up to then.
func TestTroubleStartsAtItsOnset(t *testing.T) {
	for _, cause := range made.Causes() {
		x := suited(t, 40, cause)
		x.shop.days, x.bad.onset = 12, 9
		x.bad.kind = 0.5
		_, ill := x.log(false)
		_, well := x.log(true)
		at := x.start.UnixNano() + int64(x.bad.onset*86400e9)
		for i := range ill.Time {
			if cause == binFull || ill.Time[i] >= at { // a bin is forgotten before it is too full
				break
			}
			if a, b := ill.Col[sense.DP][i], well.Col[sense.DP][i]; a != b && !(math.IsNaN(a) && math.IsNaN(b)) {
				t.Errorf("%s: row %d, before the onset, has %v and %v", cause, i, a, b)
				break
			}
		}
	}
}

// suited is the first machine from a seed on that does.
func suited(t *testing.T, seed uint64, cause string) *setting {
	t.Helper()
	for ; ; seed++ {
		x, err := set(seed, cause)
		if err != nil {
			t.Fatal(err)
		}
		if x != nil && x.shop.mode == "on-demand" {
			return x
		}
	}
}

// blank is a world of a seed without trouble, its fan running.
func blank(t *testing.T, seed uint64) *world {
	t.Helper()
	x := suited(t, seed, healthy)
	w := newWorld(x.shop, x.seed, x.bad, tale{at: 1e9})
	w.running = true
	w.gauge.lag = 3
	w.blow()
	return w
}

// Dust is neither made nor lost: what the hoods caught is on the cloth, on its way, in the bin, or through.
func TestDustIsConserved(t *testing.T) {
	for seed := uint64(100); seed < 600; seed += 100 {
		w := blank(t, seed)
		had := w.caked()
		for w.t < 12*86400 {
			w.step(w.stride(600))
		}
		sum := w.caked() - had + w.aloft + w.dropped + w.falls + w.through
		if w.given <= 0 || w.dropped <= 0 || math.Abs(sum-w.given) > 1e-6*w.given {
			t.Errorf("seed %d: %v g came, %v g are accounted for, %v g in the bin", seed, w.given, sum, w.dropped)
		}
	}
}

// A more loaded cloth, a closed gate, a blocked duct or a closed damper lower the flow; an open hatch raises it and eases the suction.
func TestAirFollowsItsWay(t *testing.T) {
	for seed := uint64(1000); seed < 1500; seed += 100 {
		w := blank(t, seed)
		was := w.now
		less := func(what string, change func(w *world)) wind {
			v := *w
			v.cloth = append([]row(nil), w.cloth...)
			v.gates = append([]hood(nil), w.gates...)
			v.off, v.part = false, 0
			change(&v)
			v.blow()
			if what != "" && v.now.flow >= was.flow {
				t.Errorf("seed %d, %s: the flow went from %v to %v", seed, what, was.flow, v.now.flow)
			}
			return v.now
		}
		less("cake", func(v *world) { v.feed(40*v.area, v.now.dp) })
		less("damper", func(v *world) { v.damper *= 0.7 })
		fouled := less("fan", func(v *world) { v.fault, v.part, v.kind = weak, 0.5, 0.9 })
		duct := less("duct", func(v *world) { v.fault, v.part = blocked, 0.5 })
		hatch := less("", func(v *world) { v.fault, v.part, v.kind = inward, 0.5, 0.9 })
		if duct.suction <= was.suction || fouled.suction >= was.suction || hatch.suction >= was.suction || hatch.flow <= was.flow || hatch.hoods >= was.hoods {
			t.Errorf("seed %d: was %+v, blocked %+v, fouled %+v, hatch %+v", seed, was, duct, fouled, hatch)
		}
	}
}

// More cake is more drag, a full pulse bares more than a feeble one, and a bare cloth lets more through.
func TestCakeAndPulse(t *testing.T) {
	w := blank(t, 2000)
	for load := 1.0; load < 400; load *= 2 {
		if w.drag(w.media, load, 1) <= w.drag(w.media, load/2, 1) {
			t.Errorf("the drag does not rise to %v g/m2", load)
		}
	}
	fell := func(energy float64) (sum float64) {
		for range 200 {
			r := w.cloth[0]
			for p := range r.load {
				r.load[p] = 50
			}
			sum += w.puff(&r, energy, 0.01)
		}
		return sum
	}
	if none, half, whole := fell(0), fell(0.4), fell(1); none != 0 || half >= whole || half <= 0 {
		t.Errorf("pulses of no, less and full energy let fall %v, %v and %v g", none, half, whole)
	}
	loaded := w.cloth[0]
	for p := range loaded.load {
		loaded.load[p] = 50
	}
	bared := row{share: loaded.share}
	w.settle(&loaded)
	w.settle(&bared)
	if bared.bare <= loaded.bare || bared.open <= loaded.open {
		t.Errorf("bare cloth passes %v and %v, a loaded one %v and %v", bared.bare, bared.open, loaded.bare, loaded.open)
	}
}

// The header falls at a pulse, comes back to its setting and no further, and does not where a valve bleeds it.
func TestHeader(t *testing.T) {
	w := blank(t, 3000)
	w.manned = true
	w.header = w.set
	w.fire(1)
	low := w.header
	if low >= w.set || low < 0.5*w.set || w.least != low {
		t.Errorf("a pulse takes the header from %v to %v", w.set, low)
	}
	for range 100 {
		w.breathe(20)
	}
	if math.Abs(w.header-w.set) > 0.01*w.set {
		t.Errorf("the header comes back to %v of %v", w.header, w.set)
	}
	w.fault, w.part = stuckOpen, 0.9
	for range 100 {
		w.breathe(20)
	}
	if w.header > 0.85*w.set {
		t.Errorf("a valve that bleeds it leaves the header at %v of %v", w.header, w.set)
	}
}

// Shares of the causes are about what they are meant to be; only what is drawn first is looked at.
func TestShares(t *testing.T) {
	n := map[string]int{}
	for seed := range uint64(4000) {
		n[causeOf(seeded(seed))]++
	}
	if share := float64(n[healthy]) / 4000; math.Abs(share-0.4) > 0.03 {
		t.Errorf("%v of the trials are healthy", share)
	}
	for _, cause := range made.Causes() {
		if n[cause] < 90 || n[cause] > 195 { // 141 expected
			t.Errorf("%d of 4000 have %s", n[cause], cause)
		}
	}
}

// The lowest header pressure since the last row is no higher than the one at the row.
func TestLowestIsLowest(t *testing.T) {
	_, s := suited(t, 4000, healthy).log(true)
	for i, low := range s.Col[sense.HeaderLow] {
		if low > s.Col[sense.Header][i] {
			t.Fatalf("row %d: %v, the lowest is %v", i, s.Col[sense.Header][i], low)
		}
	}
}
