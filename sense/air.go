package sense

import (
	"math"
)

// AirState is where the following of pulses, header and leak detector stands. It is exported for gob.
type AirState struct {
	Rest    float64 // header pressure at rest lately [Pa]; 0 none yet
	RestT   int64   // when that was [unix ns]
	Stood   float64 // header pressure last read at rest with the fan standing [Pa]
	StoodT  int64   // when that was [unix ns]; 0 never
	Noise   float64 // scatter of single readings at rest [Pa]
	Typical float64 // usual drop in a pulse [Pa]; 0 none yet
	Heads   Ring    // recent header readings [Pa]
	Upper   float64 // upper level of the lowest header pressures lately, where they are all that is read [Pa]; 0 none yet
	Pace    Ring    // recent times from one pulse to the next while it cleans [s]
	Quiet   Ring    // recent leak-detector readings without a pulse
	Pending Pulsed
	Bout    Bout
	Behind  Behind
	Due     Due
	Grains  Ring // recent differences of neighbouring header readings that differ [Pa]
	Tops    Ring // what the header lacked lately at the end of rows [Pa], each time the most of rows that end alike
}

// Pulsed is a row in which valves fired, and what the rows after it show. It is exported for gob.
type Pulsed struct {
	Open         bool
	T            int64
	Mask         uint64
	Valve        uint8
	Ref, Low     float64 // header before and lowest [Pa]; NaN unknown
	Lacked       float64 // what the header still lacked from the row before [Pa]
	Edge         int     // the row began a cleaning (1) or ended one (2); 0 neither, or not told
	Head         float64 // last header reading after it [Pa]
	HeadT        int64
	DPRef, DPSum float64
	DPN          int32
	Base, Peak   float64 // leak detector before, and highest after
}

// noDropNoise is how many standard deviations of the header reading a fall must pass to count, and
// noDropShare which share of the usual drop: a valve that opens at all takes more.
const (
	noDropNoise = 5
	noDropShare = 0.15
)

// strayDrop is how far, as a share of the pressure before, a drop may lie below nothing or above all
// there is; farther off a reading went astray.
const strayDrop = 0.1

// airPass follows the pulses through one chunk.
type airPass struct {
	w         *scratch
	ch        chunk
	h         *History
	s         *AirState
	head, low []float64
	dp, em    []float64
	interval  float64  // between pulses, as they come where the log shows it [s]
	beat      float64  // the controller's own time between them: the file's, where the log agrees [s]
	fast      bool     // rows come faster than pulses: each can be seen by itself
	busyAt    *float64 // the leak detector's level of the hour, once it was worked out
}

// air works header, pulses and leak detector.
func (w *scratch) air(ch chunk, set machineFacts, h *History, st *State, hour *Hour) {
	nan := float32(math.NaN())
	hour.Air = HourAir{Rest: nan, Noise: nan, Trend: nan, Busy: nan, Soon: nan, Late: nan, Stood: nan}
	lowest := ch.col[HeaderLow]
	st.Air.Behind.undelay(w, &ch, st)
	st.Air.Behind.advance(w, &ch)
	p := airPass{w: w, ch: ch, h: h, s: &st.Air, head: ch.col[Header], low: ch.col[HeaderLow], dp: ch.col[DP], em: ch.col[Emission]}
	p.interval = st.Air.interval(set.interval)
	if set.paced && w.step >= set.pass { // a row may hold a whole cleaning, and looks slow
		p.interval = min(p.interval, set.interval)
	}
	p.beat = p.interval
	if math.Abs(set.interval/p.interval-1) < sameBeat {
		p.beat = set.interval
	}
	p.fast = w.step < 0.6*p.interval
	if h.Seen>>Header&1 == 0 { // where it is logged now and then, the lowest readings are no stand-in between
		p.head = p.low
	}
	p.due(set, st)
	if p.head == nil && p.em == nil && hour.Pulses+hour.Offline == 0 {
		p.close()
		return
	}
	var busy, soon, late, stood Moments
	for i, t := range ch.t {
		rest := false
		since := float64(t-st.cleaned()) * 1e-9
		if since > 3*max(w.step, p.interval) && st.LastFire != 0 {
			p.s.Behind.vote(w, lowest, i, p.s.Noise)
			p.s.Behind.voteTrails(w, lowest, i, p.s.Noise)
		}
		cleaning := w.fired[i] > 0 || st.LastFire == 0 && w.clean[i]
		switch {
		case !cleaning && w.stands(ch, i, st) && !w.run[i] && since > max(lateAfter, 3*w.step):
			stood.add(at(p.head, i))
		case cleaning || !w.run[i] || st.cleaned() == 0:
		case since <= max(soonAfter, w.step):
			soon.add(at(p.head, i))
		case since > max(lateAfter, 3*w.step):
			late.add(at(p.head, i))
		}
		switch {
		case w.fired[i] > 0:
			p.pace(i, st.LastFire)
			st.LastFire = t
			p.open(i)
			p.left(i)
			busy.add(at(p.head, i))
		case p.s.Pending.Open:
			p.follow(i)
		case cleaning:
			st.LastClean = t
			if w.run[i] { // what says that it cleans may say so all night
				busy.add(at(p.head, i))
			}
		}
		if w.fired[i] == 0 && !w.clean[i] && since > 3*p.interval {
			rest = p.rest(i)
		}
		w.mark[i] = rest
		if p.head != nil && (w.run[i] || w.fired[i] > 0) {
			p.s.Heads.put(p.head[i])
			if d := math.Abs(at(p.head, i) - at(p.head, i-1)); d > 0 {
				p.s.Grains.put(d)
			}
			p.upper(i)
		}
	}
	p.over(ch.t[len(ch.t)-1])
	hour.Air.Busy, hour.Air.BusyN = meanOf(busy)
	hour.Air.Soon, hour.Air.SoonN = meanOf(soon)
	hour.Air.Late, hour.Air.LateN = meanOf(late)
	hour.Air.Stood, hour.Air.StoodN = meanOf(stood)
	p.atRest(&hour.Air)
}

// cleaned is when it was last cleaned: when a valve fired, or as the controller says where the log never names a valve.
func (st *State) cleaned() int64 {
	if st.LastFire == 0 {
		return st.LastClean
	}
	return st.LastFire
}

// soonAfter is how long after the last pulse [s] the header shows how fast it fills, and lateAfter from when on it is as
// full as it gets. Common practice, no source.
const (
	soonAfter = 90
	lateAfter = 600
)

// meanOf is the mean of what was counted, NaN for nothing.
func meanOf(m Moments) (mean float32, n uint32) {
	x, _ := m.Mean()
	return float32(x), m.N
}

// at returns reading i of a column that may be absent.
func at(col []float64, i int) float64 {
	if col == nil || i < 0 {
		return math.NaN()
	}
	return col[i]
}

// rest takes row i as one at rest, and reports whether the header was read. What it reads while the fan stands is not the
// level it is held at: the air may be shut off over night.
func (p *airPass) rest(i int) bool {
	if p.em != nil && p.w.run[i] {
		p.s.Quiet.put(p.em[i])
	}
	x := at(p.head, i)
	switch {
	case x != x:
		return false
	case !p.w.run[i]:
		p.s.Stood, p.s.StoodT = x, p.ch.t[i]
		return true
	}
	if p.s.Rest == 0 {
		p.s.Rest = x
	}
	// A stray reading moves the level by little, a new level is reached within some rows.
	p.s.Rest += 0.2 * min(max(x-p.s.Rest, -0.1*p.s.Rest), 0.1*p.s.Rest)
	p.s.RestT = p.ch.t[i]
	return true
}

// atRest sums up the hour's rows at rest, which are marked: those in which the fan runs, and in an hour without, the slope of
// those in which it stands.
func (p *airPass) atRest(out *HourAir) {
	if p.head == nil {
		return
	}
	running := p.onlyRunning()
	v, c := p.w.a[:0], p.w.b[:0]
	thin := thinner(len(p.head))
	for i, x := range p.head {
		if !p.w.mark[i] {
			continue
		}
		out.N++
		if i%thin == 0 {
			v = append(v, x)
			if i > 1 && p.w.mark[i-1] && p.w.mark[i-2] {
				c = append(c, math.Abs(x-2*p.head[i-1]+p.head[i-2]))
			}
		}
	}
	if len(v) == 0 {
		return
	}
	level := quantileOf(v, 0.5)
	if running {
		out.Rest = float32(level)
	}
	if len(c) < 3 {
		return
	}
	noise := curveToSigma * quantileOf(c, 0.5)
	if running {
		out.Noise = float32(noise)
		if p.s.Noise == 0 {
			p.s.Noise = noise
		}
		p.s.Noise += 0.2 * (noise - p.s.Noise)
	}
	out.Trend = float32(p.trend(max(8*noise, 0.002*level)))
}

// onlyRunning takes the mark from the rows in which the fan stands if it runs in any that is marked, and reports whether it does.
func (p *airPass) onlyRunning() bool {
	some := false
	for i, run := range p.w.run {
		some = some || run && p.w.mark[i]
	}
	if some {
		for i, run := range p.w.run {
			p.w.mark[i] = p.w.mark[i] && run
		}
	}
	return some
}

// trend returns the slope [Pa/s] of the header at rest; steps larger than jump are refillings and
// left out. NaN when no two rows at rest follow each other.
func (p *airPass) trend(jump float64) float64 {
	var dx, dt float64
	for i := 1; i < len(p.head); i++ {
		if p.w.mark[i] && p.w.mark[i-1] && p.w.gap[i] <= 2*p.w.step+1 {
			if d := p.head[i] - p.head[i-1]; math.Abs(d) <= jump {
				dx += d
				dt += p.w.gap[i]
			}
		}
	}
	if dt == 0 {
		return math.NaN()
	}
	return dx / dt
}

// restAge is how long a level at rest stands where cleaning leaves no rest: the regulator holds it. stoodAge is how long what
// was read while the fan stood is what the first pulses fall from: after that the air may have been shut off.
const (
	restAge  = 7 * 24 * hourNs
	stoodAge = hourNs / 4
)

// reference returns the header pressure before the pulses of row i: the row before where rows come
// fast, and otherwise the level at rest, what was read minutes before with the fan standing, or the upper level of late.
func (p *airPass) reference(i int) float64 {
	if p.fast {
		if x := at(p.head, i-1); x == x {
			return x
		}
	}
	if p.s.Rest > 0 && p.ch.t[i]-p.s.RestT < restAge {
		return p.s.Rest
	}
	if p.s.StoodT > 0 && p.ch.t[i]-p.s.StoodT < stoodAge && !(at(p.low, i) > p.s.Stood) {
		return p.s.Stood
	}
	if p.s.Upper > 0 && p.ch.col[Header] == nil {
		return p.s.Upper
	}
	return p.s.Heads.quantile(0.9)
}

// open begins to look at the pulses of row i.
func (p *airPass) open(i int) {
	p.close()
	nan := math.NaN()
	q := Pulsed{Open: true, T: p.ch.t[i], Ref: p.reference(i), Low: nan, Head: nan, DPRef: nan, Base: nan, Peak: nan}
	for _, f := range p.w.valves(p.ch, i) {
		q.Mask |= maskOf(f.Valve)
		q.Valve = f.Valve
	}
	if v := p.w.valves(p.ch, i); len(v) != 1 {
		q.Valve = 0
	}
	if p.w.run[i] {
		q.DPRef = p.dpBefore(i)
	}
	switch {
	case p.em == nil:
	case p.s.Quiet.len() > 0:
		q.Base = p.s.Quiet.quantile(0.5)
	default:
		q.Base = p.busy()
	}
	if h := p.ch.col[Header]; !p.fast && h != nil && i > 0 && p.w.fired[i-1] > 0 { // the lowest of a row is not what it ends with
		q.Lacked = q.Ref - at(h, i-1)
	}
	if before, after := i == 0 || p.w.fired[i-1] > 0, i+1 == len(p.ch.t) || p.w.fired[i+1] > 0; !p.fast && before != after {
		q.Edge = 1
		if before {
			q.Edge = 2
		}
	}
	p.s.Pending = q
	p.look(i)
	if !p.fast {
		p.close()
	}
}

// busy is the leak detector's level of the hour where cleaning leaves no quiet rows: valves still tell from each other by it.
func (p *airPass) busy() float64 {
	if p.busyAt == nil {
		var x []float64
		for i, y := range p.em {
			if p.w.run[i] {
				x = append(x, y)
			}
		}
		m := medianOf(x)
		p.busyAt = &m
	}
	return *p.busyAt
}

// lackShare is how much of the usual drop the header may still lack from the row before, for the drop of a
// valve that fired alone to be its own. Common practice, no source.
const lackShare = 0.3

// dpBefore returns the dP just before row i: the mean of up to three rows where rows come fast, and
// one otherwise.
func (p *airPass) dpBefore(i int) float64 {
	k := 1
	if p.fast {
		k = 3
	}
	var sum float64
	n := 0
	for j := i - 1; j >= max(0, i-k) && p.w.run[j] && p.w.fired[j] == 0 || j == i-1 && j >= 0 && !p.fast; j-- {
		if x := at(p.dp, j); x == x {
			sum += x
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}

// follow looks at row i after a pulse.
func (p *airPass) follow(i int) {
	if float64(p.ch.t[i]-p.s.Pending.T)*1e-9 > 1.5*p.interval {
		p.close()
		return
	}
	p.look(i)
}

// look takes what row i shows of the pending pulse.
func (p *airPass) look(i int) {
	q := &p.s.Pending
	after := float64(p.ch.t[i]-q.T) * 1e-9
	if after <= max(p.w.step, 0.3*p.interval) {
		for _, x := range [...]float64{at(p.low, i), p.fastHead(i)} {
			if !(x >= q.Low) && x == x {
				q.Low = x
			}
		}
	}
	if x := at(p.head, i); x == x {
		q.Head, q.HeadT = x, p.ch.t[i]
	}
	if x := at(p.dp, i); x == x && (after >= 1 || !p.fast) && p.w.run[i] {
		q.DPSum += x
		q.DPN++
	}
	if x := at(p.em, i); !(x <= q.Peak) && x == x && p.w.run[i] { // no dust flies while the fan stands
		q.Peak = x
	}
}

// fastHead is the header reading of row i where rows come fast enough to catch the drop; with a
// column of lowest readings it is not needed.
func (p *airPass) fastHead(i int) float64 {
	if !p.fast || p.low != nil {
		return math.NaN()
	}
	return at(p.head, i)
}

// close writes the pending pulse into the day's counts.
func (p *airPass) close() {
	q := &p.s.Pending
	if !q.Open {
		return
	}
	q.Open = false
	if q.Mask == 0 && q.Valve == 0 && q.Low != q.Low && q.Peak != q.Peak {
		return
	}
	f := p.h.firing(p.h.day(q.T/1e9), q.Mask, q.Valve)
	f.Rows++
	drop := q.Ref - q.Low
	if drop > -strayDrop*q.Ref && drop < (1+strayDrop)*q.Ref && !(q.Valve > 0 && q.Lacked > lackShare*p.s.Typical) {
		f.fell(drop, q.Ref)
		p.judgeDrop(f, drop, q)
	}
	if q.DPN > 0 {
		f.DPStep.add(q.DPRef - q.DPSum/float64(q.DPN))
	}
	f.Emission.add(q.Peak - q.Base)
}

// judgeDrop counts whether the header fell at all, and how much of the fall came back.
func (p *airPass) judgeDrop(f *FiringSet, drop float64, q *Pulsed) {
	if q.Edge > 0 {
		f.Edge[q.Edge-1].Rows++
	}
	if drop < p.leastDrop(q.Ref) {
		if q.Edge > 0 {
			f.Edge[q.Edge-1].NoDrop++
		}
		f.missed(q.T)
		return
	}
	f.dropped(q.T)
	if p.s.Typical == 0 {
		p.s.Typical = drop
	}
	p.s.Typical += 0.05 * (drop - p.s.Typical)
	if p.fast && float64(q.HeadT-q.T)*1e-9 >= 0.5*p.interval {
		if back := (q.Head - q.Low) / drop; back > -0.5 && back < 1.5 {
			f.Recovered.add(back)
		}
	}
}

// maxSets is how many different sets of valves a day keeps apart.
const maxSets = 128

// firing returns the day's counts of a set of valves, made if need be. Sets past maxSets share one
// without valves.
func (h *History) firing(day int64, mask uint64, valve uint8) *FiringSet {
	n := 0
	for i := len(h.Firings) - 1; i >= 0 && h.Firings[i].Day == day; i-- {
		if f := &h.Firings[i]; f.Mask == mask && f.Valve == valve {
			return f
		}
		n++
	}
	if n >= maxSets && (mask != 0 || valve != 0) {
		return h.firing(day, 0, 0)
	}
	h.Firings = append(h.Firings, FiringSet{Day: day, Mask: mask, Valve: valve})
	return &h.Firings[len(h.Firings)-1]
}
