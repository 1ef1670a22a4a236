package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// Two or three lone rows that happen to agree prove nothing of a valve: its share is known by the scatter
// of all valves' rows. A dead valve still stands out.
func TestShareOfAFewLoneRows(t *testing.T) {
	c := usual().file()
	var sets []FiringSet
	for valve, drops := range [][]float64{{100, 104}, {62, 63}, {99, 81, 108}, {95}, {110, 84}, {1, 2, 1}} {
		f := FiringSet{Day: 86400, Mask: 1 << valve, Valve: uint8(valve + 1)}
		for _, x := range drops {
			f.Rows++
			f.fell(1000*x, 400000)
		}
		sets = append(sets, f)
	}
	for i, m := range valveMeasures(c, sets, nil, time.UTC, 0) {
		z := (m.Share.Value - 1) / m.Share.Sigma
		if i < 5 && (math.Abs(z) > 4 || m.Share.Sigma < 0.05) {
			t.Errorf("sound valve %d: share %.2f give or take %.2f of %d rows", i+1, m.Share.Value, m.Share.Sigma, m.Alone)
		}
		if i == 5 && !(z < -5) {
			t.Errorf("dead valve: share %.2f give or take %.2f", m.Share.Value, m.Share.Sigma)
		}
	}
}

// A valve whose lone rows all begin or end a cleaning may be put there by a late or early record: it is held against what it
// used to show in such rows, and nothing is made of it where it never showed anything else.
func TestEdgeRowsDoNotKillValves(t *testing.T) {
	c := usual().file()
	day := func(n int64, valve uint8, drops []float64, edge bool) FiringSet {
		f := FiringSet{Day: n * 86400, Mask: 1 << (valve - 1), Valve: valve}
		for _, x := range drops {
			f.Rows++
			f.fell(x, 400000)
			if x < 10 {
				f.NoDrop++
				if f.FirstDead == 0 {
					f.FirstDead = (n*86400 + 3600) * 1e9
				}
			} else {
				f.LastDrop, f.FirstDead = (n*86400+3600)*1e9, 0
			}
		}
		if edge {
			f.Edge[1] = Edge{f.Drop.N, f.NoDrop}
		}
		return f
	}
	good, none := []float64{1000, 980, 1010, 990}, []float64{0, 1, 0, 2}
	for _, k := range []struct {
		name          string
		before, now   []float64
		edge          bool
		least, most   float64
		shareIsKnown  bool
		shareAtLeast0 bool
	}{
		{"it never showed a drop, in edge rows alone", none, none, true, 0.5, 1, false, false},
		{"it used to show drops in edge rows", good, none, true, 0, 0.05, true, false},
		{"it never showed a drop, in any rows", none, none, false, 0, 0, true, false},
		{"it shows drops", good, good, true, 0, 0.05, true, true},
		{"it shows them now and then", []float64{0, 1000, 0, 990}, none, true, 0.3, 0.6, false, false},
	} {
		before := []FiringSet{day(1, 2, k.before, k.edge), day(1, 3, good, false), day(1, 4, good, false)}
		now := []FiringSet{day(9, 2, k.now, k.edge), day(9, 3, good, false), day(9, 4, good, false)}
		m := valveMeasures(c, now, before, time.UTC, 0)[1]
		if m.Misses < k.least || m.Misses > k.most {
			t.Errorf("%s: a sound valve is said to miss %.2f of its rows, want %.2f to %.2f", k.name, m.Misses, k.least, k.most)
		}
		if m.Share.Known() != k.shareIsKnown || k.shareAtLeast0 != (m.Share.Known() && m.Share.Value > 0.5) {
			t.Errorf("%s: share of the drop %+v", k.name, m.Share)
		}
	}
}

// What an ailing valve used to show is no excuse where the others show their drops in such rows: neither of one that missed
// nearly all of its rows amid a cleaning from the first reading on, but for a day of stray drops, nor of one that was sound at
// first and for weeks has made the header drop now and then only.
func TestAnAilingPastIsNoExcuse(t *testing.T) {
	for name, k := range map[string]struct {
		days   int64
		misses func(day int64, row int) bool
		most   float64 // share of the drop
	}{
		"dead all along":       {20, func(day int64, row int) bool { return day != 4 || row > 3 }, 0.1},
		"failing now and then": {40, func(day int64, row int) bool { return day > 22 && row > 2 }, 0.4},
	} {
		var sets []FiringSet
		for day := int64(1); day < k.days; day++ {
			at := (day*86400 + 3600) * 1e9
			for valve := uint8(1); valve <= 3; valve++ {
				f := FiringSet{Day: day * 86400, Mask: 1 << (valve - 1), Valve: valve}
				for row := range 10 {
					x := 1000.0
					if valve == 2 && k.misses(day, row) {
						x, f.NoDrop, f.FirstDead = 1, f.NoDrop+1, at
					} else {
						f.LastDrop, f.FirstDead = at, 0
					}
					f.Rows++
					f.fell(x, 400000)
				}
				sets = append(sets, f)
			}
		}
		n := len(sets)
		m := valveMeasures(usual().file(), sets[n-3:], sets[:n-3], time.UTC, 0)[1]
		if m.Misses > 0.05 || !(m.Share.Value < k.most) {
			t.Errorf("%s: said to miss %.2f of its rows when sound, share of the drop %+v", name, m.Misses, m.Share)
		}
	}
}

// Lone rows of some days apart are held against each other though the header stood at other levels in them: a choked valve
// takes the same share of the absolute pressure.
func TestShareWhereTheLevelFalls(t *testing.T) {
	c := usual().file()
	var sets []FiringSet
	for valve, level := range []float64{280000, 128000, 180000, 128000} {
		f := FiringSet{Day: int64(valve+1) * 86400, Mask: 1 << valve, Valve: uint8(valve + 1), Rows: 3}
		for _, k := range []float64{0.98, 1, 1.02} {
			if valve == 3 {
				k /= 2 // weak
			}
			f.fell(k*0.08*(level+101325), level)
		}
		sets = append(sets, f)
	}
	for i, m := range valveMeasures(c, sets, nil, time.UTC, 0) {
		if want := 1 - 0.5*b2f(i == 3); i < 4 && math.Abs(m.Share.Value-want) > 0.03 {
			t.Errorf("valve %d: share %.2f give or take %.2f, want %.2f", i+1, m.Share.Value, m.Share.Sigma, want)
		}
	}
}

// Where it is cleaned all the time and only the first row of a shift holds one pulse, the fall is counted from what the header
// stood at just before, not from the days of before while it failed.
func TestFirstPulseOfAShift(t *testing.T) {
	const days, drop = 24, 0.08
	s := new(Series)
	for _, c := range []Channel{DP, Header, HeaderLow, Running, Pulse} {
		s.Col[c] = []float64{}
	}
	fired := 0
	for i := range days * 288 {
		day, hour := i/288, float64(i%288)/12
		level := 400000 * math.Pow(0.9, float64(max(0, day-12))) // a supply that fails
		n := b2f(hour >= 6.5 && hour < 16)
		head, low := level, level
		if n > 0 {
			head, low = 0.95*level, level-drop*(level+101325)
			if hour > 6.5 {
				n, low = float64(3+i%2), low-0.03*level
			}
		}
		s.Time = append(s.Time, start.UnixNano()+int64(i)*300e9)
		for c, x := range map[Channel]float64{DP: 800 * b2f(n > 0), Header: head, HeaderLow: low, Running: b2f(n > 0), Pulse: n} {
			s.Col[c] = append(s.Col[c], x)
		}
		for range int(n) {
			s.Pulses = append(s.Pulses, Firing{Row: int32(i), Valve: uint8(fired%6 + 1)})
			fired++
		}
	}
	g := usual()
	g.interval = 90
	lone := 0
	for _, f := range settle(t, s, g).Firings {
		if f.Valve == 0 || f.Drop.N == 0 {
			continue
		}
		lone++
		if rel, _ := f.Rel.Mean(); math.Abs(rel-drop) > 0.01 {
			t.Errorf("day %d: valve %d takes %.3f of the absolute pressure, want %.3f", f.Day/86400-start.Unix()/86400, f.Valve, rel, drop)
		}
	}
	if lone < days-2 {
		t.Errorf("%d lone rows", lone)
	}
}

// Where only the lowest header pressure is logged and it is cleaned all the time, every row follows one with a pulse: its lowest
// is not what the header still lacked, and rows of one pulse tell of a dead valve.
func TestLoneRowsByTheLowestHeaderAlone(t *testing.T) {
	g := usual()
	g.rows, g.interval, g.low, g.high, g.drop, g.dead = 10, 44, 1, 2, 40000, 3
	s, _ := g.run(48, 60)
	f := At(settle(t, s.only(DP, HeaderLow, Running, Pulse), g), g.file(), time.Time{})
	for _, v := range f.Valves {
		if v.Alone < 50 || v.NoDrop != v.Alone*int(b2f(v.Valve == g.dead)) {
			t.Errorf("valve %d: no drop in %d of %d lone rows", v.Valve, v.NoDrop, v.Alone)
		}
	}
}

// Rows of ten minutes hold many pulses each, and hardly two the same valves. The header falls to its usual low in all but those in
// which one valve fired, which does not shut again: that valve is told by the least of its rows.
func TestDeepestRowsTellTheirValve(t *testing.T) {
	const valves, deep = 13, 11
	rnd := rand.New(rand.NewPCG(3, 7))
	g := usual()
	g.rows = valves
	file := g.file()
	var sets []FiringSet
	next := 0
	for row := range 140 {
		f := FiringSet{Day: int64(row/20) * 86400, Rows: 1}
		fall := 180e3
		for range 2 + rnd.IntN(8) {
			f.Mask |= 1 << next
			if next+1 == deep {
				fall = 450e3
			}
			next = (next + 1) % valves
		}
		f.Drop.add(fall + 3e3*rnd.NormFloat64())
		f.Rel.add(fall / 660e3)
		sets = append(sets, f)
	}
	for _, m := range valveMeasures(file, sets, nil, time.UTC, 0) {
		if got := m.Share.Value; (m.Valve == deep) != (got > 1.8) || !m.Share.Known() {
			t.Errorf("valve %d: falls %.2f times as far as the others", m.Valve, got)
		}
	}
}

// Valves that never fire alone are held against the least falls of the others' rows. Where those lie in the noise they are no
// measure of a valve.
func TestShareOfNoise(t *testing.T) {
	for _, least := range []float64{0, 5000} {
		var sets []FiringSet
		for i, drop := range []float64{400, 1000, 9000, 2000} {
			f := FiringSet{Mask: 0b11 << i, Rows: 10}
			for range 10 {
				f.fell(drop, 500e3)
			}
			sets = append(sets, f)
		}
		for _, m := range valveMeasures(usual().file(), sets, nil, time.UTC, least) {
			if m.Valve <= 5 && m.Share.Known() != (least == 0) {
				t.Errorf("falls count from %g Pa: valve %d takes %+v of the others", least, m.Valve, m.Share)
			}
		}
	}
}
