package sense

import "math"

// longShare is the relative width added where cleaning goes on without end, or rows come too slowly, so
// that there is no dP just after it: all such days lie that far off together. Common practice, no source.
const longShare = 0.05

// endless is the share of the running time above which cleaning goes on without end. Common practice, no source.
const endless = 0.95

// passesOf works out the cleaning cycles, at design flow.
func (s *summariser) passesOf(d *Day, p part) {
	o := p.passes
	if o == nil || o.By != s.cyc {
		return
	}
	if o.N == 0 || o.After[0] != o.After[0] || s.withoutEnd(p) { // the low end of the dP is as near to "after" as it gets
		low, sigma := d.Value[DPLow]*s.perV, d.Sigma[DPLow]*s.perV
		d.set(DragAfter, low, hypot(sigma, longShare*low))
		d.alike = longShare * low
		return
	}
	n := math.Sqrt(float64(o.N))
	before, ownB := s.a.atDesign(&o.Before, float64(o.Before[0]))
	after, ownA := s.a.atDesign(&o.After, float64(o.After[0]))
	sdB, sdA := float64(o.BeforeSD)/n, float64(o.AfterSD)/n
	relB, relA := sdB/float64(o.Before[0]), sdA/float64(o.After[0])
	d.set(Trigger, float64(o.Before[0]), sdB)
	d.set(Stop, float64(o.After[0]), sdA)
	d.set(DragBefore, before*s.perV, before*s.perV*hypot(relB, ownB))
	d.set(DragAfter, after*s.perV, after*s.perV*hypot(relA, ownA))
	fall, fallSD := before-after, hypot(before*relB, after*relA)
	d.set(DropPerCycle, fall, fallSD)
	d.set(Recovered, fall/before, hypot(fallSD/before, 0.3*ownA))
	if pulses := s.pulses(o); pulses > 0 {
		width := pulses * 0.1 / n
		if o.Pulses == 0 {
			width = hypot(width, s.coarse(p))
		}
		d.set(PulsesPerCycle, pulses, width)
		d.set(DropPerPulse, fall/pulses, hypot(fallSD/pulses, fall/pulses*width/pulses))
	}
	d.set(RiseBend, float64(o.Bend), 0.3/n)
	s.rise(d, o, after)
}

// withoutEnd reports that the log says of a part that it was cleaned all the time but for a row now and then: what lies between
// two such rows, or the last before the fan stops, is no cleaning that began at one dP and ended at another.
func (s *summariser) withoutEnd(p part) bool {
	cleaning := 0.0
	for i := range p.hours {
		cleaning += float64(p.hours[i].Cleaning)
	}
	return (s.cyc == ByPulse || s.cyc == ByFlag) && cleaning > endless*p.running()
}

// pulses is how many pulses a cycle had: counted, or from its length where the interval is known and
// rows come fast enough to see it.
func (s *summariser) pulses(o *Passes) float64 {
	interval := float64(s.c.Header.Interval)
	if o.Pulses > 0 || !(interval > 0) || o.Duration < 2*float32(interval) {
		return float64(o.Pulses)
	}
	return float64(o.Duration)/interval + 1
}

// coarse is the standard uncertainty of a number of pulses told by a cleaning's length, which is a whole number of rows:
// however many cycles there were, their median goes from one number to the next at once.
func (s *summariser) coarse(p part) float64 {
	var step weighted
	for i := range p.hours {
		step.add(float64(p.hours[i].Step), float64(p.hours[i].Running))
	}
	mean, _ := step.value()
	return mean / math.Sqrt(12) / float64(s.c.Header.Interval)
}

// rise works out how fast the dP at design flow grows while it filters: the raw slope over the
// airflow (for the drag) and again over the airflow (for the dust that comes with it).
func (s *summariser) rise(d *Day, o *Passes, after float64) {
	if !(o.Rise > 0) {
		return
	}
	fa, fb := s.a.infer(&o.After), s.a.infer(&o.Before)
	q := (fa.share + fb.share) / 2
	climb := float64(o.Rise)
	if o.Filtering > 0 { // the airflow falls while the dP rises: add what that hides
		hidden := float64(o.Before[0])/fb.share - float64(o.After[0])/fa.share - float64(o.Before[0]-o.After[0])/q
		climb += hidden * q / float64(o.Filtering)
	}
	mu := s.a.viscosity(&o.Before)
	v := climb / (q * q * mu)
	d.set(RiseRate, v, hypot(v*float64(o.RiseSD/o.Rise)/math.Sqrt(float64(o.N)), v*2*fb.own/fb.share))
}

// leastSteps is how many changes from hour to hour make an hourly rise.
const leastSteps = 3

// hourlyRise is the median change of the dP at design flow between neighbouring hours through which the
// fan ran. Hours in which the log says that it was cleaned are left out; where only the dP shows that,
// the median passes over the falls as long as most hours have none.
func (s *summariser) hourlyRise(d *Day, p part) {
	steps := s.buf[:0]
	last, lastStart := math.NaN(), int64(0)
	for i := range p.hours {
		h := &p.hours[i]
		level := math.NaN()
		if h.Running > 0.95 && h.DP.N > 2 && h.Cleaning == 0 {
			r := hourReading(h)
			level = float64(h.DP.P50) / (s.a.infer(&r).share * s.a.viscosity(&r))
		}
		if step := level - last; step == step && h.Start-lastStart == 3600 {
			steps = append(steps, step)
		}
		last, lastStart = level, h.Start
	}
	s.buf = steps
	if n := len(steps); n >= leastSteps {
		mid := medianOf(steps)
		d.set(HourlyRise, mid, 1.25*spreadOf(steps)/math.Sqrt(float64(n)))
	}
}

// rates counts cycles and pulses for each running hour, and the share of time spent cleaning.
func (s *summariser) rates(d *Day, p part) {
	var pulses, cleaning float64
	for i := range p.hours {
		pulses += float64(p.hours[i].Pulses)
		cleaning += float64(p.hours[i].Cleaning)
	}
	if d.Hours < 0.5 {
		return
	}
	cycles, duration := 0.0, 0.0
	if p.passes != nil && p.passes.By == s.cyc {
		cycles, duration = float64(p.passes.N+p.passes.Long), float64(p.passes.Duration)
	}
	if s.cyc != NoCycles {
		d.set(CyclesPerHour, cycles/d.Hours, math.Sqrt(cycles+1)*0.5/d.Hours) // none seen may be one missed
	}
	share := cleaning / d.Hours
	if s.cyc == ByPulse {
		d.set(PulsesPerHour, pulses/d.Hours, pulseWidth(pulses, share, cycles)/d.Hours)
	}
	switch s.cyc {
	case ByPulse, ByFlag:
		d.set(CleaningShare, share, share*burst(share, cycles))
	case BySawtooth:
		d.sawShare(cycles, duration)
	}
}

// sawShare is the share of the time spent cleaning where the falls of the dP alone show it: so many cycles, half of which took no
// longer than duration [s]. One that falls between two rows took part of a step, half of it as far as anybody knows; taken for
// nothing it would be sure to be the share of a machine that does not clean.
func (d *Day) sawShare(cycles, duration float64) {
	if cycles > 0 {
		duration = max(duration, d.step/2)
	}
	share := cycles * duration / 3600 / d.Hours
	d.set(CleaningShare, share, hypot(0.3*share, cycles*d.step/math.Sqrt(12)/3600/d.Hours))
}

// burst is the relative standard uncertainty of what comes in bursts, seen over some cycles whose cleanings and pauses each
// scatter by 0.7 of their length (common practice, no source): of an alternating renewal process the variance of the share p
// over k cycles tends to p^2 (1 - p)^2 (c1^2 + c2^2)/k, c1 and c2 the scatter of both (Cox, Renewal Theory, 1962, from
// memory). What cleans without end is sure to.
func burst(share, cycles float64) float64 {
	return math.Max(0, 1-share) * math.Sqrt(cycles+0.25) / (cycles + 0.5)
}

// pulseWidth is the standard uncertainty of a number of pulses: those of one cleaning follow each other evenly, so that they go
// with the share, but for most of a pulse at the end of each.
func pulseWidth(pulses, share, cycles float64) float64 {
	return hypot(pulses*burst(share, cycles), math.Sqrt((cycles+1)/2))
}

// leastBack is the least recovery that rows minutes apart can show: below it the rows fall in step with
// the pulses and read the header at its lowest each time, which says nothing of its recovery.
// coarseBack is the width of what they show, since they fall anywhere between two pulses.
//
// leastBusy is how many rows with pulses, or soon after them, tell what the header stands at in them, and leastSwing how
// many hours how it swings. All: common practice, no source.
const (
	leastBack  = 0.2
	coarseBack = 0.15
	leastBusy  = 3
	leastSwing = 4
)

// header works out the compressed air.
func (s *summariser) header(d *Day, p part) {
	var rest, busy, trend, noise, soon, late weighted
	for i := range p.hours {
		a := &p.hours[i].Air
		rest.add(float64(a.Rest), float64(a.N))
		busy.add(float64(a.Busy), float64(a.BusyN))
		trend.add(float64(a.Trend)*60, float64(a.N))
		noise.add(float64(a.Noise), float64(a.N))
		soon.add(float64(a.Soon), float64(a.SoonN))
		late.add(float64(a.Late), float64(a.LateN))
	}
	level, se := rest.value()
	if level != level {
		rest = upper(p.hours)
		level, se = rest.value()
	}
	if s.inStep(p.hours, level) {
		rest, trend, noise = weighted{}, weighted{}, weighted{}
		level, se = rest.value()
	}
	if rest.n >= leastSwing {
		d.set(HeaderSwing, math.Sqrt(rest.variance())/level, se/level)
	}
	d.set(HeaderLevel, level, se)
	mean, se := trend.value()
	d.set(HeaderTrend, mean, se)
	mean, se = noise.value()
	d.set(HeaderNoise, mean, se)
	d.behind(soon, late)
	d.lowest(p.hours)
	d.stood(p.hours)
	d.emptied(p.hours, s.heads)
	b, bse := busy.value()
	if level > 0 && busy.w >= leastBusy {
		d.set(HeaderLacks, 1-b/level, bse/level)
	}
	var drop, recovered, emission Moments
	for i := range p.sets {
		drop.merge(p.sets[i].Drop)
		recovered.merge(p.sets[i].Recovered)
		emission.merge(p.sets[i].Emission)
	}
	x, se := drop.Mean()
	d.set(HeaderDrop, x, se)
	e, ese := emission.Mean()
	d.set(EmissionPeak, e, ese)
	if r, rse := recovered.Mean(); s.recov {
		d.set(HeaderRecovery, r, rse)
	} else if x > 0 && b == b && busy.w >= leastBusy {
		if back := 1 - (level-b)/x; back > leastBack {
			d.set(HeaderRecovery, back, hypot(bse/x, coarseBack))
		}
	}
}

// upper is what the header comes back to where no row is at rest: the upper end of what was read, hour by hour, in hours
// through which it ran, else in any in which it ran, where it is hardly ever logged from single readings. While the fan stands
// nothing is taken out of the header, or the air is shut off: either is another level.
func upper(hours []Hour) (top weighted) {
	for _, least := range [...]struct {
		running float32
		n       uint32
	}{{0.95, 2}, {0, 2}, {0, 1}} {
		for i := range hours {
			h := &hours[i]
			if st, ok := h.Of(Header); ok && st.N >= least.n && h.Running > least.running {
				top.add(float64(st.Max), float64(st.N))
			}
		}
		if top.n > 0 {
			break
		}
	}
	return top
}

// Where rows fall in step with the pulses each is read at the same short time after one: what looks like a level is then no
// farther than stepShare above the lowest, and below fullShare of what the header is known to be held at. Where nothing else
// shows the cleaning, leastDips hours and more whose lowest reading lies deepDip below the level tell what pulses leave.
// Common practice, no source.
const (
	stepShare = 0.05
	fullShare = 0.9
	deepDip   = 0.1
	leastDips = 12
)

// inStep reports that a level of some hours may be what pulses leave of the header: it hardly stands above the lowest reading,
// neither the file nor rows at rest of other days know it as a level, and the hours were cleaned throughout, or where nothing
// says so, it is just what pulses used to leave. Valves that are all dead leave the header where it is held.
func (s *summariser) inStep(hours []Hour, level float64) bool {
	named := s.cyc == ByPulse || s.cyc == ByFlag
	if !(level < fullShare*s.full) || !named && !(math.Abs(level-s.dip) < stepShare*level) {
		return false
	}
	var low weighted
	for i := range hours {
		h := &hours[i]
		if named && h.Cleaning < 0.95*h.Running {
			return false
		}
		low.add(lowestOf(h), float64(h.Running))
	}
	lowest, _ := low.value()
	return level-lowest < stepShare*level
}

// lowestOf is the lowest header pressure of an hour; NaN unknown.
func lowestOf(h *Hour) float64 {
	st, ok := h.Of(HeaderLow)
	if !ok {
		st, ok = h.Of(Header)
	}
	if !ok {
		return math.NaN()
	}
	return float64(st.Min)
}

// dipOf is what pulses usually leave of the header, by the hours in which it ran whose lowest reading lies well below its level;
// NaN unknown.
func dipOf(hours []Hour) float64 {
	var low []float64
	for i := range hours {
		h := &hours[i]
		if x := lowestOf(h); h.Running > 0 && x < (1-deepDip)*float64(h.Air.Rest) {
			low = append(low, x)
		}
	}
	if len(low) < leastDips {
		return math.NaN()
	}
	return medianOf(low)
}

// fullOf is what the header is held at, by the file or by the hours with rows at rest, whichever is more; NaN unknown.
func fullOf(set float64, hours []Hour) float64 {
	var rest []float64
	for i := range hours {
		rest = append(rest, float64(hours[i].Air.Rest))
	}
	shown := quantileOf(known(rest), 0.9)
	if shown > set || set != set {
		return shown
	}
	return set
}

// behind holds what the header stands at just after cleaning against what it does long after: a valve that blows or a
// regulator turned down leaves it low for good, a supply that is short fills it slowly.
func (d *Day) behind(soon, late weighted) {
	full, fullSE := late.value()
	x, se := soon.value()
	if full > 0 && min(soon.w, late.w) >= leastBusy {
		d.set(HeaderBehind, 1-x/full, hypot(se, fullSE)/full)
	}
}

// lowest is how low the header falls while it cleans: the median of the hours' lowest readings, since in the first the header
// may still be filling. It needs no level at rest and no valve's name.
func (d *Day) lowest(hours []Hour) {
	var v []float64
	for i := range hours {
		h := &hours[i]
		if x := lowestOf(h); x == x && h.Running > 0 && (h.Pulses > 0 || h.Cleaning > 0) {
			v = append(v, x)
		}
	}
	if n := len(v); n > 0 {
		mid := medianOf(v)
		d.set(HeaderLowest, mid, 1.25*spreadOf(v)/math.Sqrt(float64(n)))
	}
}

// ratios holds fan load and inlet suction against what the airflow, inferred without them, asks for.
func (s *summariser) ratios(d *Day, p part) {
	var amps, watts, inlet, curve weighted
	var ampsOwn, wattsOwn, inletOwn, curveOwn float64
	for i := range p.hours {
		h := &p.hours[i]
		r := hourReading(h)
		w := float64(h.Running)
		load := func(m *weighted, own *float64, t *table, y float64) {
			if t == nil || !(y > 0) {
				return
			}
			f := s.a.infer(&r, FanCurrent, FanPower)
			if want := t.at(f.share) * s.a.density(&r); want > 0 {
				m.add(y/want, w)
				slope := (t.at(f.share+0.02) - t.at(f.share-0.02)) / 0.04
				*own = math.Abs(slope*f.own/t.at(f.share)) * y / want
			}
		}
		if x, sigma := s.a.overCurve(&r); x == x {
			curve.add(x, w)
			curveOwn = sigma
		}
		load(&amps, &ampsOwn, s.a.amps, r.Of(FanCurrent))
		load(&watts, &wattsOwn, s.a.input, r.Of(FanPower))
		if sp := -r.Of(InletSP); sp > 0 && s.a.suction > 0 {
			f := s.a.infer(&r, InletSP)
			inlet.add(sp/(s.a.suctionAt(f.share)*s.a.density(&r)), w)
			inletOwn = 2 * f.own / f.share
		}
	}
	for _, x := range [...]struct {
		q   Quantity
		m   weighted
		own float64
	}{{FanCurrentRatio, amps, ampsOwn}, {FanPowerRatio, watts, wattsOwn}, {InletSPRatio, inlet, inletOwn}, {FlowOverCurve, curve, curveOwn}} {
		v, se := x.m.value()
		d.set(x.q, v, hypot(se, x.own))
	}
}
