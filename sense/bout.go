package sense

import "math"

// boutRows is how many rows of a bout of cleaning are kept to be held against each other.
const boutRows = 32

// Bout is the rows of the cleaning that goes on. It is exported for gob.
type Bout struct {
	N    int32
	T    int64 // of its last row [unix ns]
	Goes bool  // it began before its first row kept
	Rows [boutRows]BoutRow
}

// BoutRow is what the end of a row in which valves fired shows, and how long after the last pulse that is, but for
// what is the same for the whole bout. It is exported for gob.
type BoutRow struct {
	Day   int64
	Phase float64 // [s]
	Ref   float64 // header at rest [Pa]
	Lacks float64 // what the header still lacks [Pa]; NaN unknown
	Puff  float64 // rise of the leak detector; NaN unknown
	Valve uint8   // the one that fired last
	Last  bool    // cleaning went on, so that it did fire last
}

// Rows count as ending alike if the time since the last pulse differs by no more than samePhase of the time between
// two pulses, which is the file's interval where the log's pace lies within sameBeat of it. Of rows that end alike
// something is learned where the header lacks enough after other valves: tellsLack of its level at rest, tellsNoise times
// its noise, tellsGrain of the steps it is read in, and tellsTop of the most it lacked lately, since later one that is filled
// up at a steady rate has come back after a weak valve and not yet after a strong one. Below restsBelow of what it lacks after
// the others it stands at rest; above mostHeld times that the reading is astray. Common practice, no source.
const (
	samePhase  = 0.12
	sameBeat   = 0.25
	tellsLack  = 0.006
	tellsNoise = 6
	tellsTop   = 0.5
	tellsGrain = 1.5
	restsBelow = 0.15
	mostHeld   = 2.5
)

// bout takes in what row i ends with, for the valve that fired last in it. The controller fires at even intervals for
// as long as it cleans, so how much later after the last pulse one row ends than another follows from how many fired
// in between, wherever the bout began.
func (p *airPass) bout(i int, valve uint8, lacks, puff float64) {
	b := &p.s.Bout
	p.over(p.ch.t[i])
	if b.N == boutRows {
		p.settle()
		b.Goes = true
	}
	gap := float64(p.ch.t[i]-b.T) * 1e-9
	phase := 0.0
	if b.N > 0 {
		phase = b.Rows[b.N-1].Phase + gap - float64(p.w.fired[i])*p.beat
	}
	b.T = p.ch.t[i]
	b.Rows[b.N] = BoutRow{Day: p.h.day(p.ch.t[i] / 1e9), Phase: phase, Ref: p.s.Pending.Ref, Lacks: lacks, Puff: puff, Valve: valve, Last: p.goesOn(i)}
	b.N++
}

// over settles the bout if no row of it can come at t [unix ns] any more.
func (p *airPass) over(t int64) {
	b := &p.s.Bout
	if b.N > 0 && float64(t-b.T)*1e-9 > 1.5*max(p.w.step, p.interval) {
		p.settle()
		b.Goes = false
	}
}

// settle holds the rows of a bout that end alike against each other: what the header lacks after one valve against
// what it lacks after the others, so long after they fired. The last row is left out, since cleaning may have ended
// anywhere in it, and all are where the pulses do not keep the beat: records were lost, or it is not the controller's.
func (p *airPass) settle() {
	b := &p.s.Bout
	p.last(b.Rows[:b.N])
	rows := b.Rows[:max(0, b.N-1)]
	b.N = 0
	if !p.keepBeat(rows) {
		return
	}
	for j := range rows {
		r := &rows[j]
		most, usual := p.others(rows, r)
		p.s.Tops.put(most)
		least := max(tellsNoise*p.s.Noise, tellsLack*r.Ref, tellsTop*p.s.Tops.quantile(0.9))
		if p.s.Grains.len() > 0 {
			least = max(least, tellsGrain*p.s.Grains.quantile(0.1))
		}
		p.alike(rows, r, most, least)
		tells := most > least && r.Lacks == r.Lacks
		if !tells && !(usual == usual && r.Puff == r.Puff) {
			continue
		}
		f := p.h.firing(r.Day, maskOf(r.Valve), r.Valve)
		f.HeldPuff.add(r.Puff - usual)
		if tells {
			f.Held.add(min(mostHeld, max(-1, r.Lacks/most)))
		}
	}
}

// alike counts whether the header stands at rest at the end of row r, and of those that end alike after other valves, where it
// lacks at least so much after any of them: a row must count whether it or another shows that.
func (p *airPass) alike(rows []BoutRow, r *BoutRow, most, least float64) {
	if top := max(most, r.Lacks); top > least { // not where either is unknown
		others, lacked := p.beside(rows, r, restsBelow*top)
		f := p.h.firing(r.Day, maskOf(r.Valve), r.Valve)
		f.Alike.put(once(rows, r.Valve), r.Lacks > restsBelow*top, others, lacked)
	}
}

// keepBeat reports that no row ends later after its last pulse than the next one was due.
func (p *airPass) keepBeat(rows []BoutRow) bool {
	if len(rows) < 2 {
		return false
	}
	low, high := rows[0].Phase, rows[0].Phase
	for i := range rows {
		low, high = min(low, rows[i].Phase), max(high, rows[i].Phase)
	}
	return high-low <= (1+samePhase)*p.beat
}

// others returns the most that the header lacks in rows that end alike after other valves than that of r, the second
// most of four and more, since one may be astray; and the mean of their leak detector. NaN where there are none.
func (p *airPass) others(rows []BoutRow, r *BoutRow) (most, puff float64) {
	nan := math.NaN()
	most, next, n := nan, nan, 0
	var puffs Moments
	for k := range rows {
		o := &rows[k]
		if o.Valve == r.Valve || math.Abs(o.Phase-r.Phase) > samePhase*p.beat {
			continue
		}
		puffs.add(o.Puff)
		if o.Lacks != o.Lacks {
			continue
		}
		n++
		if !(o.Lacks <= most) {
			most, next = o.Lacks, most
		} else if !(o.Lacks <= next) {
			next = o.Lacks
		}
	}
	if n >= 4 {
		most = next
	}
	puff, _ = puffs.Mean()
	return most, puff
}

// maskOf is the bit of one valve, 0 where it has none.
func maskOf(valve uint8) uint64 {
	if valve >= 1 && valve <= 64 {
		return 1 << (valve - 1)
	}
	return 0
}
