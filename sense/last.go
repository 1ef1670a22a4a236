package sense

import "math"

// longestPace is the longest time between two pulses that counts as the pace of a cleaning [s]: beyond it
// another has begun. leastPaces is how many must have been seen to stand for the file's interval, and
// paceQuantile which of them does: rows in which a cleaning ended make it look slower. Common practice, no source.
const (
	longestPace  = 240
	leastPaces   = 8
	paceQuantile = 0.25
)

// pace notes how long after the pulse before, last [unix ns], the pulses of row i came.
func (p *airPass) pace(i int, last int64) {
	gap := float64(p.ch.t[i]-last) * 1e-9
	if last == 0 || gap > max(longestPace, 1.5*p.w.step) || gap > 1.5*p.w.step && p.w.fired[i] > 1 {
		return
	}
	p.s.Pace.put(gap / float64(p.w.fired[i]))
}

// interval returns the time between two pulses [s]: as the log shows it, and the file's until it does.
func (s *AirState) interval(file float64) float64 {
	if s.Pace.len() < leastPaces {
		return file
	}
	return s.Pace.quantile(paceQuantile)
}

// left notes what the header still lacks at the end of row i, which open has looked at, and how far the leak
// detector has risen, for the valve that fired last in it: where rows hold the pulses of several valves and
// their lowest reading is that of any, the reading at the row's end follows the last. After a valve that did
// not open the header stands nearer to rest. Rows in which cleaning may have ended are left out, since then
// the last is longer ago.
func (p *airPass) left(i int) {
	v := p.w.valves(p.ch, i)
	if p.fast || len(v) == 0 {
		return
	}
	ref := p.s.Pending.Ref
	lacks, puff := ref-at(p.ch.col[Header], i), at(p.em, i)-p.s.Pending.Base
	if !(lacks > -strayDrop*ref && lacks < (1+strayDrop)*ref) {
		lacks = math.NaN()
	}
	if lacks != lacks && puff != puff {
		return
	}
	last := v[len(v)-1].Valve
	p.bout(i, last, lacks, puff)
	if !p.goesOn(i) {
		return
	}
	f := p.h.firing(p.h.day(p.ch.t[i]/1e9), maskOf(last), last)
	f.Left.add(lacks)
	if lacks > max(noDropNoise*max(p.s.Noise, 0.002*ref), noDropShare*p.s.Typical) {
		f.Lacks++
	}
	f.Puff.add(puff)
}

// slowPace is how many times a row's length the time between two pulses is, from which on a row holds one at
// most: then each row with a pulse is like any other, whether cleaning goes on or not.
const slowPace = 0.8

// goesOn reports that cleaning went on at the end of row i: valves fired in it and in the next, and in one
// of the two about as many as the interval asks for.
func (p *airPass) goesOn(i int) bool {
	if p.interval > slowPace*p.w.step {
		return p.w.fired[i] == 1
	}
	if i+1 >= len(p.ch.t) {
		return false
	}
	a, b := float64(p.w.fired[i]), float64(p.w.fired[i+1])
	return min(a, b) > 0 && max(a/p.w.gap[i], b/p.w.gap[i+1]) > 0.7/p.interval
}

// Rows of one bout of cleaning may all end at the same moments after the same valves: no more than silentRows of a
// day count as rows on their own. strayLack is the share of rows after a dead valve in which the header may lack
// something all the same, and leastOthers how many rows after other valves must have been seen on the day. Common
// practice, no source.
const (
	silentRows  = 3
	strayLack   = 0.02
	leastOthers = 6
)

// lacking counts rows that a valve fired last in, and those of them in which the header lacked something.
type lacking func(f *FiringSet) (rows, lacked float64)

// All rows, and those that end as others of the same bout do.
var (
	ofLast lacking = func(f *FiringSet) (float64, float64) { return float64(f.Left.N), float64(f.Lacks) }
	ofHeld lacking = func(f *FiringSet) (float64, float64) { return float64(f.Held.N), float64(f.Held.N - f.Rests) }
)

// silence returns how much likelier a dead valve makes it than a sound one that the header lacked so little in the rows
// in which a valve fired last, day after day, by what the others show on the same days, as a natural log; and since when
// it speaks for a dead one. It is a cumulative sum that starts anew at nothing (Page, Continuous inspection schemes,
// Biometrika 41, 1954, from memory).
func silence(sets []FiringSet, valve int, count lacking) (odds float64, since int64) {
	for from := 0; from < len(sets); {
		day := sets[from].Day
		var rows, lacked, rest, others float64
		for ; from < len(sets) && sets[from].Day == day; from++ {
			f := &sets[from]
			n, seen := count(f)
			if int(f.Valve) == valve {
				rows, lacked = rows+n, lacked+seen
			} else {
				rest, others = rest+n, others+seen
			}
		}
		if rows == 0 || rest < leastOthers {
			continue
		}
		if odds == 0 {
			since = day
		}
		sound, seen := max(strayLack, min(0.95, others/rest)), lacked/rows
		odds = max(0, odds+min(silentRows, rows)*(seen*math.Log(strayLack/sound)+(1-seen)*math.Log((1-strayLack)/(1-sound))))
	}
	return odds, since
}
