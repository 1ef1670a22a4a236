package sense

import (
	"math"
	"math/bits"
	"sort"
	"time"

	"dustwright/collector"
)

// valveRecord is what a stretch of firings says about the valves, one entry for each.
type valveRecord struct {
	fired, alone, noDrop []int
	leastN               []int
	drop, rel            falls // in Pa, and over the absolute level before
	lastDrop             []int64
}

// falls is how far the header fell, in one unit, one entry for each valve.
type falls struct {
	alone   []Moments // rows in which the valve fired alone
	least   []float64 // mean of the smallest falls of rows it fired in: it can't be stronger
	scatter float64   // standard deviation of single rows of alone about their own valve's mean, over all valves
	usual   float64   // median of those means
}

// maxValve is the highest valve number that is followed.
const maxValve = 255

// newValveRecord gathers sets of firings for valves 1..n.
func newValveRecord(n int, sets []FiringSet) *valveRecord {
	v := &valveRecord{fired: make([]int, n), alone: make([]int, n), noDrop: make([]int, n), leastN: make([]int, n), lastDrop: make([]int64, n),
		drop: fallsOf(n, sets, func(f *FiringSet) *Moments { return &f.Drop }),
		rel:  fallsOf(n, sets, func(f *FiringSet) *Moments { return &f.Rel })}
	for i := range sets {
		v.add(&sets[i])
	}
	return v
}

// fallsOf gathers how far the header fell for valves 1..n.
func fallsOf(n int, sets []FiringSet, of func(*FiringSet) *Moments) falls {
	out := falls{alone: byValve(sets, n, of), least: make([]float64, n)}
	means := make([]float64, 0, n)
	for _, m := range out.alone {
		if m.N > 0 {
			means = append(means, m.Sum/float64(m.N))
		}
	}
	out.scatter, out.usual = within(out.alone), medianOf(means)
	merged := mergeSets(sets, of)
	sort.Slice(merged, func(i, j int) bool { return merged[i].Sum*float64(merged[j].N) < merged[j].Sum*float64(merged[i].N) })
	for i := range out.least {
		out.least[i] = leastOf(merged, i)
	}
	return out
}

// leastOf is the mean fall of the least rows in which a valve fired, by its index, beside whichever others: where rows hold so
// many pulses that hardly two hold the same, no set by itself has enough. The sets are in order of their mean fall. +Inf unknown.
func leastOf(sets []maskMoments, valve int) float64 {
	var m Moments
	for _, s := range sets {
		if valve < 64 && s.mask>>valve&1 == 1 {
			if m.merge(s.Moments); m.N >= leastRows {
				return m.Sum / float64(m.N)
			}
		}
	}
	return math.Inf(1)
}

// leastRows is how many rows must have been seen before their mean drop bounds that of the valves that fired in all of them.
const leastRows = 5

// add takes one set in.
func (v *valveRecord) add(f *FiringSet) {
	each(f, len(v.fired), func(i int) {
		v.fired[i] += int(f.Rows)
		v.leastN[i] += int(f.Drop.N)
	})
	i := int(f.Valve) - 1
	if i < 0 || i >= len(v.fired) {
		return
	}
	v.alone[i] += int(f.Drop.N)
	v.noDrop[i] += int(f.NoDrop)
	v.lastDrop[i] = max(v.lastDrop[i], f.LastDrop)
}

// each calls do with the index of every valve of the set.
func each(f *FiringSet, n int, do func(i int)) {
	if f.Valve > 0 {
		if int(f.Valve) <= n {
			do(int(f.Valve) - 1)
		}
		return
	}
	for m := f.Mask; m != 0; m &= m - 1 {
		if i := bits.TrailingZeros64(m); i < n {
			do(i)
		}
	}
}

// valveCount is how many valves the file or the record knows.
func valveCount(c *collector.Collector, sets []FiringSet) int {
	n := max(0, c.Filters.Rows)
	for i := range sets {
		n = max(n, int(sets[i].Valve), 64-bits.LeadingZeros64(sets[i].Mask))
	}
	return min(n, maxValve)
}

// valveMeasures holds the recent firings of every valve against its earlier ones and the others'. A fall of the header counts
// from least [Pa] on.
func valveMeasures(c *collector.Collector, now, before []FiringSet, zone *time.Location, least float64) []ValveMeasure {
	all := append(before[:len(before):len(before)], now...)
	n := valveCount(c, all)
	if len(now)+len(before) == 0 {
		return nil
	}
	recent, past := newValveRecord(n, now), newValveRecord(n, before)
	drops, rels := recent.drops(&recent.drop), recent.drops(&recent.rel)
	stopped := make([]stop, n)
	for i := range drops {
		stopped[i] = stopOf(all, i+1, recent.alone[i])
		if own := &stopped[i].own; own.Drop.N > 0 {
			drops[i], rels[i] = recent.drop.one(own.Drop), recent.rel.one(own.Rel)
		}
	}
	month, stepped := lastDays(before, 30), now
	why := "the dP was not read around this valve's pulses"
	if crowded(now, n) {
		stepped, why = nil, "most rows hold the pulses of half the valves and more: what one of them takes off the dP can't be told"
	}
	steps := sharedOut(stepped, n, func(f *FiringSet) *Moments { return &f.DPStep }, why)
	usual := sharedOut(month, n, func(f *FiringSet) *Moments { return &f.DPStep }, "no earlier pulse of this valve with the dP read around it")
	rises := sharedOut(now, n, func(f *FiringSet) *Moments { return &f.Emission }, "no leak-detector reading when this valve fired")
	lefts, puffs := lacksOf(now, month, n), puffsOf(now, n)
	early := firstHalf(before)
	first := newValveRecord(n, early)
	firstDrops, firstRels, firstLefts := first.drops(&first.drop), first.drops(&first.rel), lacksOf(early, early, n)
	out := make([]ValveMeasure, n)
	for i := range out {
		m := ValveMeasure{Valve: i + 1, Fired: recent.fired[i], Alone: recent.alone[i], NoDrop: recent.noDrop[i],
			Drop: drops[i], DropNormal: mean(past.drop.alone[i], "no earlier pulse of this valve alone"),
			DPStep: steps[i], DPStepNormal: usual[i], Left: lefts[i], LeftNormal: firstLefts[i], EmissionRise: above(rises, i), Puff: puffs[i]}
		if m.Misses = stopped[i].misses; m.Misses < mostMisses {
			m.Share = shareOf(rels, drops, recent.alone, i, least)
		} else {
			m.Share = Unknown("this valve fired alone only where a record that is late or early would show no drop either")
		}
		m.ShareNormal = shareOf(firstRels, firstDrops, first.alone, i, least)
		if s := &stopped[i]; s.rows > 0 {
			m.Alone, m.NoDrop, m.Since = s.rows, s.rows, s.since.In(zone)
		}
		var since [2]int64
		m.Silent, since[0] = silence(all, i+1, ofLast)
		m.Still, since[1] = silence(all, i+1, ofHeld)
		for k, odds := range [...]float64{m.Silent, m.Still} { // the second tells better
			if odds > 0 {
				m.SilentSince = unixTime(since[k]).In(zone)
			}
		}
		if last := max(past.lastDrop[i], recent.lastDrop[i]); last > 0 {
			m.LastDrop = time.Unix(0, last).In(zone)
		}
		out[i] = m
	}
	return out
}

// crowded reports that rows in which valves fired hold half of them and more on average.
func crowded(sets []FiringSet, valves int) bool {
	var rows, fired float64
	for i := range sets {
		rows += float64(sets[i].Rows)
		each(&sets[i], valves, func(int) { fired += float64(sets[i].Rows) })
	}
	return valves > 1 && fired >= rows*float64(valves)/2
}

// strayDrops is the share of a day's rows that may show a drop at a valve that is dead: another valve's
// drop is now and then read in its row. Common practice, no source.
const strayDrops = 0.2

// stop is the rows since a valve last made the header drop, and what its kind usually misses.
type stop struct {
	rows   int
	since  time.Time
	own    FiringSet
	misses float64
}

// strayStreak is the chance of so many rows without a drop one after the other by what a valve usually misses, from which on
// they are more than that. Common practice, no source.
const strayStreak = 0.01

// stopOf is a valve's streak, where it is all that is known of the valve lately or more than its usual misses: one that misses
// a row in four now and then ends with one.
func stopOf(sets []FiringSet, valve, alone int) stop {
	s := stop{misses: usualMisses(sets, valve)}
	rows, since, own := streak(sets, valve)
	if rows >= alone || math.Pow(s.misses, float64(rows)) < strayStreak {
		s.rows, s.since, s.own = rows, since, own
	}
	return s
}

// streak counts the rows since a valve last made the header drop, over all days, in which it fired
// alone and the header did not, 0 where the last such day showed drops; since when; and what the header
// did on the days of that stretch: its Drop and its Rel.
func streak(sets []FiringSet, valve int) (rows int, since time.Time, own FiringSet) {
	for i := len(sets) - 1; i >= 0; i-- {
		f := &sets[i]
		if int(f.Valve) != valve || f.Drop.N == 0 {
			continue
		}
		if f.shows() {
			if f.FirstDead > 0 {
				rows, since = rows+int(f.Dead), time.Unix(0, f.FirstDead)
			}
			break
		}
		if f.FirstDead > 0 {
			rows, since = rows+int(f.NoDrop), time.Unix(0, f.FirstDead)
		}
		own.Drop.merge(f.Drop)
		own.Rel.merge(f.Rel)
	}
	return rows, since, own
}

// usualMisses is the share of a sound valve's lone rows without a drop: what it used to show before it
// showed no drop any more. A record that is late puts the last pulse of a cleaning into a row in which the
// header has come back, and an early one the first before the header falls: where nothing but such rows is
// known of a valve, they count by what the other valves show there, and say little where those are not there.
// What it used to show is no excuse where it showed more in the first half of the days, since a valve that fails now and
// then spoils its own past, nor where it missed most rows amid a cleaning as well, which the others hardly do: it was dead
// all along.
func usualMisses(sets []FiringSet, valve int) float64 {
	var past, early, amid, rest Edge // its rows before, those of the first half, those amid a cleaning, and the others' there
	half := len(firstHalf(sets))
	rows := 0.0
	var own, others [2]Edge
	before := false
	for i := len(sets) - 1; i >= 0; i-- {
		f := &sets[i]
		if f.Valve == 0 || f.Drop.N == 0 {
			continue
		}
		if int(f.Valve) != valve {
			rest.add(f.amid())
			for k, e := range f.Edge {
				others[k].add(e)
			}
			continue
		}
		if before = before || f.shows(); before {
			past.add(Edge{f.Drop.N, f.NoDrop})
			if i < half {
				early.add(Edge{f.Drop.N, f.NoDrop})
			}
			amid.add(f.amid())
			continue
		}
		rows += float64(f.Drop.N)
		for k, e := range f.Edge {
			own[k].add(e)
		}
	}
	if past.Rows >= 3 {
		if amid.share() > mostAmid && rest.Rows >= leastAmid && rest.share() < mostMisses {
			return rest.share()
		}
		if early.Rows >= 3 {
			return min(past.usual(), early.usual())
		}
		return past.usual()
	}
	late := 0.0
	for k, e := range others {
		late += float64(own[k].Rows) * (float64(e.NoDrop) + edgeMisses) / (float64(e.Rows) + 1)
	}
	return late / max(1, rows)
}

// edgeMisses is that share where nothing is known of rows at the edge of a cleaning; above mostMisses the
// drop of a valve says nothing of its strength. A valve that missed more than mostAmid of its rows amid a cleaning, while
// leastAmid rows of others and more show their drops, was not sound (common practice, no source).
const (
	edgeMisses = 0.6
	mostMisses = 0.2
	mostAmid   = 0.5
	leastAmid  = 20
)

// add takes more rows in.
func (e *Edge) add(o Edge) { e.Rows, e.NoDrop = e.Rows+o.Rows, e.NoDrop+o.NoDrop }

// usual is the share of rows without a drop that few rows make likely.
func (e Edge) usual() float64 { return (float64(e.NoDrop) + 0.1) / (float64(e.Rows) + 1) }

// share is the share of rows without a drop, 0 for none.
func (e Edge) share() float64 { return float64(e.NoDrop) / max(1, float64(e.Rows)) }

// amid is the rows of one valve that neither began nor ended a cleaning.
func (f *FiringSet) amid() Edge {
	e := Edge{f.Drop.N, f.NoDrop}
	for _, k := range f.Edge {
		e.Rows, e.NoDrop = e.Rows-min(e.Rows, k.Rows), e.NoDrop-min(e.NoDrop, k.NoDrop)
	}
	return e
}

// shows reports that the header fell in more rows of a day than stray.
func (f *FiringSet) shows() bool {
	return f.LastDrop > 0 && float64(f.Drop.N)-float64(f.NoDrop) > strayDrops*float64(f.Drop.N)
}

// mean turns moments into an estimate.
func mean(m Moments, why string) Estimate {
	if m.N == 0 {
		return Unknown(why)
	}
	v, se := m.Mean()
	return Estimate{Value: v, Sigma: se, N: int(m.N)}
}

// one is the drop of a valve that fired alone. Few rows scatter less by chance than they do, and fall
// together into a header that has not come back: they count by the scatter of all valves' rows, and none is
// taken to be right within less than oneShare of the usual drop.
func (f *falls) one(m Moments) Estimate {
	e := mean(m, "")
	n := float64(m.N)
	own := e.Sigma * math.Sqrt(n) // of one row; +Inf for a single one
	if m.N < fewPulses {
		own = max(f.scatter, oneShare*max(f.usual, math.Abs(e.Value)))
		if m.N > 1 {
			own = max(own, e.Sigma*math.Sqrt(n))
		}
	}
	e.Sigma = own / math.Sqrt(n)
	return e
}

// fewPulses is how many rows of a valve make its own scatter known; oneShare is how far a single row lies off
// the valve's mean, as a share of it: it falls anywhere between two states of the header. Common practice, no source.
const (
	fewPulses = 6
	oneShare  = 0.15
)

// drops estimates each valve's own header drop, in the unit of f: from rows in which it fired alone, and otherwise
// from the smallest drop of a row it shared, which is as much as it can be.
func (v *valveRecord) drops(f *falls) []Estimate {
	out := make([]Estimate, len(v.fired))
	for i := range out {
		switch {
		case f.alone[i].N > 0 && f.alone[i].N < fewPulses && !math.IsInf(f.least[i], 1):
			out[i] = f.fewAlone(i)
		case f.alone[i].N > 0:
			out[i] = f.one(f.alone[i])
		case v.leastN[i] > 0 && !math.IsInf(f.least[i], 1):
			out[i] = Estimate{Value: f.least[i], Sigma: leastWidth * f.least[i], N: v.leastN[i],
				Missing: "no row in which this valve fired alone: the header's lowest reading belongs to several valves, so a weak one may hide behind the others"}
		default:
			out[i] = Unknown("the header was not read while this valve fired")
		}
	}
	return out
}

// leastFall is how far the header must fall at a pulse for that to stand above its noise and to be a share of what it usually
// falls by [Pa], 0 where neither is known.
func (f *Features) leastFall() float64 {
	least := 0.0
	for q, times := range map[Quantity]float64{HeaderNoise: noDropNoise, HeaderDrop: noDropShare} {
		for _, e := range [...]Estimate{f.Of[q].Now, f.Of[q].Normal} {
			if e.Known() {
				least = max(least, times*e.Value)
				break
			}
		}
	}
	return least
}

// shareOf holds valve i's drop, over the absolute level before, against the median of the others that were seen as it was:
// alone, or only together with others, whose drops add up. Where they fall [Pa] by less than least on the median it says
// nothing: what is lost in the noise, or dead, is no measure of a valve.
func shareOf(drops, falls []Estimate, alone []int, i int, least float64) Estimate {
	var others, fell []float64
	for j, d := range drops {
		if j != i && d.Known() && (alone[j] > 0) == (alone[i] > 0) {
			others, fell = append(others, d.Value), append(fell, falls[j].Value)
		}
	}
	if !drops[i].Known() || len(others) == 0 {
		return Unknown("no other valve to compare with")
	}
	ref := medianOf(append([]float64(nil), others...))
	if !(ref > 0) || medianOf(fell) < least {
		return Unknown("the header drops at no valve")
	}
	spread := spreadOf(others)
	share := drops[i].Value / ref
	return Estimate{Value: share, Sigma: hypot(drops[i].Sigma/ref, share*hypot(spread/math.Sqrt(float64(len(others))), 0)/ref), N: drops[i].N, Missing: drops[i].Missing}
}

// firstHalf keeps the firings of the first half of the days: what a valve showed early on in the record.
func firstHalf(sets []FiringSet) []FiringSet {
	if len(sets) == 0 {
		return nil
	}
	mid := (sets[0].Day + sets[len(sets)-1].Day) / 2
	return sets[:sort.Search(len(sets), func(i int) bool { return sets[i].Day > mid })]
}

// lastDays keeps the firings of the last n days.
func lastDays(sets []FiringSet, n int64) []FiringSet {
	if len(sets) == 0 {
		return nil
	}
	from := sets[len(sets)-1].Day - n*86400
	return sets[sort.Search(len(sets), func(i int) bool { return sets[i].Day > from }):]
}

// Where few rows show a valve alone, the valves are looked at over more days than the rest: until each was seen
// valveLeast times alone, or lastLeast times last in a row and one of them is known by that within lastTells, but no
// more than valveDays. Where rows and pulses go in step, every row of a day may end when the header has come back.
// Common practice, no source.
const (
	valveLeast = 5
	lastLeast  = 40
	heldLeast  = 6
	lastTells  = 0.3
	valveDays  = 7
)

// valveWindow splits the firings into recent and earlier ones for the valves.
func valveWindow(c *collector.Collector, sets []FiringSet, from int64) (before, now []FiringSet) {
	n := valveCount(c, sets)
	for back := int64(0); ; back++ {
		i := sort.Search(len(sets), func(i int) bool { return sets[i].Day+43200 > from-back*86400 })
		before, now = sets[:i], sets[i:]
		if i == 0 || back >= valveDays-1 || n > 0 && seenEnough(now, n) {
			return before, now
		}
	}
}

// seenEnough reports that n valves were seen often enough to be told from each other.
func seenEnough(now []FiringSet, n int) bool {
	r := newValveRecord(n, now)
	last, held := byValve(now, n, lacksLast.of), byValve(now, n, lacksHeld.of)
	some := false
	for i := range n {
		if r.alone[i] < valveLeast && last[i].N < lastLeast && held[i].N < heldLeast {
			return false
		}
		some = some || r.alone[i] >= valveLeast
	}
	if some {
		return true
	}
	for _, e := range lacksOf(now, nil, n) {
		if e.Known() && e.Sigma < lastTells {
			return true
		}
	}
	return false
}
