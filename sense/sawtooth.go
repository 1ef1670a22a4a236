package sense

import "math"

// sawSize is how many ticks a fall may take.
const sawSize = 128

// SawState is where the saw-tooth finder stands. It is exported for gob.
type SawState struct {
	Falling bool
	Bin     int64 // tick being made
	BinN    int32
	BinT    int64 // time of its last row [unix ns]
	BinSum  float64
	Top     float64 // highest tick since the last cleaning, or since the window slid on
	N       int32   // ticks waiting since Top
	T       [sawSize]int64
	R, X    [sawSize]float64 // running time [s] and dP [Pa] of them
	Under   int32            // last ticks in a row that lie below the top by more than the limit
	Level   float64          // dP before the fall
	FellAt  int64            // [unix ns]
	FellR   float64          // running time then [s]
	Low     float64          // lowest tick of the fall
	LowT    int64
	LowR    float64
	AfterX  float64 // sum of the ticks since Low, put back to Low's time by the rise before
	AfterN  int32
}

// reset forgets the fall going on.
func (s *SawState) reset() { *s = SawState{Top: math.Inf(-1)} }

// sawtooth works row i where only the dP itself shows when it was cleaned. Rows that come faster
// than a fall can be followed are averaged into ticks first.
func (k *tracker) sawtooth(i int) {
	col := k.ch.col[DP]
	if col == nil || col[i] != col[i] {
		return
	}
	s := &k.st.Saw
	width := k.fallTime() / (sawSize / 2)
	if k.w.step >= width {
		k.tick(i, k.ch.t[i], col[i])
		return
	}
	bin := int64(float64(k.ch.t[i]) / (width * 1e9))
	if bin != s.Bin && s.BinN > 0 {
		t, x := s.BinT, s.BinSum/float64(s.BinN)
		s.BinSum, s.BinN = 0, 0
		k.tick(i, t, x)
	}
	s.Bin, s.BinT = bin, k.ch.t[i]
	s.BinSum += col[i]
	s.BinN++
}

// fallTime is the longest time [s] a cleaning may take to bring the dP down: one and a half passes
// over all valves, or four rows.
func (k *tracker) fallTime() float64 { return max(1.5*k.set.pass+10, 4*k.w.step) }

// between reports that a cleaning falls between two rows.
func (k *tracker) between() bool { return k.w.step > k.set.pass }

// tick works one averaged reading x [Pa] of time t; i is the row that completed it.
func (k *tracker) tick(i int, t int64, x float64) {
	if k.st.Saw.Falling {
		k.fall(i, t, x)
		return
	}
	s := &k.st.Saw
	if x >= s.Top {
		k.pour(int(s.N))
		k.c.Rise.add(k.st.RunSec, x)
		s.Top, s.Under = x, 0
		return
	}
	if s.N == sawSize {
		k.slide()
	}
	s.T[s.N], s.R[s.N], s.X[s.N] = t, k.st.RunSec, x
	s.N++
	if s.Top-x > k.delta || s.Under == 1 && k.between() && s.Top-x > k.delta/2 { // the next row has risen again
		s.Under++
	} else {
		s.Under = 0
	}
	if s.Under >= 2 {
		k.drop(i)
	}
	if s.N > 0 && !s.Falling && float64(t-s.T[0])*1e-9 > 2*k.fallTime() {
		k.slide()
	}
}

// pour hands the first n waiting ticks on to the rise.
func (k *tracker) pour(n int) {
	s := &k.st.Saw
	for j := range n {
		k.c.Rise.add(s.R[j], s.X[j])
	}
	m := int(s.N) - n
	copy(s.T[:m], s.T[n:s.N])
	copy(s.R[:m], s.R[n:s.N])
	copy(s.X[:m], s.X[n:s.N])
	s.N = int32(m)
}

// slide lets the window move on: what has come down slowly is not a cleaning.
func (k *tracker) slide() {
	s := &k.st.Saw
	k.pour(int(s.N+1) / 2)
	s.Top, s.Under = math.Inf(-1), 0
	for _, x := range s.X[:s.N] {
		s.Top = max(s.Top, x)
	}
}

// drop decides where the fall began, now that it is seen.
func (k *tracker) drop(i int) {
	s, c := &k.st.Saw, k.c
	fit := c.Rise.fit(k.st.RunSec)
	level := s.Top
	if fit.n >= 3 && fit.end <= s.Top && s.Top-fit.end < k.delta {
		level = fit.end
	}
	n := int(s.N)
	edge := level - max(2*k.sigma, 0.15*(level-s.X[n-1]))
	begin := n - int(s.Under)
	for begin > 0 && s.X[begin-1] < edge {
		begin--
	}
	fell, began := s.T[begin], s.R[begin]
	if begin > 0 {
		fell, began = s.T[begin-1], (s.R[begin-1]+began)/2
	}
	low, lowJ := math.Inf(1), begin
	for j := begin; j < n; j++ {
		if s.X[j] < low {
			low, lowJ = s.X[j], j
		}
	}
	s.Level, s.FellAt, s.FellR, s.Low, s.LowT, s.LowR = level, fell, began, low, s.T[lowJ], s.R[lowJ]
	s.AfterX, s.AfterN = 0, 0
	for j := lowJ + 1; j < n; j++ {
		s.AfterX += s.X[j]
		s.AfterN++
	}
	k.pour(begin)
	k.keep(lowJ - begin)
	back := i - (n - begin) - 1
	at := k.st.Carry
	if back >= 0 && k.w.step >= k.fallTime()/(sawSize/2) {
		at = k.w.mean(k.ch, back, 3, at)
	}
	k.draft(fell, began, BySawtooth, at)
	if fit.n < 3 {
		c.Draft.Before[0] = float32(level)
	}
	s.Falling, s.Under = true, 0
}

// keep drops the first n waiting ticks, which belong to the fall: those from its lowest on begin the next rise.
func (k *tracker) keep(n int) {
	s := &k.st.Saw
	s.N = int32(copy(s.R[:], s.R[n:s.N]))
	copy(s.X[:s.N], s.X[n:])
}

// rise begins the rise after a fall. Where a cleaning falls between two rows those from the lowest on are part of it: a
// tooth of few rows has no others, and the rises that are left without them would be the slow ones.
func (k *tracker) rise(x float64) {
	s, c := &k.st.Saw, k.c
	if !k.between() || s.N == 0 {
		c.Rise.restart(k.st.RunSec)
		c.Rise.add(k.st.RunSec, x)
		return
	}
	c.Rise.restart(s.R[0])
	for j := range s.N {
		c.Rise.add(s.R[j], s.X[j])
	}
}

// A fall is over when nothing lower by half the scatter has come for fallHold pulse intervals or three
// rows. It is a cleaning when it was at least fallPace times as steep as the rise before it or led from one set point to the
// other, and took no longer than fallLongest: a cleaning that goes on for hours shows no saw-tooth. A top that stands out of the
// rise by itself is a spike, so the fall must count from the rise too.
const (
	fallHold    = 3
	fallPace    = 3
	fallLongest = 7200 // [s]
)

// fall follows the dP down until it stays, and makes a cycle of it if it fell enough and fast enough.
func (k *tracker) fall(i int, t int64, x float64) {
	s, c := &k.st.Saw, k.c
	lower := x < s.Low-0.5*k.sigma
	if lower {
		s.N = 0
	}
	if s.N < sawSize {
		s.R[s.N], s.X[s.N] = k.st.RunSec, x
		s.N++
	}
	if lower {
		s.Low, s.LowT, s.LowR, s.AfterX, s.AfterN = x, t, k.st.RunSec, 0, 0
		if float64(t-s.FellAt)*1e-9 < fallLongest {
			return
		}
	}
	slope := max(0, float64(c.Draft.Rise)/3600) // NaN stays NaN
	if slope != slope {
		slope = 0
	}
	if t > s.LowT { // the lowest tick itself is low by chance too
		s.AfterX += x - slope*(k.st.RunSec-s.LowR+k.w.step/2) // the lowest point lay between two rows
		s.AfterN++
	}
	depth, lasted := s.Level-s.Low, float64(t-s.FellAt)*1e-9
	settled := s.AfterN >= 3 && float64(t-s.LowT)*1e-9 >= max(fallHold*k.set.interval, 2*k.w.step)
	turned := s.AfterN >= 1 && x > s.Low+max(0.4*depth, k.delta)
	if !settled && !turned && lasted < fallLongest {
		return
	}
	after := s.Low
	switch {
	case k.between(): // rows later have risen by more than they scatter
		after -= slope * k.w.step / 2
	case s.AfterN > 0:
		after = s.AfterX / float64(s.AfterN)
	}
	took := max(s.LowR-s.FellR, k.w.step/2)
	if s.Level-after >= 0.8*k.delta && lasted < fallLongest && s.AfterN >= 1 && ((s.Level-after)/took > fallPace*slope || k.whole(s.Level, after)) &&
		!(float64(c.Draft.Before[0])-after < 0.8*k.delta) && k.deep(s.Level, s.Level-after) {
		cy := c.Draft
		cy.End = s.LowT
		cy.After = k.w.mean(k.ch, i, int(s.AfterN), noReading())
		cy.After[0], cy.AfterSD = float32(after), float32(k.sigma/math.Sqrt(float64(s.AfterN)))
		k.h.addCycle(cy)
		c.EndRun = s.LowR
	} else {
		c.EndRun = math.NaN()
	}
	k.rise(x)
	s.reset()
	s.Top = x
}

// wholeEnds is how far off the set points, as a share of what lies between them, a fall may begin and end that took the dP
// from one to the other. Common practice, no source.
const wholeEnds = 0.2

// band is what lies between the set points [Pa]; 0 where they are not known.
func (f *machineFacts) band() float64 {
	if f.onDemand && f.low > 0 && f.high > f.low {
		return f.high - f.low
	}
	return 0
}

// whole reports that a fall took the dP [Pa] from set point to set point: it is a cleaning even where that took pass after
// pass over the valves and was hardly steeper than the rise, as on a machine that is short of valves, air or good cloth.
func (k *tracker) whole(level, after float64) bool {
	band := k.set.band()
	zero := k.st.Zero // a controller has its own gauge, or one that has gone off its zero as well
	own := level > k.set.high-wholeEnds*band && after < k.set.low+wholeEnds*band
	return band > 0 && (own || level-zero > k.set.high-wholeEnds*band && after-zero < k.set.low+wholeEnds*band)
}

// On-demand cleaning takes the dP from one set point to the other, the same way down each time: a fall
// below fallLeast of the level, or below fallShare of those seen, comes from the airflow. Where the file's set points lie closer
// together than that, knownFall of what lies between them is enough. What was seen is forgotten by fallFade a fall, since set
// points are moved, and grows by no more than fallGrow. Common practice, no source.
const (
	fallLeast = 0.12
	fallShare = 0.4
	fallFade  = 0.05
	fallGrow  = 1.25
)

// deep reports whether a fall [Pa] from a level [Pa] can be a cleaning.
func (k *tracker) deep(level, fall float64) bool {
	if !k.set.onDemand {
		return true
	}
	c := k.c
	least := fallLeast * level
	if band := k.set.band(); band > 0 {
		least = min(least, knownFall*band)
	}
	ok := fall >= least && fall >= fallShare*c.Deep
	if c.Deep > 0 {
		fall = min(fall, fallGrow*c.Deep) // a single spike is no cleaning
	}
	c.Deep = max(fall, (1-fallFade)*c.Deep)
	return ok
}
