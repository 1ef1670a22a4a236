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
	p.bout(i, v[len(v)-1].Valve, lacks, puff)
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
// something all the same, mostLack the largest share in which it is taken to after a sound one, and leastOthers how
// many rows after other valves must have been seen on the day. Common practice, no source.
const (
	silentRows  = 3
	strayLack   = 0.02
	mostLack    = 0.95
	leastOthers = 6
)

// Lasts counts rows in which one valve fired last, and what rows show in which others did. Those of one bout of cleaning are
// together one row: they may all end at the same moments.
type Lasts struct {
	Rows, Lacked float64 // rows, and those of them at whose end the header lacked something
	Others       uint32  // rows in which others fired last that they are held against
	Share        float64 // sum over Rows of the share of those after which the header lacked something
}

// merge takes other rows in.
func (l *Lasts) merge(o Lasts) {
	l.Rows, l.Lacked, l.Others, l.Share = l.Rows+o.Rows, l.Lacked+o.Lacked, l.Others+o.Others, l.Share+o.Share
}

// put takes in a row of so much weight, at whose end the header lacked something or not, and the rows beside it.
func (l *Lasts) put(weight float64, lacked bool, others, lackedToo int) {
	l.Rows += weight
	if lacked {
		l.Lacked += weight
	}
	if others > 0 {
		l.Others, l.Share = l.Others+uint32(others), l.Share+weight*float64(lackedToo)/float64(others)
	}
}

// speaks returns how many rows say something, and by how much they make a dead valve likelier than a sound one, as a
// natural log. After a sound valve the header lacks something as often as after the others, or as often as was seen where that
// is more: a valve that makes it fall while the others are not seen to is not dead.
func (l *Lasts) speaks() (rows, odds float64) {
	if l.Rows == 0 || l.Others < leastOthers {
		return 0, 0
	}
	rows = l.Rows
	seen := l.Lacked / rows
	sound := max(strayLack, min(mostLack, max(seen, l.Share/rows)))
	return rows, rows * (seen*math.Log(strayLack/sound) + (1-seen)*math.Log((1-strayLack)/(1-sound)))
}

// last notes what the rows of a bout end with, for the valve that fired last in each. Where rows and pulses go in step, all
// rows that end after the same valve end as long after its pulse, throughout a bout, and only some valves ever are the last:
// what is seen after one valve is held against rows of the same bout that end alike after others. Of the rows without such
// ones each valve's latest is held against those of the day's other bouts, but for those of a bout that only goes on: the first
// row of a bout holds few pulses, and the header has hardly been drawn down.
func (p *airPass) last(all []BoutRow) {
	rows := make([]BoutRow, 0, boutRows)
	for _, r := range all {
		if r.Last {
			rows = append(rows, r)
		}
	}
	beat := p.keepBeat(rows)
	var seen [maxValve + 1]bool
	for i := range rows {
		r := &rows[len(rows)-1-i]
		f := p.h.firing(r.Day, maskOf(r.Valve), r.Valve)
		f.Puff.add(r.Puff)
		if r.Lacks != r.Lacks {
			continue
		}
		others, lacked := 0, 0
		if beat {
			others, lacked = p.beside(rows, r, p.leastDrop(r.Ref))
		}
		if others == 0 && (seen[r.Valve] || p.s.Bout.Goes) {
			continue
		}
		f.Left.add(r.Lacks)
		if own := r.Lacks > p.leastDrop(r.Ref); others > 0 {
			f.Beside.put(once(rows, r.Valve), own, others, lacked)
		} else {
			seen[r.Valve] = true
			f.Lone.put(1, own, 0, 0)
		}
	}
}

// once is the weight of each row of a bout in which a valve fired last, if all of them count as one.
func once(rows []BoutRow, valve uint8) float64 {
	n := 0.0
	for i := range rows {
		if rows[i].Valve == valve {
			n++
		}
	}
	return 1 / max(1, n)
}

// leastDrop is how far the header must fall, or what it must lack at the end of a row, to stand well above its noise, by its level
// at rest.
func (p *airPass) leastDrop(ref float64) float64 {
	return max(noDropNoise*max(p.s.Noise, 0.002*ref), noDropShare*p.s.Typical)
}

// beside counts the rows that end alike after other valves than that of r, and those of them in which the header lacks more than
// limit.
func (p *airPass) beside(rows []BoutRow, r *BoutRow, limit float64) (others, lacked int) {
	for i := range rows {
		o := &rows[i]
		if o.Valve == r.Valve || math.Abs(o.Phase-r.Phase) > samePhase*p.beat || o.Lacks != o.Lacks {
			continue
		}
		others++
		if o.Lacks > limit {
			lacked++
		}
	}
	return others, lacked
}

// silence returns how much likelier a dead valve makes it than a sound one that the header lacked so little in the rows
// in which a valve fired last, day after day, by what others show in the same bouts, or else in others of the
// day, as a natural log; and since when it speaks for a dead one. It is a cumulative sum that starts
// anew at nothing (Page, Continuous inspection schemes, Biometrika 41, 1954, from memory).
func silence(sets []FiringSet, valve int, of func(f *FiringSet) (beside, lone Lasts)) (odds float64, since int64) {
	for from := 0; from < len(sets); {
		day := sets[from].Day
		var among, own, rest Lasts
		for ; from < len(sets) && sets[from].Day == day; from++ {
			f := &sets[from]
			beside, lone := of(f)
			if int(f.Valve) == valve {
				among.merge(beside)
				own.merge(lone)
			} else {
				rest.merge(lone)
			}
		}
		own.Others, own.Share = uint32(rest.Rows), own.Rows*rest.Lacked/max(1, rest.Rows)
		rows, says := among.speaks()
		more, too := own.speaks()
		if rows += more; rows == 0 {
			continue
		}
		if odds == 0 {
			since = day
		}
		odds = max(0, odds+(says+too)*min(1, silentRows/rows))
	}
	return odds, since
}

// All rows, and those that end as others of the same bout do.
func ofLast(f *FiringSet) (beside, lone Lasts) { return f.Beside, f.Lone }
func ofHeld(f *FiringSet) (beside, lone Lasts) { return f.Alike, Lasts{} }
