package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// minuteRows is a log of a row a minute: header at the row's end and its lowest since the row before,
// and the valves that fired, ten seconds apart in bouts that begin at any second. The header is filled up
// again as a first-order lag [s]; share is what each valve takes of the usual fall.
func minuteRows(share [6]float64, days int, seed uint64, lag float64) *Series {
	const full, drop = 414000.0, 150000.0
	r := rand.New(rand.NewPCG(seed, 1))
	s := &Series{}
	for _, c := range [...]Channel{DP, Header, HeaderLow, Running} {
		s.Col[c] = []float64{}
	}
	head, next, bout := full, r.IntN(600), 0
	for row := range days * 1440 {
		low := math.Inf(1)
		for sec := range 60 {
			head += (full - head) / lag
			if t := row*60 + sec; t == next {
				valve := bout % len(share)
				s.Pulses = append(s.Pulses, Firing{Row: int32(row), Valve: uint8(valve + 1)})
				head -= share[valve] * drop
				bout++
				if next += 10; bout%18 == 0 {
					next = t + 600 + r.IntN(1200)
				}
			}
			low = min(low, head)
		}
		s.Time = append(s.Time, start.UnixNano()+int64(row+1)*60e9)
		for c, x := range map[Channel]float64{DP: 700 + 2*r.NormFloat64(), Header: head + 700*r.NormFloat64(), HeaderLow: low + 700*r.NormFloat64(), Running: 1} {
			s.Col[c] = append(s.Col[c], x)
		}
	}
	return s
}

// Where a row holds the pulses of all valves, its lowest header is that of the good ones; what the header
// lacks at the row's end still tells the dead and the weak valve from the others.
func TestLeftTellsValvesInOneRow(t *testing.T) {
	for _, c := range []struct {
		name  string
		share [6]float64
	}{
		{"all sound", [6]float64{1, 1, 1, 1, 1, 1}},
		{"the fourth dead", [6]float64{1, 1, 1, 0, 1, 1}},
		{"the second weak", [6]float64{1, 0.5, 1, 1, 1, 1}},
	} {
		for seed := range uint64(3) {
			r := NewReducer(usual().file())
			r.Add(minuteRows(c.share, 12, seed, 8))
			h := r.History()
			for i, m := range At(h, usual().file(), unixTime(h.Last/1e9)).Valves {
				// A valve that did not open leaves what the one before it took ten seconds and more ago: a third at most.
				low, high := c.share[i]-0.15, c.share[i]+0.35*(1-c.share[i])+0.15
				if !m.Left.Known() || m.Left.Value < low-m.Left.Sigma || m.Left.Value > high+m.Left.Sigma {
					t.Errorf("%s, seed %d: after valve %d the header lacks %.2f give or take %.2f of the usual, want %.2f to %.2f", c.name, seed, i+1, m.Left.Value, m.Left.Sigma, low, high)
				}
				if ailing := c.share[i] < 1; (ailing || c.name == "all sound") && m.Left.Sigma > 0.3 {
					t.Errorf("%s, seed %d: valve %d is known to %.2f only", c.name, seed, i+1, m.Left.Sigma)
				}
			}
		}
	}
}

// Valves that fall into groups by how long before the row's end they fire are not told apart.
func TestLeftKnowsRowsInStep(t *testing.T) {
	var sets []FiringSet
	for valve, x := range []float64{100, 98, 5, 101, 4, 99} {
		f := FiringSet{Day: 86400, Mask: 1 << valve, Valve: uint8(valve + 1)}
		for i := range 40 {
			f.Left.add(1000 * (x + float64(i%3)))
		}
		sets = append(sets, f)
	}
	for i, e := range leftOf(sets, nil, 6, lacksLast) {
		if e.Sigma < 0.3 {
			t.Errorf("valve %d: %.2f give or take only %.2f, although two of six differ from the rest alike", i+1, e.Value, e.Sigma)
		}
	}
}

// Without the header, or with too few rows, nothing is said.
func TestLeftUnknown(t *testing.T) {
	few := FiringSet{Day: 86400, Mask: 1, Valve: 1}
	few.Left.add(5)
	for _, sets := range [][]FiringSet{nil, {few}, {{Day: 86400, Mask: 2, Valve: 2, Rows: 9}}} {
		for i, e := range leftOf(sets, nil, 3, lacksLast) {
			if e.Known() || e.Missing == "" {
				t.Errorf("valve %d: %+v", i+1, e)
			}
		}
	}
}

// A puff that is carried into the rows after it still points to the row it came from.
func TestPuffPointsToItsRow(t *testing.T) {
	var sets []FiringSet
	for valve, x := range []float64{0.1, 0, 9, 4, 1.5, 0.2} {
		f := FiringSet{Day: 86400, Mask: 1 << valve, Valve: uint8(valve + 1)}
		for i := range 30 {
			f.Puff.add(x + 0.3*float64(i%5))
		}
		sets = append(sets, f)
	}
	best, most := 0, math.Inf(-1)
	for i, m := range valveMeasures(usual().file(), sets, nil, start.Location(), 0) {
		if z := m.Puff.Value / m.Puff.Sigma; z > most {
			best, most = i+1, z
		}
	}
	if best != 3 || most < 4 {
		t.Errorf("the highest puff is said to come from row %d, %.1f times its width", best, most)
	}
}

// A valve that never opens leaves the header at rest day after day; sound and weak ones do not.
func TestSilenceTellsTheDeadValve(t *testing.T) {
	for _, c := range []struct {
		name  string
		share [6]float64
		dead  int
	}{
		{"all sound", [6]float64{1, 1, 1, 1, 1, 1}, 0},
		{"the fourth dead", [6]float64{1, 1, 1, 0, 1, 1}, 4},
		{"the second weak", [6]float64{1, 0.5, 1, 1, 1, 1}, 0},
	} {
		r := NewReducer(usual().file())
		s := minuteRows(c.share, 12, 5, 3)
		r.Add(s)
		h := r.History()
		for _, m := range At(h, usual().file(), unixTime(h.Last/1e9)).Valves {
			switch {
			case m.Valve == c.dead && !(m.Silent > 10 && m.SilentSince.Sub(unixTime(s.Time[0]/1e9)) < 3*24*time.Hour):
				t.Errorf("%s: valve %d is silent by %.1f since %s", c.name, m.Valve, m.Silent, m.SilentSince)
			case m.Valve != c.dead && m.Silent > 1:
				t.Errorf("%s: valve %d is called silent by %.1f since %s", c.name, m.Valve, m.Silent, m.SilentSince)
			}
		}
	}
}

// Of some valves the leak detector is known by rows that end as others of the bout do, which tell by how much it stands above
// those; of others by all their rows, which tell how far it rises in all. One is not held against the other.
func TestPuffsOfTwoKinds(t *testing.T) {
	var sets []FiringSet
	for v := uint8(1); v <= 6; v++ {
		f := FiringSet{Valve: v, Mask: maskOf(v)}
		for i := range 20 {
			f.Puff.add(7 + 0.2*float64(i%3))
			if v%2 == 1 {
				f.HeldPuff.add(0.1 * float64(i%3-1))
			}
		}
		sets = append(sets, f)
	}
	for i, e := range puffsOf(sets, 6) {
		if !e.Known() || math.Abs(e.Value) > 3*e.Sigma+0.05 {
			t.Errorf("valve %d stands %+v above the others", i+1, e)
		}
	}
}
