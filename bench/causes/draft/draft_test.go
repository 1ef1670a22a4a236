package draft

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// bounds are what transmitters of these ranges can show.
var bounds = map[sense.Channel][2]float64{
	sense.DP: {-200, 8000}, sense.AfterfilterDP: {-100, 3000}, sense.Flow: {-1, 30}, sense.Header: {-5e4, 1.7e6}, sense.HeaderLow: {-5e4, 1.7e6},
	sense.InletSP: {-4100, 251}, sense.Damper: {0, 1}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Temperature: {220, 390},
	sense.Humidity: {0, 1}, sense.Barometer: {7e4, 1.2e5}, sense.BinLevel: {0, 1}, sense.Pulse: {0, 2000}, sense.BinMass: {0, 2000},
}

// causes are all that can be drawn.
func causes() []judge.Cause {
	var out []judge.Cause
	for _, name := range made.Causes() {
		out = append(out, judge.Cause(name))
	}
	return out
}

func draw(t *testing.T, seed uint64) *made.Trial {
	t.Helper()
	trial, err := Draw(seed)
	if err != nil {
		t.Fatal(err)
	}
	return trial
}

func TestTrialsAreValid(t *testing.T) {
	for seed := range uint64(15) {
		trial := draw(t, 7000+seed)
		if err := trial.Check(bounds); err != nil {
			t.Errorf("seed %d, %s: %v", seed, trial.Truth, err)
		}
		if err := trial.Collector.Validate(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		s := trial.Series
		if s.Len() > 180000 || !slices.IsSorted(s.Time) || s.Time[s.Len()-1] > trial.At.UnixNano() {
			t.Errorf("seed %d: %d rows, sorted %v, last %v of %v", seed, s.Len(), slices.IsSorted(s.Time), s.When(s.Len()-1), trial.At)
		}
		if (trial.Truth == "none") != (trial.Severity == 0) || trial.Severity != 0 && (trial.Severity < 0.25 || trial.Severity > 1) {
			t.Errorf("seed %d: %s of severity %g", seed, trial.Truth, trial.Severity)
		}
		silent := 0
		for _, v := range s.Col[sense.DP] {
			if math.IsNaN(v) {
				silent++
			}
		}
		if silent > s.Len()/3 {
			t.Errorf("seed %d: %d of %d rows without dP", seed, silent, s.Len())
		}
	}
}

func TestSharesOfCauses(t *testing.T) {
	const n = 20000
	count := map[judge.Cause]int{}
	r := rand.New(rand.NewPCG(1, 2))
	for range n {
		count[pick(r)]++
	}
	for _, c := range append(causes(), judge.None) {
		want := 0.6 * n / float64(len(causes()))
		if c == judge.None {
			want = 0.4 * n
		}
		if got := float64(count[c]); math.Abs(got-want) > 5*math.Sqrt(want) {
			t.Errorf("%s is drawn %g times of %d, not about %.0f", c, got, n, want)
		}
	}
}

func TestSameSeedSameTrial(t *testing.T) {
	if err := made.Twice(Draw, 11); err != nil {
		t.Error(err)
	}
}

func TestEveryCauseCanBeDrawn(t *testing.T) {
	numbered := judge.NumberedCauses()
	for i, c := range causes() {
		trial, err := drawn(rand.New(rand.NewPCG(uint64(i), 3)), uint64(i), c)
		if err != nil {
			t.Error(err)
			continue
		}
		if trial.Truth != string(c) || slices.Contains(numbered, c) != (trial.Number > 0) || trial.Number > trial.Collector.Filters.Rows {
			t.Errorf("%s: %s of number %d", c, trial.Truth, trial.Number)
		}
	}
}

func TestNothingShowsBesideItself(t *testing.T) {
	s := still(3)
	rec := s.run(nil)
	for _, c := range causes() {
		tr := &trouble{cause: c, severity: 1}
		if slices.Contains(judge.NumberedCauses(), c) {
			tr.number = 2
		}
		if shows(s, tr, rec, s.run(nil)) {
			t.Errorf("%s shows where it is not", c)
		}
		if !shows(s, tr, rec, s.run(tr)) {
			t.Errorf("%s at its worst does not show", c)
		}
	}
}

// still is a machine with its own noise taken away, that has worked for days.
func still(seed uint64) *setup {
	r := rand.New(rand.NewPCG(seed, 1))
	for {
		s, days := newSetup(r, true)
		if s.step < 60 || s.plant.control.byTime || s.habits.far > 0 || s.plant.control.down > 0 || s.plant.air.nights {
			continue
		}
		s.story = &story{name: "quiet"}
		s.works = rota{shifts: 3, week: 7, batch: 7200, pause: 600, recipes: []recipe{{1, 0, 1, 1}}}.stints(r, int(days), 0, s.story)
		s.rows = int(12 * 86400 / s.step)
		return s
	}
}

// after is the mean of a channel over the last days of a run while the fan runs.
func after(s *setup, rec *record, ch sense.Channel) float64 {
	sum, n := 0.0, 0
	for i := int(8 * 86400 / s.step); i < s.rows; i++ {
		if rec.col[sense.Running][i] == 1 {
			sum += rec.col[ch][i]
			n++
		}
	}
	return sum / float64(n)
}

func TestTroublesMoveWhatTheyMust(t *testing.T) {
	for _, c := range []struct {
		cause judge.Cause
		kind  int
		ch    sense.Channel
		sign  float64
	}{
		{judge.AirflowHigh, 0, sense.Flow, 1}, {judge.AirflowLow, 0, sense.Flow, -1}, {judge.DuctBlocked, 0, sense.InletSP, -1},
		{judge.DuctBlocked, 0, sense.Flow, -1}, {judge.LeakInward, 0, sense.InletSP, 1}, {judge.LeakInward, 0, sense.Flow, 1},
		{judge.FanWeak, 0, sense.Flow, -1}, {judge.FanWeak, 1, sense.FanPower, -1}, {judge.CleaningOff, 0, sense.DP, 1},
		{judge.CleaningOff, 0, sense.Pulse, -1}, {judge.DustLoadHeavy, 0, sense.Pulse, 1}, {judge.FiltersBlinded, 0, sense.Pulse, 1},
		{judge.CakeDamp, 0, sense.Pulse, 1}, {judge.HeaderPressureLow, 0, sense.Header, -1}, {judge.HeaderPressureLow, 2, sense.Header, -1},
		{judge.ValveStuckOpen, 0, sense.Header, -1}, {judge.GaugeLineOff, 1, sense.DP, -1}, {judge.FilterLeak, 0, sense.Emission, 1},
		{judge.BinOverfull, 0, sense.BinLevel, 1}, {judge.FiltersBlinded, 0, sense.Flow, -1},
	} {
		for seed := range uint64(3) {
			s := still(seed)
			tr := &trouble{cause: c.cause, kind: c.kind, severity: 0.8}
			if slices.Contains(judge.NumberedCauses(), c.cause) {
				tr.number = 1
			}
			was, is := after(s, s.run(nil), c.ch), after(s, s.run(tr), c.ch)
			if (is-was)*c.sign <= 0 {
				t.Errorf("%s %d, seed %d: %v went from %g to %g", c.cause, c.kind, seed, c.ch, was, is)
			}
		}
	}
}

func TestTheNetworkBalances(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 9))
		p := build(r)
		n := network{plant: p, speed: between(r, 0.8, 1.05), strength: between(r, 0.6, 1), density: between(r, 0.85, 1.1), damper: between(r, 0.2, 1),
			duct: between(r, 1, 3), hole: between(r, 0, 0.5) / math.Sqrt(p.duct), filters: p.media / p.area / float64(p.rows) * between(r, 1, 5), after: p.after}
		w := n.solve()
		rest := n.density * (p.stack + p.damperK*math.Pow(p.trim/n.damper, p.blades)) * w.total * w.total
		if off := w.fan - w.inlet - w.dp - w.afterDP - rest; math.Abs(off) > 1e-6*w.fan {
			t.Errorf("seed %d: the fan gives %g Pa more than the system takes", seed, off)
		}
		if hoods := math.Sqrt(w.inlet / n.density / p.duct / n.duct); n.duct == 1 && math.Abs(hoods-w.hoods) > 1e-6*hoods {
			t.Errorf("seed %d: %g m3/s through the hoods, the ducts' loss says %g", seed, w.hoods, hoods)
		}
		tight := n
		tight.filters *= 1.2
		if x := tight.solve(); x.total >= w.total || x.dp <= w.dp {
			t.Errorf("seed %d: more resistance, and the flow goes from %g to %g", seed, w.total, x.total)
		}
	}
}

func TestDustIsKept(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	p := build(r)
	f := filters{rows: make([]row, p.rows), g: make([]float64, p.rows)}
	f.rows[1].hole = 0.02 * p.flow / float64(p.rows) / 30
	for i := range 4000 {
		f.conduct(p, 900, 1)
		f.load(p, 0.01, 900)
		f.blow(p, i%p.rows, 1.3, p.back)
		f.carry(p, 0.002)
		if i%500 == 499 {
			f.sag(p)
		}
	}
	if got := f.kept(p) + f.bin + f.slip; math.Abs(got-f.brought) > 1e-9*f.brought {
		t.Errorf("%g kg came, %g kg are there", f.brought, got)
	}
	if f.slip <= 0 || f.kept(p) <= 0 || f.bin <= 0 {
		t.Errorf("slipped %g, on the filters %g, in the bin %g kg", f.slip, f.kept(p), f.bin)
	}
}

func TestAStrongerJetTakesMore(t *testing.T) {
	p := build(rand.New(rand.NewPCG(5, 5)))
	last := 0.0
	for _, force := range []float64{0.3, 0.7, 1, 2, 5} {
		f := filters{rows: make([]row, p.rows), g: make([]float64, p.rows)}
		f.rows[0].loose = 1
		off := f.blow(p, 0, force, 0)
		if off <= last || off > p.most {
			t.Errorf("a jet of %g times the grip takes %g, the one before %g", force, off, last)
		}
		last = off
	}
}

func TestTheHeaderComesBackToTheRegulator(t *testing.T) {
	a := supply{set: 5e5, fill: 3, drop: 0.2, on: 6e5, off: 7e5, makes: 2000, pull: 0.002}
	in := pressure{set: a.set, fill: a.fill, makes: a.makes, others: 700}
	c := compressor{receiver: a.off, header: a.set}
	if jet, low := c.pulse(&a, 1); jet != a.set || math.Abs(low-0.8*a.set) > 1 {
		t.Errorf("a whole pulse at %g leaves %g", jet, low)
	}
	loads, was := 0, false
	for range 4000 {
		before := c.header
		c.step(&a, in, 1)
		if c.header < before-1 || c.header > a.set+1 || c.receiver > a.off || c.receiver < a.on-3001 {
			t.Fatalf("header %g after %g, receiver %g", c.header, before, c.receiver)
		}
		if c.loaded && !was {
			loads++
		}
		was = c.loaded
	}
	if math.Abs(c.header-a.set) > 10 || loads < 5 {
		t.Errorf("the header stands at %g, the compressor loaded %d times", c.header, loads)
	}
	in.bleed = 1
	for range 100 {
		c.step(&a, in, 1)
	}
	if want := a.set * (1 / a.fill) / (1/a.fill + 1); math.Abs(c.header-want) > 100 {
		t.Errorf("with an open valve the header stands at %g, inflow and outflow meet at %g", c.header, want)
	}
}

func TestTheDeadBandHolds(t *testing.T) {
	g := tag{gain: 1, high: 100, band: 2, beat: 1e9}
	col := make([]float64, 200)
	running := make([]float64, 200)
	for i := range col {
		col[i] = 50 + 0.1*float64(i)
	}
	g.through(rand.New(rand.NewPCG(1, 1)), col, running, 60)
	moves := 0
	for i := 1; i < len(col); i++ {
		if d := col[i] - col[i-1]; d != 0 {
			moves++
			if d <= g.band {
				t.Errorf("row %d moves by %g within a dead band of %g", i, d, g.band)
			}
		}
		if off := 50 + 0.1*float64(i) - col[i]; off < 0 || off > g.band+1e-9 {
			t.Errorf("row %d is %g off", i, off)
		}
	}
	if moves < 8 || moves > 10 {
		t.Errorf("%d moves over 20 units", moves)
	}
}
