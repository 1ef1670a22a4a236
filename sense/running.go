package sense

import (
	"math"
	"slices"
)

// runSources are the channels that can tell whether the fan runs, best first; each with the share of
// its upper level above which it says yes. A motor with the damper shut still draws some 45 % of its
// full-load current, and none when it stands. Common practice, no source.
var runSources = [...]struct {
	c     Channel
	share float64
}{{FanPower, 0.2}, {FanCurrent, 0.25}, {InletSP, 0.15}, {Flow, 0.15}, {FlowIndex, 0.2}, {DP, 0.08}}

// stillDP is the dP or suction [Pa] above which the fan is taken to run where nothing better is known:
// 0.1 in. w.g., what a gauge's zero may be off. Common practice, no source.
const stillDP = 25

// running marks the rows in which the fan runs: by the running channel, or by the best other channel
// that has readings in at least half the rows, or that told before. A row without a reading goes on as the row before.
// With nothing to go by the fan is taken to run.
func (w *scratch) running(ch chunk, set machineFacts, h *History, st *State) {
	src, limit, stood := w.runBy(ch, set, st)
	if stood && hourOf(ch.t[0])-h.First < beginNs {
		h.stood()
		st.LastRun = false
	}
	h.RunBy[src] += uint32(len(ch.t))
	under := limit
	if src == DP {
		under *= swapped
	}
	on := st.LastRun || !st.Started
	w.all = true
	col := ch.col[src]
	if src == Pulse {
		col = nil // nothing tells
	}
	for i := range ch.t {
		switch {
		case col == nil:
			on = true
		case col[i] == col[i]:
			on = col[i] > limit || col[i] < -under
		}
		w.run[i] = on
		w.all = w.all && on
	}
	if src != Running && w.step < lonely {
		w.unspike(st.LastRun || !st.Started)
	}
}

// lonely is the step between rows [s] below which a fan can't run for one row alone.
const lonely = 600

// unspike takes single rows out in which the fan would run between two in which it stands: a spike.
// before says whether it ran in the row before the first.
func (w *scratch) unspike(before bool) {
	for i := 0; i+1 < len(w.run); i++ {
		if w.run[i] && !before && !w.run[i+1] {
			w.run[i] = false
		}
		before = w.run[i]
	}
}

// beginNs is how much of a record's beginning can turn out to be a standstill [ns].
const beginNs = 14 * 24 * hourNs

// stood makes all hours so far hours in which the fan stood: what was taken for its running was the
// noise of a channel that later shows far more.
func (h *History) stood() {
	h.Hours = slices.Clone(h.Hours) // an older History may share them
	for i := range h.Hours {
		o := &h.Hours[i]
		if o.Running == 0 {
			continue
		}
		o.Running, o.Cleaning = 0, 0
		o.Pulses, o.Offline = 0, o.Offline+o.Pulses
		var kept []Stat
		for c := range NumChannels {
			if s, ok := o.Of(c); ok && fanless>>c&1 == 1 {
				kept = append(kept, s)
			}
		}
		o.Has, o.Stats = o.Has&fanless, kept
		d := HourDP{Still: o.DP.Still, StillMean: o.DP.StillMean, Noise: float32(math.NaN()), Low: noReading()}
		if o.DP.N > 0 {
			d.Still, d.StillMean = o.DP.N, o.DP.P50
		}
		o.DP = d
	}
	h.Cycles, h.Passes = nil, nil
}

// runBy returns the channel that tells whether the fan runs, and the reading above which it does;
// Pulse, which is never a source, where none tells. Nobody walks to a gauge to read a fan that stands: in a log kept by hand
// no dP is a gauge that reads none. stood reports that all the channel showed up to now lies far below that limit.
func (w *scratch) runBy(ch chunk, set machineFacts, st *State) (by Channel, limit float64, stood bool) {
	if ch.col[Running] != nil {
		return Running, 0.5, false
	}
	byHand := func(c Channel) bool { return c == DP && w.step >= sparse }
	for _, s := range runSources {
		if col := ch.col[s.c]; col != nil && halfRead(col) && !byHand(s.c) {
			return set.runByLevel(s.c, s.share, col, st)
		}
	}
	for _, s := range runSources { // an hour that lost most of its rows: what told before still tells
		if col := ch.col[s.c]; col != nil && st.High[s.c] > 0 && !byHand(s.c) {
			return set.runByLevel(s.c, s.share, col, st)
		}
	}
	return Pulse, 0, false
}

// runByLevel is runBy of one channel with the readings col, where the fan runs above a share of its upper level.
func (set *machineFacts) runByLevel(c Channel, share float64, col []float64, st *State) (by Channel, limit float64, stood bool) {
	floor := set.floor[c] // NaN where the file doesn't say what design flow shows
	was := st.High[c]
	if upper := upperLevel(col); !(upper < floor) {
		st.High[c] = max(0.999*was, upper)
	}
	limit = share * st.High[c]
	switch {
	case c == DP && !set.pulsed: // a filter never pulsed may begin its life near nothing
		limit = min(neverShare*st.High[DP], stillDP)
	case c == DP:
		limit = dpLimit(floor, st.High[DP])
		limit += max(0, min(st.Zero, limit)) // where the gauge's zero went the readings of new filters went with it
	case floor > limit:
		limit = floor
	}
	stood = was > 0 && 2*was < limit && limit < st.High[c] && (c != DP || set.pulsed)
	return c, limit, stood
}

// The dP while the fan stands may lie off zero by what the gauge's zero is off, but far below what it reads while the fan runs:
// the limit is stillShare of its upper level, no more than stillMost times the floor, since new filters take little, and
// no less than the floor. A gauge connected the wrong way round reads below zero by swapped limits. Common practice, no source.
const (
	stillShare = 0.15
	stillMost  = 2.5
	swapped    = 3
)

// dpLimit is the dP [Pa] above which the fan of pulsed filters runs. floor is NaN or zero where the file doesn't say what new
// filters take.
func dpLimit(floor, upper float64) float64 {
	if !(floor > 0) {
		floor = stillDP
	}
	return max(floor, min(stillShare*upper, stillMost*floor))
}

// neverShare is the share of its upper level below which the dP of a filter never pulsed says that
// nothing flows. Common practice, no source.
const neverShare = 0.02

// halfRead reports whether at least half the rows have a reading.
func halfRead(col []float64) bool {
	n := 0
	for _, x := range col {
		if x == x {
			n++
		}
	}
	return 2*n >= len(col)
}

// upperLevel is the mean size of the readings that are at least as large as the mean size of all. Where
// these are fewer than a twentieth they are spikes, and the others count.
func upperLevel(col []float64) float64 {
	var sum, top float64
	n, k := 0, 0
	for _, x := range col {
		if x == x {
			sum += math.Abs(x)
			n++
		}
	}
	mean := sum / float64(n)
	for _, x := range col {
		if a := math.Abs(x); a >= mean {
			top += a
			k++
		}
	}
	switch {
	case k == 0:
		return mean
	case 20*k < n:
		return (sum - top) / float64(n-k)
	}
	return top / float64(k)
}
