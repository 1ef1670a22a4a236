package sense

import (
	"math"
	"slices"
	"time"

	"dustwright/solve"
)

// chunk is a stretch of rows of one hour, looked at in place.
type chunk struct {
	t    []int64
	col  [NumChannels][]float64 // nil where the stretch has no reading at all
	fire []Firing
	base int32 // Firing.Row of the first row
}

// span is a range of rows, to not included.
type span struct{ from, to int }

// chunkOf cuts rows out of columns. A column without a single reading counts as absent.
func chunkOf(time []int64, cols *[NumChannels][]float64, in span, fire []Firing) chunk {
	ch := chunk{t: time[in.from:in.to], fire: fire, base: int32(in.from)}
	for c, col := range cols {
		if col == nil {
			continue
		}
		col = col[in.from:in.to]
		if slices.ContainsFunc(col, func(x float64) bool { return x == x }) {
			ch.col[c] = col
		}
	}
	return ch
}

// scratch is working memory, used anew for every chunk.
type scratch struct {
	gap   []float64 // time since the row before [s]
	dt    []float64 // running time credited to a row if the fan runs [s]
	run   []bool    // the fan runs
	clean []bool    // the controller cleans, or a valve fired
	held  []bool    // it cleaned since the row before: see holding
	mark  []bool    // for passing uses
	fired []int32   // how many valves fired
	first []int32   // index of the row's first firing in chunk.fire
	turns []Firing  // of pulses that are only counted
	a, b  []float64
	step  float64 // usual time between rows [s]
	all   bool    // the fan runs in every row
	flags bool    // the log says when it cleans
}

// reduce works one hour in.
func (w *scratch) reduce(ch chunk, set machineFacts, h *History, st *State) {
	n := len(ch.t)
	w.grow(n)
	w.times(ch, set, st)
	ch.fire = w.inTurn(ch, set.valves, h, st)
	w.firings(ch, st)
	w.running(ch, set, h, st)
	w.holding(ch, set, h, st)
	hour := Hour{Start: hourOf(ch.t[0]) / 1e9, Last: uint16((ch.t[n-1] - hourOf(ch.t[0])) / 1e9), Rows: uint32(n), Step: float32(w.step)}
	w.count(ch, h, &hour)
	w.stats(ch, &hour)
	w.dp(ch, &hour, st)
	w.fall(ch, &hour, st)
	w.start(ch, &hour, st)
	w.air(ch, set, h, st, &hour)
	w.refills(ch, h, st)
	if set.pulsed {
		w.cycles(ch, set, h, st)
	}
	w.fine(ch, &h.Fine)
	h.Hours = append(h.Hours, hour)
	st.Carry = w.mean(ch, n-1, 3, noReading())
	st.LastT, st.LastRun, st.Started = ch.t[n-1], w.run[n-1], true
}

// grow makes room for n rows.
func (w *scratch) grow(n int) {
	if cap(w.gap) < n {
		room := n + n/4
		w.gap, w.dt, w.a, w.b = make([]float64, room), make([]float64, room), make([]float64, room), make([]float64, room)
		w.run, w.clean, w.held, w.mark = make([]bool, room), make([]bool, room), make([]bool, room), make([]bool, room)
		w.fired, w.first = make([]int32, room), make([]int32, room)
	}
	w.gap, w.dt = w.gap[:n], w.dt[:n]
	w.run, w.clean, w.held, w.mark, w.fired, w.first = w.run[:n], w.clean[:n], w.held[:n], w.mark[:n], w.fired[:n], w.first[:n]
}

// sparse is the step between rows [s] from which a log counts as kept by hand: the fan is then not
// known to run from one row to the next, and the collector's usual week is used instead.
const sparse = 7200

// times works out the step between rows and how much running time each row stands for: the time
// since the row before, but only one usual step after a gap of more than three.
func (w *scratch) times(ch chunk, set machineFacts, st *State) {
	n := len(ch.t)
	for i := range ch.t {
		switch {
		case i > 0:
			w.gap[i] = float64(ch.t[i]-ch.t[i-1]) * 1e-9
		case st.Started:
			w.gap[i] = float64(ch.t[i]-st.LastT) * 1e-9
		default:
			w.gap[i] = math.NaN()
		}
	}
	for i := 0; i < n; i += max(1, n/16) {
		st.Steps.put(w.gap[i])
	}
	w.step = st.Steps.quantile(0.5)
	if math.IsNaN(w.step) {
		w.step = 0
	}
	limit, share := 3*w.step, 1.0
	if w.step >= sparse {
		limit, share = 10*w.step, set.runShare
	}
	for i, g := range w.gap {
		if !(g <= limit) {
			g = w.step
		}
		w.dt[i] = g * share
	}
}

// firings counts the valves that fired in each row and marks the rows in which the controller cleans.
func (w *scratch) firings(ch chunk, st *State) {
	clear(w.fired)
	for i, f := range ch.fire {
		row := f.Row - ch.base
		if w.fired[row] == 0 {
			w.first[row] = int32(i)
		}
		w.fired[row]++
	}
	pulse, flag := ch.col[Pulse], ch.col[Cleaning]
	if pulse != nil || len(ch.fire) > 0 || flag != nil {
		st.LastFlag = ch.t[len(ch.t)-1]
	}
	const day = 24 * hourNs
	w.flags = st.LastFlag != 0 && ch.t[0]-st.LastFlag < day
	for i := range ch.t {
		on := w.fired[i] > 0
		if !on && pulse != nil && pulse[i] > 0 { // counted, not named
			w.fired[i], w.first[i], on = int32(min(pulse[i], maxPulses)), -1, true
		}
		w.clean[i] = on || (flag != nil && flag[i] > 0.5)
	}
}

// maxPulses is the most pulses a row can count; more is no count.
const maxPulses = 1e6

// valves returns which valves fired in row i; nil where none did or the log only counts them.
func (w *scratch) valves(ch chunk, i int) []Firing {
	if w.fired[i] == 0 || w.first[i] < 0 {
		return nil
	}
	return ch.fire[w.first[i] : w.first[i]+w.fired[i]]
}

// count fills in the hour's running and cleaning time, its pulses, and which channels it has.
func (w *scratch) count(ch chunk, h *History, hour *Hour) {
	for c, col := range ch.col {
		if col != nil {
			h.Seen |= 1 << c
		}
	}
	if len(ch.fire) > 0 {
		h.Seen |= 1 << Pulse
	}
	var running, cleaning float64
	for i, on := range w.run {
		if !on {
			hour.Offline += uint32(w.fired[i])
			continue
		}
		running += w.dt[i]
		if w.clean[i] {
			cleaning += w.dt[i]
		}
		hour.Pulses += uint32(w.fired[i])
	}
	hour.Running, hour.Cleaning = float32(running/3600), float32(cleaning/3600)
}

// fanless are the channels whose readings count whether the fan runs or not.
const fanless = 1<<Header | 1<<HeaderLow | 1<<Temperature | 1<<Humidity | 1<<Barometer | 1<<BinLevel | 1<<BinMass

// states are the channels that are counted, not averaged.
const states = 1<<Running | 1<<Cleaning | 1<<Pulse

// stats sums the channels up.
func (w *scratch) stats(ch chunk, hour *Hour) {
	var list [NumChannels]Stat
	k := 0
	for c, col := range ch.col {
		if col == nil || states>>c&1 == 1 {
			continue
		}
		rows := w.run
		if w.all || fanless>>c&1 == 1 {
			rows = nil
		}
		s := statOf(col, rows)
		if Channel(c) == Emission {
			if quiet := w.quiet(col); quiet.N > 0 {
				s = quiet
			}
		}
		if s.N > 0 {
			hour.Has |= 1 << c
			list[k] = s
			k++
		}
	}
	hour.Stats = slices.Clone(list[:k])
}

// quiet sums a column up over the running rows in which no valve fired.
func (w *scratch) quiet(col []float64) Stat {
	for i := range w.run {
		w.mark[i] = w.run[i] && w.fired[i] == 0
	}
	return statOf(col, w.mark)
}

// statOf sums up the readings of the rows marked; nil marks all.
func statOf(col []float64, rows []bool) Stat {
	var n int
	var x0, sum, sq float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, x := range col {
		if x != x || (rows != nil && !rows[i]) {
			continue
		}
		if n == 0 {
			x0 = x
		}
		n++
		d := x - x0
		sum += d
		sq += d * d
		if x < lo {
			lo = x
		}
		if x > hi {
			hi = x
		}
	}
	if n == 0 {
		return Stat{}
	}
	mean := sum / float64(n)
	variance := max(0, sq/float64(n)-mean*mean)
	return Stat{N: uint32(n), Mean: float32(x0 + mean), SD: float32(math.Sqrt(variance)), Min: float32(lo), Max: float32(hi)}
}

// dp fills in what the hour says about the dP reading itself.
func (w *scratch) dp(ch chunk, hour *Hour, st *State) {
	col := ch.col[DP]
	hour.DP = HourDP{Noise: float32(math.NaN()), StillMean: float32(math.NaN()), Low: noReading()}
	if col == nil {
		return
	}
	d := &hour.DP
	v, still, last := w.a[:0], 0.0, st.LastDP
	for i, x := range col {
		if x != x {
			continue
		}
		if !w.run[i] {
			if w.stands(ch, i, st) {
				d.Still++
				still += x
			}
			continue
		}
		v = append(v, x)
		if x == last {
			d.Frozen++
		}
		if x < 0 {
			d.Negative++
		}
		last = x
	}
	if d.Still > 0 {
		d.StillMean = float32(still / float64(d.Still))
	}
	d.N = uint32(len(v))
	if d.N == 0 {
		st.zero(d)
		return
	}
	d.Noise = float32(w.scatter(v, st))
	q10, q25, q50, q90 := quartiles(v)
	d.P10, d.P50, d.P90 = float32(q10), float32(q50), float32(q90)
	w.low(ch, q25, &d.Low)
}

// spinNs is how far from rows in which the fan runs one is in which it stands for good: what tells that it runs may come a row
// late, and the fan takes its time to run up and down. Common practice, no source.
const spinNs = int64(2 * time.Minute)

// ranShare is the share of a row from which on the fan ran in it, where rows are means and so is what tells that it runs.
const ranShare = 0.02

// stands reports that the fan stands in row i, and did not just stop nor is just about to run. A row of means in which it ran
// for a part of the time shows neither.
func (w *scratch) stands(ch chunk, i int, st *State) bool {
	if col := ch.col[Running]; col != nil && col[i] > ranShare {
		return false
	}
	before, ran := st.LastT, st.Started && st.LastRun
	if i > 0 {
		before, ran = ch.t[i-1], w.run[i-1]
	}
	if ran && ch.t[i]-before <= spinNs {
		return false
	}
	if i+1 == len(ch.t) { // nobody knows yet what follows
		return w.step*1e9 > float64(spinNs)
	}
	return !w.run[i+1] || ch.t[i+1]-ch.t[i] > spinNs
}

// curveToSigma turns the median size of the second difference of independent normal readings of
// standard deviation 1, which has standard deviation sqrt(6), into 1.
var curveToSigma = solve.MADToSigma / math.Sqrt(6)

// scatter returns the standard deviation of single readings about their own course, NaN for fewer
// than five of them, and feeds the rings that the saw-tooth finder steers by.
func (w *scratch) scatter(v []float64, st *State) float64 {
	every, thin := max(1, len(v)/16), thinner(len(v))
	c := w.b[:0]
	x1, x2 := st.LastDP, st.LastDP2
	for i, x := range v {
		d1, d2 := math.Abs(x-x1), math.Abs(x-2*x1+x2)
		if i%thin == 0 && d2 == d2 {
			c = append(c, d2)
		}
		if i%every == 0 {
			st.Curve.put(d2)
			if d1 > 0 {
				st.Ticks.put(d1)
			}
		}
		x1, x2 = x, x1
	}
	st.LastDP, st.LastDP2 = x1, x2
	if len(c) < 3 {
		return math.NaN()
	}
	return curveToSigma * groupedMedian(c)
}

// fewMoves is the share of readings off the course up to which a coarse gauge counts as one that stands still.
// Common practice, no source.
const fewMoves = 0.1

// groupedMedian is the median of sizes that were read in steps, each taken for spread evenly over half a step to either side
// (common practice, no source), and where most are nothing as many steps as are not: the median itself is now none and now a
// whole step where about half of a coarse gauge's readings repeat. It reorders v, which must not be empty.
func groupedMedian(v []float64) float64 {
	mid, n := quantileOf(v, 0.5), float64(len(v))
	near := 1e-6 * slices.Max(v) // units turned into others leave sizes that are the same a little apart
	below, upTo, step := 0, 0, math.Inf(1)
	for _, x := range v {
		switch off := math.Abs(x - mid); {
		case x < mid-near:
			below, upTo, step = below+1, upTo+1, min(step, off)
		case x > mid+near:
			step = min(step, off)
		default:
			upTo++
		}
	}
	above := n - float64(upTo)
	switch {
	case upTo-below < 2 || math.IsInf(step, 1) || below == 0 && above < fewMoves*n:
		return mid
	case below == 0 && mid <= near:
		return step * above / n
	}
	return mid + step*((n/2-float64(below))/float64(upTo-below)-0.5)
}

// thinner is the stride that leaves at most enough of n values for a median to be known within a tenth.
func thinner(n int) int {
	const enough = 40
	return (n + enough - 1) / enough
}

// low averages the channels over the running rows whose dP is at or below the limit.
func (w *scratch) low(ch chunk, limit float64, out *Reading) {
	for slot, c := range readingChannels {
		col := ch.col[c]
		if col == nil {
			continue
		}
		var sum float64
		n := 0
		for i, dp := range ch.col[DP] {
			if x := col[i]; dp <= limit && w.run[i] && x == x {
				sum += x
				n++
			}
		}
		if n > 0 {
			out[slot] = float32(sum / float64(n))
		}
	}
}

// mean averages the channels over up to k running rows that end with row i, without valves firing in
// them; what they don't hold comes from before.
func (w *scratch) mean(ch chunk, i, k int, before Reading) Reading {
	out := before
	from := i
	for k > 1 && from > 0 && w.run[from-1] && !w.held[from-1] && w.gap[from] <= 3*w.step {
		from--
		k--
	}
	for slot, c := range readingChannels {
		col := ch.col[c]
		if col == nil {
			continue
		}
		var sum float64
		n := 0
		for _, x := range col[from : i+1] {
			if x == x {
				sum += x
				n++
			}
		}
		if n > 0 {
			out[slot] = float32(sum / float64(n))
		}
	}
	return out
}
