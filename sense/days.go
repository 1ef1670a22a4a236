package sense

import (
	"math"

	"dustwright/collector"
)

// summariser works out the daily value of every quantity from hours, cycles and firings.
type summariser struct {
	c       *collector.Collector
	a       *airflow
	red     *reduction // filters never pulsed; nil otherwise
	perV    float64    // drag for each Pa at design flow [s/m]
	cyc     CycleSource
	points  []point // reduced, for filters never pulsed
	scatter float64 // of single points about their own course, in the log
	habits  []habit
	left    [len(habits)][]float64 // of each hour, beyond each habit
	full    float64                // header pressure it is held at [Pa]; NaN unknown
	dip     float64                // what pulses usually leave of it [Pa]; NaN unknown
	grain   float64                // step to which the bin's level is rounded [1]
	heads   float64                // step to which the header's lowest pressure is [Pa]
	recov   bool                   // the record shows the recovery after single pulses
	shape   []shape
	buf     []float64
}

// part is what one value stands on: a stretch of hours, the cycles and the firings in it.
type part struct {
	start  int64 // [unix s]
	hours  []Hour
	passes *Passes // nil for none
	sets   []FiringSet
}

// running is how long the fan ran in it [h].
func (p *part) running() float64 {
	var h float64
	for i := range p.hours {
		h += float64(p.hours[i].Running)
	}
	return h
}

// newDay returns a day about which nothing is known.
func newDay() (d Day) {
	for q := range d.Value {
		d.Value[q], d.Sigma[q] = math.NaN(), math.NaN()
	}
	return d
}

// set writes a value with its own standard uncertainty.
func (d *Day) set(q Quantity, value, sigma float64) {
	if value == value && !math.IsInf(value, 0) {
		d.Value[q], d.Sigma[q] = value, sigma
	}
}

// day works out all quantities of a part.
func (s *summariser) day(p part) Day {
	d := newDay()
	d.Start = unixTime(p.start)
	for i := range p.hours {
		d.Hours += float64(p.hours[i].Running)
		d.n += int(p.hours[i].DP.N)
	}
	d.step = usualStep(p.hours)
	d.set(RunningHours, d.Hours, 0.5*math.Sqrt(d.Hours))
	s.levels(&d, p)
	s.dpOf(&d, p)
	s.readingOf(&d, p)
	s.passesOf(&d, p)
	s.rates(&d, p)
	s.hourlyRise(&d, p)
	s.header(&d, p)
	s.ratios(&d, p)
	s.beyond(&d, p)
	if p.passes != nil {
		d.n = int(p.passes.N)
	}
	return d
}

// weighted is a weighted mean with its standard error from the scatter of what was averaged.
type weighted struct{ w, wx, wxx, n float64 }

func (m *weighted) add(x, w float64) {
	if x == x && w > 0 {
		m.n++
		m.w += w
		m.wx += w * x
		m.wxx += w * x * x
	}
}

// value returns the mean and its standard error; NaN for none, and the error NaN for one.
func (m weighted) value() (mean, se float64) {
	if m.w == 0 {
		return math.NaN(), math.NaN()
	}
	mean = m.wx / m.w
	if m.n < 2 {
		return mean, math.NaN()
	}
	return mean, math.Sqrt(m.variance() / (m.n - 1))
}

// variance is that of what was averaged; NaN for none.
func (m weighted) variance() float64 {
	mean := m.wx / m.w
	return max(0, m.wxx/m.w-mean*mean)
}

// scatter is the standard deviation of what was averaged, and how unsure that is by how many they are.
func (m weighted) scatter() (sd, se float64) {
	sd = math.Sqrt(m.variance())
	return sd, sd / math.Sqrt(2*(m.n-1))
}

// levels averages the channels that need no working out.
func (s *summariser) levels(d *Day, p part) {
	for _, l := range [...]struct {
		q Quantity
		c Channel
	}{{FanCurrentLevel, FanCurrent}, {FanPowerLevel, FanPower}, {InletSPLevel, InletSP}, {DamperOpen, Damper},
		{EmissionLevel, Emission}, {HumidityLevel, Humidity}, {TemperatureMean, Temperature}, {BinFill, BinLevel}} {
		var m weighted
		for i := range p.hours {
			if st, ok := p.hours[i].Of(l.c); ok {
				m.add(float64(st.Mean), float64(st.N))
			}
		}
		mean, se := m.value()
		d.set(l.q, mean, se)
	}
	for i := len(p.hours) - 1; i >= 0; i-- { // a bin's level is what it is now, not its mean
		if st, ok := p.hours[i].Of(BinLevel); ok {
			d.set(BinFill, float64(st.Mean), float64(st.SD))
			break
		}
	}
	s.binRate(d, p)
}

// emptied is the fall of the bin's level from one hour to the next that only emptying makes, and binStep
// what the sensor tells apart (common practice, no source).
const (
	emptied = 0.08
	binStep = 0.02
)

// binRate is how fast the bin fills, from hour to hour, over the running hours between. A level rounded to a quarter of the bin
// stands for days and tells no more than that.
func (s *summariser) binRate(d *Day, p part) {
	last, rise, ran := math.NaN(), 0.0, 0.0
	for i := range p.hours {
		st, ok := p.hours[i].Of(BinLevel)
		if !ok {
			continue
		}
		if step := float64(st.Mean) - last; step > -emptied {
			rise += step
			ran += float64(p.hours[i].Running)
		}
		last = float64(st.Mean)
	}
	if ran >= 3 {
		d.set(BinRate, rise/ran, math.Sqrt2*math.Max(binStep, s.grain)/ran)
	}
}

// binGrain is the step to which the bin's level is rounded [1]; 0 where it is not.
func binGrain(hours []Hour) float64 {
	var low []float64
	for i := range hours {
		if st, ok := hours[i].Of(BinLevel); ok {
			low = append(low, float64(st.Min))
		}
	}
	return grainOf(low)
}

// headGrain is the step to which what tells the header's lowest pressure is rounded [Pa]; 0 where it is not.
func headGrain(hours []Hour) float64 {
	var v []float64
	for i := range hours {
		st, ok := hours[i].Of(HeaderLow)
		if !ok {
			st, ok = hours[i].Of(Header)
		}
		if ok {
			v = append(v, float64(st.Min), float64(st.Max))
		}
	}
	return grainOf(v)
}

// hourReading is the hour's mean of the channels a Reading holds.
func hourReading(h *Hour) Reading {
	r := noReading()
	for slot, c := range readingChannels {
		if st, ok := h.Of(c); ok {
			r[slot] = st.Mean
		}
	}
	return r
}

// dpOf works out the airflow and the running dP, as read and at design flow.
func (s *summariser) dpOf(d *Day, p part) {
	var flow, own, after weighted
	s.shape = s.shape[:0]
	raw := s.buf[:0]
	for i := range p.hours {
		h := &p.hours[i]
		w := float64(h.Running)
		if w == 0 && h.DP.N > 0 {
			w = 1e-3 // a first reading stands for no time yet
		}
		if w == 0 {
			continue
		}
		mean := hourReading(h)
		f := s.a.infer(&mean)
		flow.add(f.share, w)
		own.add(f.own, w)
		if after0 := mean.Of(AfterfilterDP); after0 == after0 {
			after.add(after0/(f.share*s.a.viscosity(&mean)), w)
		}
		if h.DP.N == 0 {
			continue
		}
		raw = append(raw, float64(h.DP.P50))
		s.shape = append(s.shape, s.hourShape(h, &mean, f, w))
	}
	s.buf = raw
	share, se := flow.value()
	width, _ := own.value()
	d.set(FlowShare, share, hypot(se, width))
	x, se := after.value()
	d.set(AfterfilterLevel, x, hypot(se, x*width))
	if len(s.shape) == 0 {
		return
	}
	low, high := pooledQuantile(s.shape, 0.1), pooledQuantile(s.shape, 0.9)
	d.shape = dayShape(s.shape, low, high)
	d.mid = d.shape.at[2]
	n := math.Sqrt(float64(len(s.shape)))
	d.midSD = 1.25 * 0.4 * (high - low) / n
	d.set(DPLow, low, hypot(low*width, 0.3*(high-low)/n))
	d.set(DPHigh, high, hypot(high*width, 0.3*(high-low)/n))
	d.set(DPRaw, quantileOf(raw, 0.5), spreadOf(raw)/math.Sqrt(float64(len(raw))))
}

// hypot adds widths by squares; NaN counts as nothing.
func hypot(a, b float64) float64 {
	if a != a {
		a = 0
	}
	if b != b {
		b = 0
	}
	return math.Hypot(a, b)
}

// hourShape is the distribution of the hour's dP at design flow; its lower part goes by the airflow
// that belongs to the low readings.
func (s *summariser) hourShape(h *Hour, mean *Reading, f inferred, w float64) shape {
	st, _ := h.Of(DP)
	if s.red != nil {
		return s.reducedShape(h, st, w)
	}
	kLow, _ := s.a.atDesign(&h.DP.Low, 1)
	kMean := 1 / (f.share * s.a.viscosity(mean))
	out := shape{weight: w, at: [len(knots)]float64{float64(st.Min) * kLow, float64(h.DP.P10) * kLow,
		float64(h.DP.P50) * kMean, float64(h.DP.P90) * kMean, float64(st.Max) * kMean}}
	out.rising()
	return out
}

// reducedShape is hourShape for filters never pulsed: all readings of the hour by one factor.
func (s *summariser) reducedShape(h *Hour, st Stat, w float64) shape {
	flow := h.Mean(Flow)
	if s.red.flowBy == FlowIndex.String() {
		flow = h.Mean(FlowIndex)
	}
	p := point{dp: 1, flow: flow, temp: h.Mean(Temperature), baro: h.Mean(Barometer), rh: h.Mean(Humidity)}
	k := math.Exp(s.red.level(&p))
	return shape{weight: w, at: [len(knots)]float64{float64(st.Min) * k, float64(h.DP.P10) * k, float64(h.DP.P50) * k,
		float64(h.DP.P90) * k, float64(st.Max) * k}}
}

// readingOf works out what the dP reading shows of itself.
func (s *summariser) readingOf(d *Day, p part) {
	var n, frozen, negative float64
	noise := s.buf[:0]
	for i := range p.hours {
		r := &p.hours[i].DP
		n += float64(r.N)
		frozen += float64(r.Frozen)
		negative += float64(r.Negative)
		if r.Noise == r.Noise {
			noise = append(noise, float64(r.Noise))
		}
	}
	if len(noise) == 0 {
		noise = s.betweenHours(p.hours, noise)
	}
	s.buf = noise
	if k := float64(len(noise)); k > 0 {
		mid := medianOf(noise)
		d.set(ReadingNoise, mid, spreadOf(noise)/math.Sqrt(k))
	}
	if n > 0 {
		share := func(q Quantity, k float64) { d.set(q, k/n, math.Sqrt((k+0.5)*(n-k+0.5)/(n+1))/(n+1)) }
		share(FrozenShare, frozen)
		share(NegativeShare, negative)
	}
	d.stopped(p.hours)
	d.fall(p.hours)
	d.band(p.hours)
	d.swing(p.hours)
	d.started(p.hours)
	d.span(p.hours)
}

// betweenHours is the scatter of the dP where rows come too slowly for one within the hour: from the
// second differences of the hours' means, one value for each.
func (s *summariser) betweenHours(hours []Hour, out []float64) []float64 {
	x1, x2 := math.NaN(), math.NaN()
	for i := range hours {
		st, ok := hours[i].Of(DP)
		if !ok {
			continue
		}
		x := float64(st.Mean)
		if d := math.Abs(x - 2*x1 + x2); d == d {
			out = append(out, d*curveToSigma)
		}
		x1, x2 = x, x1
	}
	if len(out) < 3 {
		return out[:0]
	}
	return out
}

// dayShape draws a day's hours together into one shape.
func dayShape(hours []shape, low, high float64) shape {
	out := shape{at: [len(knots)]float64{math.Inf(1), low, pooledQuantile(hours, 0.5), high, math.Inf(-1)}}
	for i := range hours {
		out.weight += hours[i].weight
		out.at[0], out.at[4] = min(out.at[0], hours[i].at[0]), max(out.at[4], hours[i].at[4])
	}
	return out
}
