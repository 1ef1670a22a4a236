package sense

import (
	"math"
	"time"
)

// CycleState is where the following of cleaning cycles stands. It is exported for gob.
type CycleState struct {
	In         bool // a cleaning is going on
	Start      int64
	LastClean  int64 // last row of it [unix ns]
	Pulses     int32
	Split      bool // the one going on was cut after an hour
	Draft      Cycle
	Rise       RiseState
	EndRun     float64 // running time at the end of the last cycle [s]; NaN none yet
	Waiting    bool    // Draft has ended and its After is being gathered
	AfterN     int32
	AfterRun   float64 // sum of the running times since the end [s]
	After      Mean
	CleanRun   float64 // running time at the last pulse, taken half a row before its row [s]
	Stood      bool    // the fan stood, or the log had a gap
	StoodSince int64   // [unix ns]
	StoodLevel float64
	Deep       float64 // how far on-demand cleaning brings the dP down, where the dP alone shows it [Pa]
	Warm       int32   // rows since it runs again
	BackSum    float64
	BackN      int32
}

// reset is the state before the first row.
func (c *CycleState) reset() {
	*c = CycleState{EndRun: math.NaN(), StoodLevel: math.NaN()}
	c.Rise.restart(0)
}

// Mean gathers readings. It is exported for gob.
type Mean struct {
	Sum [len(readingChannels)]float64
	N   [len(readingChannels)]uint32
}

// add takes row i in.
func (m *Mean) add(ch *chunk, i int) {
	for slot, c := range readingChannels {
		if col := ch.col[c]; col != nil && col[i] == col[i] {
			m.Sum[slot] += col[i]
			m.N[slot]++
		}
	}
}

// reading returns the means.
func (m *Mean) reading() Reading {
	r := noReading()
	for slot, n := range m.N {
		if n > 0 {
			r[slot] = float32(m.Sum[slot] / float64(n))
		}
	}
	return r
}

// tracker follows the cleaning cycles through one chunk.
type tracker struct {
	w     *scratch
	ch    chunk
	set   machineFacts
	h     *History
	st    *State
	c     *CycleState
	sigma float64 // scatter of single dP readings [Pa]
	delta float64 // fall of dP [Pa] that is not scatter
}

// cycles follows the cleaning cycles: by the log's own word where it says when it cleans, and by the
// saw-tooth of the dP where it doesn't.
func (w *scratch) cycles(ch chunk, set machineFacts, h *History, st *State) {
	k := tracker{w: w, ch: ch, set: set, h: h, st: st, c: &st.Cycle}
	k.sigma = curveToSigma * st.Curve.quantile(0.5)
	if ch.col[DP] == nil && !w.flags {
		return
	}
	k.delta = k.fallLimit()
	for i := range ch.t {
		if !k.advance(i) {
			continue
		}
		if w.flags {
			k.flagged(i)
		} else {
			k.sawtooth(i)
		}
	}
}

// fallLimit returns the fall that counts: four and a half standard deviations of single readings,
// one and a half steps of a coarse gauge, and four hundredths of the reading, whichever is most.
func (k *tracker) fallLimit() float64 {
	tick := 1.6 * k.st.Ticks.quantile(0.1)
	level := 0.04 * math.Abs(k.st.LastDP)
	limit := 0.0
	for _, x := range [...]float64{4.5 * k.sigma, tick, level} {
		if x > limit {
			limit = x
		}
	}
	if known := knownFall * k.deepest(); k.set.onDemand && known > 0 && k.between() {
		limit = min(limit, known)
	}
	return limit
}

// deepest is how far a cleaning brings the dP down [Pa]: as far as those seen, and until one is, from one set point of the
// file to the other.
func (k *tracker) deepest() float64 {
	if k.c.Deep > 0 {
		return k.c.Deep
	}
	return k.set.band()
}

// knownFall is how much of the falls seen before is a fall again, however the readings scatter, where a cleaning takes
// less than a row (common practice, no source): each bends the course twice there, so that the more often it cleans the
// more they seem to scatter, and just the machine that cleans ever more often would be said to have stopped.
const knownFall = 0.5

// advance keeps the running time and the standstills, and reports whether row i can be used.
func (k *tracker) advance(i int) bool {
	c, w := k.c, k.w
	if !w.run[i] {
		k.stand(i)
		return false
	}
	k.st.RunSec += w.dt[i]
	if w.gap[i] > 5*w.step+1 && w.step < sparse {
		k.stand(i)
	}
	if !c.Stood {
		return true
	}
	c.Warm++
	if c.Warm <= 2 && w.step < 600 { // the fan runs up
		return false
	}
	return k.resume(i)
}

// stand notes that the fan stands, or that the log has a gap, as of the row before i.
func (k *tracker) stand(i int) {
	c := k.c
	if c.Stood {
		c.Warm, c.BackN, c.BackSum = 0, 0, 0
		return
	}
	if c.In {
		k.end()
	}
	k.deliver()
	c.Stood, c.StoodSince, c.Warm, c.BackN, c.BackSum = true, k.before(i), 0, 0, 0
	c.StoodLevel = c.Rise.fit(k.st.RunSec).end
	k.st.Saw.reset()
}

// before returns the time of the row before i.
func (k *tracker) before(i int) int64 {
	if i > 0 {
		return k.ch.t[i-1]
	}
	if k.st.Started {
		return k.st.LastT
	}
	return k.ch.t[0]
}

// resume looks at the first rows after a standstill and reports whether it is over: three readings,
// or one where rows are minutes apart. A dP that came back lower was cleaned meanwhile.
func (k *tracker) resume(i int) bool {
	c := k.c
	x := math.NaN()
	if col := k.ch.col[DP]; col != nil {
		x = col[i]
	}
	if x == x {
		c.BackSum += x
		c.BackN++
	}
	need := int32(3)
	if k.w.step >= 600 {
		need = 1
	}
	if x == x && c.BackN < need {
		return false
	}
	c.Stood = false
	back := c.BackSum / float64(c.BackN)
	if c.StoodLevel-back > k.delta && k.delta > 0 && k.ch.t[i]-c.StoodSince > int64(time.Minute) {
		cy := k.fresh(c.StoodSince, ByStop)
		cy.End = k.ch.t[i]
		cy.Before[0] = float32(c.StoodLevel)
		cy.After = k.w.mean(k.ch, i, 3, noReading())
		cy.After[0], cy.AfterSD = float32(back), float32(k.sigma/math.Sqrt(float64(c.BackN)))
		k.h.addCycle(cy)
		c.Rise.restart(k.st.RunSec)
		c.EndRun = math.NaN()
	}
	return true
}

// fresh returns a cycle that begins at t and about which nothing else is known.
func (k *tracker) fresh(t int64, by CycleSource) Cycle {
	nan := float32(math.NaN())
	return Cycle{Start: t, By: by, Before: noReading(), After: noReading(), BeforeSD: nan, AfterSD: nan,
		Filtering: nan, Rise: nan, RiseEarly: nan, RiseLate: nan}
}

// draft begins a cycle at time t and running time run, with what the rise before it says; at is the
// reading just before.
func (k *tracker) draft(t int64, run float64, by CycleSource, at Reading) {
	c := k.c
	cy := k.fresh(t, by)
	fit := c.Rise.fit(run)
	cy.Before = at
	if fit.end == fit.end {
		cy.Before[0], cy.BeforeSD = float32(fit.end), float32(fit.endSD)
	}
	if c.EndRun == c.EndRun {
		cy.Filtering = float32((run - c.EndRun) / 3600)
	}
	cy.Rise, cy.RiseEarly, cy.RiseLate = float32(fit.slope*3600), float32(fit.early*3600), float32(fit.late*3600)
	c.Draft = cy
}

// flagged works row i where the log says when it cleans.
func (k *tracker) flagged(i int) {
	c, t := k.c, k.ch.t[i]
	switch {
	case k.w.held[i]:
		if c.Waiting {
			k.deliver()
		}
		if !c.In {
			k.begin(i)
		}
		c.LastClean, c.CleanRun = t, k.st.RunSec-k.w.dt[i]/2
		c.Pulses += k.w.fired[i]
		if t-c.Start > hourNs {
			k.split(t)
		}
		if !k.w.clean[i] {
			k.passed(i)
		}
		return
	case c.In:
		if k.ch.col[Cleaning] == nil && t-c.LastClean < int64(2.5e9*k.set.interval) {
			return // between two pulses
		}
		k.end()
	}
	if c.Waiting {
		k.gather(i)
	}
	if col := k.ch.col[DP]; col != nil {
		c.Rise.add(k.st.RunSec, col[i])
	}
}

// passed closes a cleaning that was over when row i was read, half a row before as far as anybody knows: the next row that
// held cleaning held another one. What the row itself reads may be a mean over both sides of it.
func (k *tracker) passed(i int) {
	c := k.c
	c.LastClean = k.ch.t[i] - int64(k.w.dt[i]/2*1e9)
	c.Start, c.Draft.Start = min(c.Start, c.LastClean), min(c.Draft.Start, c.LastClean)
	k.end()
}

// begin opens a cycle at row i.
func (k *tracker) begin(i int) {
	c := k.c
	by := ByFlag
	if k.w.fired[i] > 0 {
		by = ByPulse
	}
	at := k.st.Carry
	if i > 0 {
		at = k.w.mean(k.ch, i-1, 3, at)
	}
	k.draft(k.ch.t[i], k.st.RunSec-k.w.dt[i]/2, by, at) // it began somewhere between the two rows
	c.In, c.Start, c.Pulses, c.Split = true, k.ch.t[i], 0, false
}

// end closes the cleaning that is going on; its After is still to be gathered.
func (k *tracker) end() {
	c := k.c
	c.In = false
	c.Draft.End, c.Draft.Pulses, c.Draft.Long = c.LastClean, c.Pulses, c.Split
	if c.Pulses > 0 {
		c.Draft.By = ByPulse
	}
	c.Waiting, c.AfterN, c.AfterRun, c.After = true, 0, 0, Mean{}
	c.EndRun = c.CleanRun
	c.Rise.restart(c.EndRun)
}

// split cuts a cleaning that went on past an hour: timed or continuous cleaning, or one that never
// reaches its stop level.
func (k *tracker) split(t int64) {
	c := k.c
	cy := c.Draft
	cy.End, cy.Pulses, cy.Long, cy.Cut = t, c.Pulses, true, true
	if c.Pulses > 0 {
		cy.By = ByPulse
	}
	k.h.addCycle(cy)
	c.Draft = k.fresh(t, cy.By)
	c.Start, c.Pulses, c.Split = t, 0, true
}

// settleNs is how long after the last pulse the dP is left to settle: one second, from memory.
const settleNs = int64(time.Second)

// gather takes row i as one after the cleaning, until there are three readings over half a minute;
// where rows are minutes apart the first must do, since the cake grows meanwhile.
func (k *tracker) gather(i int) {
	c := k.c
	after := k.ch.t[i] - c.Draft.End
	if after <= settleNs {
		return
	}
	c.After.add(&k.ch, i)
	c.AfterN++
	c.AfterRun += k.st.RunSec - c.EndRun
	if (c.AfterN >= 3 || k.w.step >= 150) && after >= int64(30*time.Second) {
		k.deliver()
	}
}

// deliver hands the drafted cycle on, with what was gathered after it.
func (k *tracker) deliver() {
	if c := k.c; c.Waiting {
		c.Waiting = false
		k.h.addCycle(c.delivered(k.sigma))
	}
}

// longAfter is how long [s] after a cleaning a dP still counts as just after it where the rise is not
// known.
const longAfter = 600

// delivered returns the drafted cycle with what was gathered after it. The dP is put back to the end
// of the cleaning by the rise before it. sigma is the scatter of single dP readings [Pa].
func (c *CycleState) delivered(sigma float64) Cycle {
	cy := c.Draft
	if c.Split || c.AfterN == 0 {
		return cy
	}
	cy.After = c.After.reading()
	since := c.AfterRun / float64(c.AfterN)
	if cy.Rise > 0 {
		cy.After[0] -= cy.Rise * float32(since/3600)
	} else if since > longAfter { // too late, and nobody knows how fast the cake grows
		cy.After[0] = float32(math.NaN())
	}
	if n := c.After.N[0]; n > 0 {
		cy.AfterSD = float32(sigma / math.Sqrt(float64(n)))
	}
	return cy
}
