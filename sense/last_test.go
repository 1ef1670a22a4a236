package sense

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/unit"
)

// longBouts is a log of a row a minute of valves that fire ten seconds apart, in three bouts a day of three hours each, that
// begin at any second: the header at the row's end, read in steps of 1 psi, and its lowest. It is filled up again as a
// first-order lag. share is what each valve takes of the usual fall.
func longBouts(share []float64, seed uint64) *Series {
	const full, drop, lag, grain = 410000.0, 150000.0, 3.0, 6895.0
	r := rand.New(rand.NewPCG(seed, 3))
	s := &Series{}
	for _, c := range [...]Channel{DP, Header, HeaderLow, Running} {
		s.Col[c] = []float64{}
	}
	head, next, n := full, 600, r.IntN(len(share))
	for row := range 7 * 1440 {
		low := math.Inf(1)
		for sec := range 60 {
			head += (full - head) / lag
			if t := row*60 + sec; t == next {
				s.Pulses = append(s.Pulses, Firing{Row: int32(row), Valve: uint8(n%len(share) + 1)})
				head -= share[n%len(share)] * drop
				n++
				if next += 10; t%28800 > 10800 {
					next = t - t%28800 + 28800 + r.IntN(600)
				}
			}
			low = min(low, head)
		}
		s.Time = append(s.Time, start.UnixNano()+int64(row+1)*60e9)
		for c, x := range map[Channel]float64{DP: 700 + 2*r.NormFloat64(), Header: head + 1000*r.NormFloat64(), HeaderLow: low, Running: 1e3} {
			s.Col[c] = append(s.Col[c], grain*math.Round(x/grain))
		}
	}
	return s
}

// Where six of eight valves fire in a row, each bout only ever ends rows with the odd valves, or with the even ones, all of them
// as long after the pulse: that the header has come back in one bout and not in another says nothing of the valves, while one
// that is dead is still told from those of the same bouts.
func TestRowsInStepAreHeldAgainstTheirOwnBout(t *testing.T) {
	for seed := range uint64(4) {
		for _, dead := range []int{0, 3} {
			share := []float64{1, 1, 1, 1, 1, 1, 1, 1}
			if dead > 0 {
				share[dead-1] = 0
			}
			c := usual().file()
			c.Header.Interval, c.Filters.Rows = unit.Seconds(10), len(share)
			r := NewReducer(c)
			r.Add(longBouts(share, seed))
			h := r.History()
			for _, m := range At(h, c, unixTime(h.Last/1e9)).Valves {
				says := max(m.Silent, m.Still)
				if m.Valve == dead && says < 4 {
					t.Errorf("seed %d: valve %d is dead and told by log odds of %.1f only", seed, m.Valve, says)
				}
				if m.Valve != dead && (says > 1 || m.Left.Known() && (1-m.Left.Value)/m.Left.Sigma > 4) {
					t.Errorf("seed %d, valve %d dead: valve %d is called so by log odds of %.1f, and after it the header lacks %.2f give or take %.2f of the usual", seed, dead, m.Valve, says, m.Left.Value, m.Left.Sigma)
				}
			}
		}
	}
}

// A row longer than a pass over the valves holds a whole cleaning: that one pulse came in it does not make the next one due a row
// later.
func TestAPassWithinARowIsNoSlowPace(t *testing.T) {
	c := usual().file()
	c.Header.Interval, c.Filters.Rows = unit.Seconds(10), 2
	s := &Series{}
	for row := range 3 * 720 { // the first of two pulses falls just before a row's end, the second after it
		head, low := 410000.0, 410000.0
		switch row % 60 {
		case 7:
			s.Pulses = append(s.Pulses, Firing{Row: int32(row), Valve: 2})
			head, low = 250000, 250000
		case 8:
			s.Pulses = append(s.Pulses, Firing{Row: int32(row), Valve: 1})
			low = 250000
		}
		s.Time = append(s.Time, start.UnixNano()+int64(row+1)*120e9)
		for ch, x := range map[Channel]float64{DP: 700 + float64(row%3), Header: head + 300*float64(row%5-2), HeaderLow: low, Running: 1} {
			s.Col[ch] = append(s.Col[ch], x)
		}
	}
	r := NewReducer(c)
	r.Add(s)
	h := r.History()
	for _, m := range At(h, c, unixTime(h.Last/1e9)).Valves {
		if m.Silent > 1 || m.Left.Known() && m.Left.Value < 0.5 {
			t.Errorf("valve %d is called silent by %.1f; after it the header lacks %.2f of the usual", m.Valve, m.Silent, m.Left.Value)
		}
	}
}

// A valve after which the header lacks something in every row, while it does after no other of the bout, is not dead.
func TestLackingAloneIsNotSilent(t *testing.T) {
	l := Lasts{Rows: 6, Lacked: 6, Others: 6}
	if rows, odds := l.speaks(); rows != 6 || odds > -10 {
		t.Errorf("%g rows say %.2f, want much against a dead valve", rows, odds)
	}
}
