package sense

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/unit"
)

// steppedRows is a log of a row every step seconds that holds the header at the row's end alone, and the valves that
// fired, beat seconds apart, in bouts that begin at any moment of a row. The header is filled up again at one rate,
// so that what it lacks at a row's end depends mostly on how long ago the last pulse was. share is what each valve
// takes of the usual fall.
func steppedRows(share []float64, step, beat float64, seed uint64) *Series {
	const full, drop, supply = 620000.0, 170000.0, 22000.0
	r := rand.New(rand.NewPCG(seed, 2))
	s := &Series{}
	for _, c := range [...]Channel{DP, Header, Running} {
		s.Col[c] = []float64{}
	}
	type pulse struct {
		t     float64
		valve int
	}
	var due []pulse
	valve, length := 0, 3*86400.0
	for t := 300 + 600*r.Float64(); t < length; t += 1200 + 1200*r.Float64() {
		for range 20 {
			due = append(due, pulse{t, valve})
			valve, t = (valve+1)%len(share), t+beat
		}
	}
	head, last := full, 0.0
	for t := step; t < length; t += step {
		for len(due) > 0 && due[0].t <= t {
			head = min(full, head+supply*(due[0].t-last))
			head -= share[due[0].valve] * drop * head / full
			last = due[0].t
			s.Pulses = append(s.Pulses, Firing{Row: int32(len(s.Time)), Valve: uint8(due[0].valve + 1)})
			due = due[1:]
		}
		head, last = min(full, head+supply*(t-last)), t
		s.Time = append(s.Time, start.UnixNano()+int64(t*1e9))
		for c, x := range map[Channel]float64{DP: 700 + 2*r.NormFloat64(), Header: head + 2000*r.NormFloat64(), Running: 1} {
			s.Col[c] = append(s.Col[c], x)
		}
	}
	return s
}

// Rows that end equally long after the last pulse tell a dead and a weak valve from the others within three days,
// whether the rows go in step with the pulses or not.
func TestBoutTellsValves(t *testing.T) {
	shares := map[string][]float64{
		"all sound":         {1, 1, 1, 1, 1, 1, 1},
		"the fourth dead":   {1, 1, 1, 0, 1, 1, 1},
		"the second weak":   {1, 0.6, 1, 1, 1, 1, 1},
		"two of seven dead": {1, 0, 1, 1, 0, 1, 1},
	}
	for name, share := range shares {
		for _, pace := range [][2]float64{{60, 10}, {30, 12}, {60, 12}, {60, 15}} {
			c := usual().file()
			c.Header.Interval = unit.Seconds(pace[1])
			r := NewReducer(c)
			r.Add(steppedRows(share, pace[0], pace[1], 1))
			h := r.History()
			told := 0
			for i, m := range At(h, c, unixTime(h.Last/1e9)).Valves {
				if !m.Left.Known() {
					continue
				}
				told++
				low, high := share[i]-0.15, share[i]+0.15
				if share[i] > 0 && share[i] < 1 { // refilled at one rate, the header comes back sooner after the less
					low = 0.2
				}
				if m.Left.Value < low-2*m.Left.Sigma || m.Left.Value > high+2*m.Left.Sigma {
					t.Errorf("%s, rows of %g s, pulses %g s apart: valve %d shows %.2f give or take %.2f, want %.2f to %.2f", name, pace[0], pace[1], i+1, m.Left.Value, m.Left.Sigma, low, high)
				}
				if m.Left.Sigma > 0.15 {

					t.Errorf("%s, rows of %g s, pulses %g s apart: valve %d is known to %.2f only", name, pace[0], pace[1], i+1, m.Left.Sigma)
				}
				if dead := share[i] == 0; dead != (m.Still > 2) {
					t.Errorf("%s, rows of %g s, pulses %g s apart: valve %d has log odds of %.1f to be dead", name, pace[0], pace[1], i+1, m.Still)
				}
			}
			if told < len(share)-1 {
				t.Errorf("%s, rows of %g s, pulses %g s apart: %d of %d valves are told", name, pace[0], pace[1], told, len(share))
			}
		}
	}
}

// A row without another that ends as late after its last pulse shows nothing, and neither do rows in which the header
// has come back after every valve, the last row of a bout, and bouts whose pulses do not come as the interval asks.
func TestBoutKnowsWhatTells(t *testing.T) {
	at := func(phase, lacks float64, valve uint8) BoutRow {
		return BoutRow{Phase: phase, Ref: 600000, Lacks: lacks, Puff: math.NaN(), Valve: valve}
	}
	for name, c := range map[string]struct {
		rows []BoutRow
		want []uint32 // rows that show something, of valves 1 to 3
	}{
		"alike":               {[]BoutRow{at(0, 9e4, 1), at(0.5, 8e4, 2), at(-0.5, 1e3, 3)}, []uint32{1, 1, 1}},
		"one by itself":       {[]BoutRow{at(0, 9e4, 1), at(0, 9e4, 2), at(5, 6e4, 3)}, []uint32{1, 1, 0}},
		"the same valve":      {[]BoutRow{at(0, 9e4, 1), at(0, 9e4, 1)}, []uint32{0, 0, 0}},
		"all come back":       {[]BoutRow{at(0, 1e3, 1), at(0, 2e3, 2), at(0, 1e3, 3)}, []uint32{0, 0, 0}},
		"header not read":     {[]BoutRow{at(0, math.NaN(), 1), at(0, 9e4, 2), at(0, 9e4, 3)}, []uint32{0, 1, 1}},
		"only the bad one so": {[]BoutRow{at(0, 1e3, 1), at(0, 9e4, 2)}, []uint32{1, 0, 0}},
		"off the beat":        {[]BoutRow{at(0, 9e4, 1), at(0, 9e4, 2), at(15, 1e3, 3)}, []uint32{0, 0, 0}},
	} {
		h := &History{}
		p := airPass{h: h, s: &AirState{}, beat: 10}
		rows := append(c.rows, at(0, 1e3, 3)) // in the last cleaning may have ended anywhere
		p.s.Bout.N = int32(copy(p.s.Bout.Rows[:], rows))
		p.settle()
		for i, m := range byValve(h.Firings, 3, lacksHeld.of) {
			if m.N != c.want[i] {
				t.Errorf("%s: %d rows of valve %d show something, want %d", name, m.N, i+1, c.want[i])
			}
		}
		if p.s.Bout.N != 0 {
			t.Errorf("%s: %d rows are left", name, p.s.Bout.N)
		}
	}
}
