package sense

import (
	"math"
	"sort"
	"time"

	"dustwright/collector"
)

// lifeSure is the confidence from which a filter change that nobody logged begins a new life.
const lifeSure = 0.5

// Likely reports that the change rather happened than not: somebody logged it, or it is told by a half or more.
func (c *Change) Likely() bool { return c.Logged || c.Confidence >= lifeSure }

// renewals returns the filter changes that count: logged, or found with a confidence of a half.
func renewals(changes []Change) []Change {
	var out []Change
	for _, c := range changes {
		if c.Kind == FilterChange && c.Likely() {
			out = append(out, c)
		}
	}
	return out
}

// livesOf cuts the record into filter lives and writes their points.
func (v *view) livesOf(changes []Change, days []Day, s *summariser) []Life {
	if len(v.hours) == 0 {
		return nil
	}
	first := unixTime(v.hours[0].Start).In(v.h.zone())
	life := Life{Start: first, Pulsed: s.red == nil}
	if in := v.c.Filters.Installed; !in.IsZero() && in.Sub(first).Abs() < 2*24*time.Hour {
		life.StartKnown = true
	}
	var lives []Life
	for _, c := range renewals(changes) {
		if !c.At.After(first) {
			life.StartKnown = true
			continue
		}
		life.End, life.Ended = c.At, true
		lives = append(lives, life)
		life = Life{Start: c.At, StartKnown: true, Pulsed: s.red == nil}
	}
	last := &v.hours[len(v.hours)-1]
	life.End = unixTime(last.Start + int64(last.Last)).In(v.h.zone())
	lives = append(lives, life)
	for i := range lives {
		v.fill(&lives[i], days, s)
	}
	return lives
}

// fill writes the points of a life: days, or finer where the life is short and never pulsed.
func (v *view) fill(l *Life, days []Day, s *summariser) {
	if s.red != nil && l.End.Sub(l.Start) < finestLife {
		v.fillFine(l, s)
	} else {
		v.fillDays(l, days, s)
	}
	if s.red == nil || s.red.flowBy == "" {
		r := hourReading(&v.hours[len(v.hours)-1])
		f := s.a.infer(&r)
		l.Shared = f.scale / f.share
	}
}

// finestLife is the length of life below which days are too coarse.
const finestLife = 20 * 24 * time.Hour

// dustRate is the dust that each m2 of filter takes up in an hour at design flow [kg/m2]; NaN unknown.
func dustRate(c *collector.Collector) float64 {
	if c.Duty.Loading > 0 && c.Filters.Area() > 0 {
		return float64(c.Duty.Loading) * float64(c.Duty.Flow) / float64(c.Filters.Area()) * 3600
	}
	return math.NaN()
}

// fillDays makes a point of each day of running that lies wholly in the life.
func (v *view) fillDays(l *Life, days []Day, s *summariser) {
	var hours, dust, pulses float64
	rate := dustRate(v.c)
	if v.h.Seen>>Pulse&1 == 0 {
		pulses = math.NaN()
	}
	for i := range days {
		d := &days[i]
		if d.Start.Add(24*time.Hour).Before(l.Start) || !d.Start.Before(l.End) {
			continue
		}
		share := 1.0
		if d.Start.Before(l.Start) {
			share = 1 - l.Start.Sub(d.Start).Hours()/24
		}
		if d.Hours > 0 { // of a day on which the fan stood the airflow is not known, and need not be
			hours += d.Hours * share
			dust += rate * d.Hours * share * d.Value[FlowShare]
		}
		if n := d.Value[PulsesPerHour]; n == n {
			pulses += n * d.Hours * share
		}
		if d.Start.Before(l.Start) || l.Ended && d.Start.Add(24*time.Hour).After(l.End) {
			continue // a day of two lives says nothing of either
		}
		p := dayPoint(d, s)
		if p.DP != p.DP {
			continue
		}
		p.Hours, p.Dust, p.Pulses = hours, dust, pulses
		p.Days = p.At.Sub(l.Start).Hours() / 24
		p.Low = weekLow(days[max(0, i-6):i+1], l.Start)
		l.Points = append(l.Points, p)
	}
}

// dayPoint is the day as a point of a life, without what adds up.
func dayPoint(d *Day, s *summariser) LifePoint {
	p := LifePoint{At: d.Start.Add(12 * time.Hour), Flow: d.Value[FlowShare], FlowSigma: d.Sigma[FlowShare],
		PulseRate: d.Value[PulsesPerHour], Afterfilter: d.Value[AfterfilterLevel], Damper: d.Value[DamperOpen],
		PulsesPerCycle: d.Value[PulsesPerCycle], PulsesSigma: d.Sigma[PulsesPerCycle], Cleaning: math.NaN(), Before: d.Value[DragBefore] / s.perV, Rise: d.Value[RiseRate], High: d.Value[DPHigh], N: d.n}
	if s.cyc == ByPulse || s.cyc == ByFlag {
		p.Cleaning = d.Value[CleaningShare]
	}
	p.DP, p.Sigma = d.Value[DragAfter]/s.perV, d.Sigma[DragAfter]/s.perV
	if s.red != nil {
		p.DP, p.Sigma = d.mid, d.midSD
	} else if p.DP != p.DP {
		p.DP, p.Sigma = d.Value[DPLow], hypot(d.Sigma[DPLow], 0.1*d.Value[DPLow])
	}
	return p
}

// weekLow is the 10th percentile of a week's running dP at design flow, over the days that lie wholly
// in the life.
func weekLow(days []Day, from time.Time) float64 {
	var shapes []shape
	for i := range days {
		if d := &days[i]; d.shape.weight > 0 && !d.Start.Before(from) {
			shapes = append(shapes, d.shape)
		}
	}
	return pooledQuantile(shapes, 0.1)
}

// fineLifePoints is how many points a short life is given.
const fineLifePoints = 400

// fillFine makes points of the record's hours, or of its slots where it has them.
func (v *view) fillFine(l *Life, s *summariser) {
	ps := s.points
	lo := sort.Search(len(ps), func(i int) bool { return ps[i].t >= l.Start.Unix() })
	hi := len(ps)
	if l.Ended {
		hi = sort.Search(len(ps), func(i int) bool { return ps[i].t >= l.End.Unix() })
	}
	ps = ps[lo:hi]
	size := max(1, len(ps)/fineLifePoints)
	rate := dustRate(v.c)
	var hours, dust float64
	for i := 0; i < len(ps); i += size {
		group := ps[i:min(len(ps), i+size)]
		p := LifePoint{PulseRate: math.NaN(), Pulses: math.NaN(), Afterfilter: math.NaN(), Damper: math.NaN(),
			PulsesPerCycle: math.NaN(), PulsesSigma: math.NaN(), Cleaning: math.NaN(), Before: math.NaN(), Rise: math.NaN(), Flow: math.NaN(), FlowSigma: math.NaN()}
		z := make([]float64, 0, size)
		var flow weighted
		for k := range group {
			g := &group[k]
			z = append(z, g.z)
			flow.add(g.flow/s.red.f0, g.run)
			hours += g.run
			f := g.flow / s.red.f0
			if f != f {
				f = 1
			}
			dust += rate * g.run * f
			p.N += g.n
		}
		p.Flow, p.FlowSigma = flow.value()
		mid := medianOf(append([]float64(nil), z...))
		p.At = unixTime(group[len(group)/2].t).In(v.h.zone())
		p.DP = math.Exp(mid)
		p.Sigma = p.DP * max(spreadOf(z), s.scatter) / math.Sqrt(float64(len(group)))
		p.Low, p.High = p.DP, p.DP
		p.Hours, p.Dust, p.Days = hours, dust, p.At.Sub(l.Start).Hours()/24
		if p.DP == p.DP {
			l.Points = append(l.Points, p)
		}
	}
}
