package ink

import (
	"fmt"
	"math"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

var bounds = map[sense.Channel][2]float64{sense.DP: {-5000, 5000}, sense.AfterfilterDP: {0, 1250}, sense.Header: {0, 10 * bar}, sense.HeaderLow: {0, 10 * bar},
	sense.InletSP: {-8000, 0}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}, sense.Damper: {0, 1}, sense.Humidity: {0, 1}}

// Every cause shows beside the machine's sound twin, and leaves a log and a file that can be.
func TestEveryCause(t *testing.T) {
	draw := func(i uint64, c judge.Cause) (*made.Trial, error) {
		tr, err := drawCause(i, c, 14)
		if err == nil && (tr.Series.Len() < 300 || tr.Series.Len() > 41000) {
			err = fmt.Errorf("%d rows", tr.Series.Len())
		}
		return tr, err
	}
	if err := made.EveryCause(made.Ending(draw), bounds); err != nil {
		t.Error(err)
	}
}

// The same seed gives the same trial, and two in five are sound.
func TestDraw(t *testing.T) {
	if err := made.Twice(func(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), 14) }, 6); err != nil {
		t.Error(err)
	}
	well := 0
	const n = 3000
	for seed := range uint64(n) {
		if causeOf(seed) == judge.None {
			well++
		}
	}
	if share := float64(well) / n; math.Abs(share-soundShare) > 0.03 {
		t.Errorf("%.3f are sound", share)
	}
}

// plain is a machine of a seed with a quiet fortnight before it.
func plain(seed uint64) *machine {
	p := newPlant(throw(seed, streamPlant))
	cal := plan(throw(seed, streamCalendar), p, -lead, 14*day, false)
	return newMachine(throw(seed, streamMachine), p, cal, nil, 60)
}

// An onset lies in the record, half a day to weeks before its end, or is the start.
func TestOnset(t *testing.T) {
	p := newPlant(throw(1, streamPlant))
	for seed := range uint64(500) {
		tr := newTrouble(throw(seed, streamTrouble), p, judge.FanWeak, -lead, 60*day)
		age := 60*day - tr.onset
		if tr.onset != -lead && (age < 0.5*day-1 || age > 28*day+1) {
			t.Fatalf("seed %d: the onset is %.2f days before the end", seed, age/day)
		}
		if l := tr.level(tr.onset - 1); l != 0 {
			t.Fatalf("seed %d: it is there at %g before its onset", seed, l)
		}
		if l := tr.level(tr.onset + tr.ramp + 1); l != 1 && len(tr.spells) == 0 {
			t.Fatalf("seed %d: it has come to %g", seed, l)
		}
	}
}

// The air balances: what the fan lifts is what network, filters, after-filter and damper take, at every speed and density.
func TestBalance(t *testing.T) {
	for seed := range uint64(30) {
		m := plain(seed)
		m.runs = true
		for range 4 {
			m.settle()
		}
		p := m.p
		blade := p.damper * (1 - math.Cos(math.Pi/2*m.open))
		takes := m.suck + m.dp + m.afterLoss(m.q) + m.rho/2*square(m.q/blade)
		if lifts := p.lift(m.q, m.turn, m.rho); math.Abs(takes/lifts-1) > 1e-6 {
			t.Errorf("seed %d: the fan lifts %g Pa, the rest takes %g", seed, lifts, takes)
		}
		duct := p.mainLoss(m.flowIn, m.friction, 1, m.rho) + m.rho/p.rho*square(m.flowIn/p.hoods)
		if math.Abs(duct/m.suck-1) > 1e-6 {
			t.Errorf("seed %d: the ducts take %g Pa of %g", seed, duct, m.suck)
		}
		sound := m.q
		m.e.leak = 0.3
		for range 4 {
			m.settle()
		}
		if p.drive < driveSuction && (m.q <= sound || m.flowIn >= sound) {
			t.Errorf("seed %d: with a leak %g m3/s of %g come from the hoods, without %g", seed, m.flowIn, m.q, sound)
		}
	}
}

// What comes is on the filters, in the bin, taken out or through.
func TestConserved(t *testing.T) {
	for seed := range uint64(8) {
		m := plain(seed)
		m.p.damp = 0 // a cake that takes up water grows
		before := m.cakeMass() + m.bin*m.p.bulk
		m.advance(6 * day)
		held := m.cakeMass() + m.bin*m.p.bulk + m.taken + m.gone + m.passed - before
		if m.came <= 0 || math.Abs(held/m.came-1) > 0.02 {
			t.Errorf("seed %d: %g kg came, %g are held", seed, m.came, held)
		}
	}
}

// A harder jet takes more off, a cake that holds better less, and a patch keeps what it grew whatever the steps.
func TestShed(t *testing.T) {
	off := func(jet, grip float64) (sum float64) {
		m := plain(3)
		m.e.grip = grip
		for i := range m.p.rows {
			sum += m.shed(i, jet)
		}
		return sum
	}
	a, b, c := off(1, 1), off(0.4, 1), off(1, 3)
	if a <= b || a <= c || off(0, 1) != 0 {
		t.Errorf("a pulse takes %g kg off, a weak one %g, of a cake that holds %g", a, b, c)
	}
	m := plain(4)
	m.dp, m.q = 800, m.p.flow
	was := m.drag(0)
	kg := 0.3 * m.p.area * m.p.span / m.k
	one := *m
	one.deposit(kg)
	for range 1000 {
		m.deposit(kg / 1000)
	}
	if x, y := m.drag(0), one.drag(0); math.Abs(x/y-1) > 0.02 || x <= was {
		t.Errorf("in a thousand steps the drag grows to %g, in one to %g", x, y)
	}
}

// What is thick falls in part when the fan stops, what is thin stays.
func TestSlough(t *testing.T) {
	m := plain(6)
	bin := m.bin * m.p.bulk
	for i := range m.patch {
		m.lay(i, m.patch[i].base+m.p.span)
	}
	thin := m.cakeMass()
	m.slough()
	if m.cakeMass() != thin {
		t.Errorf("of %g kg %g stay", thin, m.cakeMass())
	}
	for i := range m.patch {
		m.lay(i, m.patch[i].base+3*m.p.span)
	}
	held := m.cakeMass()
	m.slough()
	if left, fell := m.cakeMass(), m.bin*m.p.bulk-bin; left > 0.95*held || left < 0.3*held || math.Abs(left+fell-held) > 1e-6*held {
		t.Errorf("of %g kg %g stay and %g fall", held, left, fell)
	}
}

// The header falls by a valve, comes back to its regulator, not to it with too little feed or a valve that blows; and the
// line is held between the compressor's pressures while it gives enough.
func TestTank(t *testing.T) {
	m := plain(5)
	m.t, m.tank.at, m.tank.lineAt = 0, 0, 0
	m.tank.p = m.p.set
	m.blow(0, 0)
	down := m.tank.p
	want := (m.p.set+m.p.ambient)*(1-m.p.drop) - m.p.ambient
	if math.Abs(down-want) > 1 {
		t.Errorf("a pulse leaves %g Pa, want %g", down, want)
	}
	m.fill(60)
	if math.Abs(m.tank.p/m.p.set-1) > 0.02 {
		t.Errorf("it comes back to %g Pa of %g", m.tank.p, m.p.set)
	}
	m.e.bleed = 1.6
	m.fill(600)
	if m.tank.p > 0.8*m.p.set {
		t.Errorf("with a valve that blows it stands at %g Pa of %g", m.tank.p, m.p.set)
	}
	for at := 601.0; at < 5000; at += 7 {
		m.fill(at)
		if m.tank.line < m.p.loads-1 || m.tank.line > m.p.unloads+1 {
			t.Fatalf("the line stands at %g Pa, the compressor keeps %g to %g", m.tank.line, m.p.loads, m.p.unloads)
		}
	}
}
