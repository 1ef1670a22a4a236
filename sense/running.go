package sense

import "math"

// runSources are the channels that can tell whether the fan runs, best first; each with the share of
// its upper level above which it says yes. A motor with the damper shut still draws some 45 % of its
// full-load current, and none when it stands. Common practice, no source.
var runSources = [...]struct {
	c     Channel
	share float64
}{{FanPower, 0.2}, {FanCurrent, 0.25}, {InletSP, 0.15}, {Flow, 0.15}, {FlowIndex, 0.2}, {DP, 0.08}}

// stillDP is the dP [Pa] above which the fan is taken to run where nothing better is known:
// 0.1 in. w.g., what a gauge's zero may be off. Common practice, no source.
const stillDP = 25

// running marks the rows in which the fan runs: by the running channel, or by the best other channel
// that has readings in at least half the rows. A row without a reading goes on as the row before.
// With nothing to go by the fan is taken to run.
func (w *scratch) running(ch chunk, set machineFacts, h *History, st *State) {
	src, limit := w.runBy(ch, set, st)
	h.RunBy[src] += uint32(len(ch.t))
	on := st.LastRun || !st.Started
	w.all = true
	col := ch.col[src]
	for i := range ch.t {
		switch {
		case col == nil:
			on = true
		case col[i] == col[i]:
			on = math.Abs(col[i]) > limit
		}
		w.run[i] = on
		w.all = w.all && on
	}
}

// runBy returns the channel that tells whether the fan runs, and the reading above which it does;
// Pulse, which is never a source, where none tells.
func (w *scratch) runBy(ch chunk, set machineFacts, st *State) (Channel, float64) {
	if ch.col[Running] != nil {
		return Running, 0.5
	}
	for _, s := range runSources {
		col := ch.col[s.c]
		if col == nil || !halfRead(col) {
			continue
		}
		floor := set.floor[s.c] // NaN where the file doesn't say what design flow shows
		if upper := upperLevel(col); !(upper < floor) {
			st.High[s.c] = max(0.999*st.High[s.c], upper)
		}
		limit := s.share * st.High[s.c]
		switch {
		case s.c == DP && !set.pulsed: // a filter never pulsed may begin its life near nothing
			limit = min(neverShare*st.High[DP], stillDP)
		case s.c == DP && floor > 0:
			limit = floor
		case s.c == DP:
			limit = min(limit, stillDP)
		case floor > limit:
			limit = floor
		}
		return s.c, limit
	}
	return Pulse, 0
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

// upperLevel is the mean size of the readings that are at least as large as the mean size of all.
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
	if k == 0 {
		return mean
	}
	return top / float64(k)
}
