package sense

import (
	"math"
	"sort"
	"time"

	"gonum.org/v1/gonum/stat"

	"dustwright/solve"
)

// traits says how a quantity behaves over a filter life.
type traits struct {
	renews bool // new filters bring it back: its normal begins with the present life
	ages   bool // it moves as the filters age: an onset is sought against a slope, not a level
}

// traitsOf is the table of traits.
func traitsOf(q Quantity) traits {
	switch q {
	case DragAfter, DragBefore, DPLow, DPHigh, DPRaw, Recovered, DropPerCycle, DropPerPulse, RiseRate, RiseBend,
		CyclesPerHour, PulsesPerHour, PulsesPerCycle, CleaningShare, Stop, HourlyRise, DPFloor, DPCeiling, DPStart, DPSpan:
		return traits{renews: true, ages: true}
	case AfterfilterLevel, AfterBeyond, FlowShare, FanCurrentLevel, FanPowerLevel, InletSPLevel, TemperatureMean, HumidityLevel, BinFill:
		return traits{ages: true}
	}
	return traits{}
}

// The normal is taken from at most normalDays days, not counting the first seasonDays of a filter
// life while the filters season; below normalLeast days there is none.
const (
	normalDays  = 45
	normalLeast = 3
	seasonDays  = 3
)

// moves reports that a quantity moves with the damper and the set points: its normal begins anew when
// one of them is moved.
func (q Quantity) moves() bool {
	switch q {
	case HeaderLevel, HeaderTrend, HeaderLacks, HeaderNoise, HeaderBehind, HeaderSwing, HeaderLowest, HeaderStood,
		HeaderSags, HeaderEmptied, ReadingNoise, FrozenShare, NegativeShare, StoppedDP, StoppedApart, FallTime,
		EmissionLevel, BinFill, HumidityLevel, TemperatureMean, RunningHours, DamperOpen, InletSPRatio, FanCurrentRatio,
		FanPowerRatio:
		return false
	}
	return true
}

// carried reports that a quantity is carried to design flow, or a ratio of such, so that it does not go with the damper: who
// opens it because the filters take the air must not make what they have become the normal.
func (q Quantity) carried() bool {
	switch q {
	case DragAfter, RiseRate, HourlyRise, DropPerPulse, Recovered, AfterfilterLevel, RiseBend:
		return true
	}
	return false
}

// baseline finds the normal, the trend and the onset of a quantity, from the days before the recent
// window. lifeFrom is the first day of the present filter life, before the life before it (nil none).
type baseline struct {
	days       []Day
	lifeFrom   int
	lifeKnown  bool
	movedFrom  int // first day after the last move of damper or high set point; 0 none
	highFrom   int // the same of the high set point alone
	windowFrom time.Time
	sparse     bool // days of few readings, as in a log kept by hand
}

// baselineOf is the baseline of a record whose days and changes are known, for a recent window that begins at from [unix s], with
// rows that now come every so often [s].
func baselineOf(f *Features, from int64, step float64) baseline {
	b := baseline{days: f.Days, windowFrom: unixTime(from), lifeKnown: f.Lives[len(f.Lives)-1].StartKnown, sparse: f.Sampling.Seconds() >= sparse}
	for b.lifeFrom < len(f.Days)-1 && f.Days[b.lifeFrom].Start.Before(f.Since) {
		b.lifeFrom++
	}
	b.movedFrom, b.highFrom = movedDay(f, DamperMove, HighMoved), movedDay(f, HighMoved)
	b.days = paced(b.days, step)
	return b
}

// measure fills in everything but Now.
func (b *baseline) measure(q Quantity, m *Measure) {
	tr := traitsOf(q)
	from := 0
	if tr.renews {
		from = b.lifeFrom
	}
	switch {
	case q.carried():
		from = max(from, b.highFrom)
	case q.moves():
		from = max(from, b.movedFrom)
	}
	d := series(b.days, q, from)
	m.Spread = math.NaN()
	d.steep = farPace * q.pace() * math.Abs(medianOf(append([]float64(nil), d.x...)))
	m.Onset = onset(d, tr.ages)
	until := b.windowFrom
	if m.Onset.Found && m.Onset.From.Before(until) {
		until = m.Onset.From
	}
	skip := 0.0
	if tr.renews && b.lifeKnown && from == b.lifeFrom && len(d.x) > 5*seasonDays {
		skip = seasonDays
	}
	before := func(at time.Time) int { return sort.Search(len(d.w), func(i int) bool { return !d.w[i].Before(at) }) }
	n := before(until)
	if n < normalLeast && m.Onset.Found { // an early onset may be told less surely than the days before it
		n = before(m.Onset.At)
	}
	if n < normalLeast { // an onset right at the beginning leaves no normal: what has been since stands in
		n = before(b.windowFrom)
	}
	first := max(0, n-normalDays)
	for first < n && d.t[first] < skip {
		first++
	}
	ahead := math.NaN()
	if tr.ages && len(d.t) > 0 {
		ahead = d.t[len(d.t)-1]
	}
	b.normal(m, d.cut(first, n), ahead, q.pace())
	if own := medianOf(append([]float64(nil), d.s...)); m.Normal.Known() && q.counted(own) {
		p := stat.Mean(d.x[first:n], nil)
		m.Spread = math.Max(own, math.Sqrt(p*(1-p)))
		m.Normal.Value, m.Normal.Sigma = p, m.Spread/math.Sqrt(float64(n-first))
	}
	if !m.Normal.Known() && tr.renews && b.lifeFrom > 0 {
		b.borrow(q, m)
	}
	m.Trend = trendOf(d)
}

// cut returns days from..to of the series.
func (d daily) cut(from, to int) daily {
	return daily{t: d.t[from:to], x: d.x[from:to], s: d.s[from:to], w: d.w[from:to]}
}

// slopeDays is how many days make a slope worth carrying on.
const slopeDays = 10

// What moves with age does so by about filterPace of itself a day where it is the filters', otherwise by otherPace. Common
// practice, no source.
const (
	filterPace = 0.003
	ratePace   = 0.006 // rates go with the dust that comes
	otherPace  = 0.001
	afterPace  = 0.005 // an after-filter is never cleaned
)

// agesOn is how far the coming days may age otherwise than coarse readings before them, as a share of the usual pace: such
// readings show a slope that looks exact. Common practice, no source.
const agesOn = 1.0 / 3

// farPace is how many times that a quantity ages at most: what moves faster came up. Common practice, no source.
const farPace = 4

// pace is what a day of age moves a quantity by, as a share of it.
func (q Quantity) pace() float64 {
	switch q {
	case Recovered, DropPerCycle, DropPerPulse, RiseRate, RiseBend, CyclesPerHour, PulsesPerHour, PulsesPerCycle, CleaningShare, HourlyRise:
		return ratePace
	case AfterfilterLevel, AfterBeyond:
		return afterPace
	}
	if traitsOf(q).renews {
		return filterPace
	}
	return otherPace
}

// carriedOn is where a course stands at the day ahead, and how unsure that is: a slope is believed as far as the days tell it
// more surely than how such a quantity ages by pace [per day] is known, which stands in where they tell none.
func carriedOn(d daily, tr solve.Trend, ahead, pace float64) (value, drift float64) {
	mid, level := solve.Median(d.t), medianOf(append([]float64(nil), d.x...))
	far, usual := ahead-mid, pace*math.Abs(level)
	se := (tr.High - tr.Low) / (2 * 1.96)
	width := math.Hypot(usual, se)
	if len(d.x) < slopeDays || math.IsInf(se, 0) || width == 0 {
		return level, usual * far
	}
	if se == 0 {
		return level + tr.Slope*far, agesOn * usual * far
	}
	trust := usual / width
	return level + trust*trust*tr.Slope*far, trust * se * far
}

// normal writes centre and spread of the days given. ahead is the day to which the slope of a quantity
// that ages is carried on, pace how fast such a one usually does; NaN carries nothing on.
func (b *baseline) normal(m *Measure, d daily, ahead, pace float64) {
	if len(d.x) < normalLeast {
		m.Normal = Unknown("fewer than three earlier days to compare with")
		return
	}
	value, drift := medianOf(append([]float64(nil), d.x...)), 0.0
	rest := append([]float64(nil), d.x...)
	tr, err := solve.TheilSen(d.t, d.x)
	if err == nil && len(d.x) >= 6 {
		for i := range rest {
			rest[i] -= tr.At(d.t[i])
		}
	}
	if err == nil && ahead == ahead {
		value, drift = carriedOn(d, tr, ahead, pace)
	}
	m.Spread = math.Max(spreadOf(rest), grainOf(d.x)/math.Sqrt(12))
	if own := medianOf(append([]float64(nil), d.s...)); !(m.Spread >= own) && own == own && !math.IsInf(own, 0) {
		m.Spread = own // days can't be more alike than each is known
	}
	// The median of n normal values has a standard error of 1.25 sigma over root n.
	m.Normal = Estimate{Value: value, Sigma: math.Hypot(1.25*m.Spread/math.Sqrt(float64(len(d.x))), drift), N: len(d.x)}
	if b.sparse {
		m.Spread = math.Max(m.Spread, farSpread(rest))
	}
}

// farSpread is the standard deviation by how far one in twenty lies off the middle. A reading a day of a saw-tooth that dwells
// low, or of a gauge now and then read too early, strays farther than most days tell.
func farSpread(rest []float64) float64 {
	mid := medianOf(append([]float64(nil), rest...))
	off := make([]float64, len(rest))
	for i, x := range rest {
		off[i] = math.Abs(x - mid)
	}
	return quantileOf(off, 0.95) / 1.96
}

// byHours reports that a day's value is a mean, of logs too, or a median of its hours' and nothing else.
func (q Quantity) byHours() bool {
	switch q {
	case FlowShare, FanCurrentLevel, FanPowerLevel, InletSPLevel, InletSPRatio, FanCurrentRatio, FanPowerRatio, AfterfilterLevel,
		AirBeyond, SuctionBeyond, MotorBeyond, DuctBeyond, LoadBeyond, DrawBeyond, AfterBeyond, DPSpan:
		return true
	}
	return false
}

// usualWidth is what some running hours leave of a quantity's uncertainty while nothing is wrong, at least its scatter
// from day to day; +Inf where too few days tell. Hours that differ more than they used to are part of what changed (a
// hatch that swings open and shut): they must not widen what they are held against.
func (b *baseline) usualWidth(q Quantity, m *Measure, hours float64) float64 {
	until := b.windowFrom
	if m.Onset.Found && m.Onset.From.Before(until) {
		until = m.Onset.From
	}
	var w []float64
	for i := range b.days {
		d := &b.days[i]
		if s := d.Sigma[q]; d.Start.Before(until) && d.Hours > 0 && s > 0 {
			w = append(w, s*math.Sqrt(d.Hours))
		}
	}
	if len(w) < normalLeast || !(hours > 0) || math.IsNaN(m.Spread) {
		return math.Inf(1)
	}
	return math.Max(medianOf(w)/math.Sqrt(hours), m.Spread)
}

// borrow takes the normal from the filters before, where the present ones are too new.
func (b *baseline) borrow(q Quantity, m *Measure) {
	d := series(b.days[:b.lifeFrom], q, 0)
	b.normal(m, d.cut(max(0, len(d.x)-normalDays), len(d.x)), math.NaN(), 0)
	if m.Normal.Known() {
		m.Normal.Missing = "these filters are too new for a normal of their own: that of the filters before them stands in"
		m.Normal.Sigma = max(m.Normal.Sigma, 0.2*math.Abs(m.Normal.Value))
	}
}

// trendOf is the slope of the last days, robust against single ones.
func trendOf(d daily) Estimate {
	first := max(0, len(d.x)-normalDays)
	if len(d.x)-first < 4 {
		return Unknown("fewer than four days")
	}
	tr, err := solve.TheilSen(d.t[first:], d.x[first:])
	if err != nil {
		return Unknown("fewer than four days")
	}
	return Estimate{Value: tr.Slope, Sigma: (tr.High - tr.Low) / (2 * 1.96), N: tr.N}
}
