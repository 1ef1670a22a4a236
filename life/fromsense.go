package life

import (
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// FromSense gathers what a forecast needs from the reduced record, its features and the collector's
// file; without the reduced record (nil) the starts after a standstill are not seen. The dP that
// counts is, for pulsed filters, the low end of a week's running at design flow, as the limit is
// defined; while a controller holds that, what the pulses of a cleaning tell, or what the filters
// start with after downtime cleaning; for others the level itself. What none of them says stays open.
func FromSense(h *sense.History, f *sense.Features, c *collector.Collector) Input {
	in := Input{
		At: f.At, CleanDP: c.Filters.CleanDP, MaxDP: c.Filters.MaxDP,
		HoursPerWeek: float64(c.Duty.RunPerWeek) / 3600,
		FlowAssumed:  f.FlowAssumed(),
		Risk:         unit.Share(known(float64(c.Cost.OrderRisk))),
		Air:          Gauge{Limit: math.NaN(), New: math.NaN()},
		Afterfilter:  Gauge{Limit: float64(c.AfterFilter.MaxDP), New: float64(c.AfterFilter.CleanDP)},
	}
	in.FlowLimit, in.FlowDoubt = flowLimit(f, c)
	in.FlowHeld = flowHeld(f)
	if d := float64(c.Cost.LeadTime); d > 0 {
		in.LeadTime = time.Duration(d) * time.Second
	}
	var rests []rest
	if h != nil {
		rests = restsOf(h, f.At)
	}
	var now *hold // of the last life
	for i := range f.Lives {
		l := &f.Lives[i]
		if in.FlowAssumed {
			l = tended(l, careOf(f.Changes, l))
		}
		now = holdOf(l, c, f.Changes)
		in.Lives = append(in.Lives, recordOf(l, now, rests, c))
		if !l.Ended {
			in.Pulsed, in.Shared = l.Pulsed, l.Shared
		}
	}
	if s := supplyOf(c); s != nil && len(f.Lives) > 0 {
		in.Air = Gauge{Points: s.pulseAir(&f.Lives[len(f.Lives)-1]), Limit: s.limit, New: math.NaN()}
		in.AirLevel = s.level(now)
	}
	in.Afterfilter.Points = afterfilter(f)
	in.Afterfilter.Usual, in.Afterfilter.Age = afterfilterUsual(f, c)
	return in
}

// recordOf takes over one life, with what shows its ageing; h is what holds its dP, nil where nothing does.
func recordOf(l *sense.Life, h *hold, rests []rest, c *collector.Collector) Record {
	downtime := c.Cleaning.DowntimeCycles > 0
	if h != nil {
		return h.record(rests, downtime)
	}
	if l.Pulsed {
		if r, ok := restRecord(l, rests, downtime); ok {
			return r
		}
	}
	return record(l)
}

// record takes over one life.
func record(l *sense.Life) Record {
	r := Record{StartKnown: l.StartKnown, Ended: l.Ended}
	low := 0
	for _, p := range l.Points {
		if p.Low > 0 {
			low++
		}
	}
	useLow := l.Pulsed && 5*low >= 4*len(l.Points)
	for i := range l.Points {
		pt := pointOf(&l.Points[i])
		if useLow {
			pt.DP = pressure(l.Points[i].Low)
		}
		r.Points = append(r.Points, pt)
	}
	return r
}

// pointOf takes over one point of a life, with the dP just after cleaning.
func pointOf(p *sense.LifePoint) Point {
	return Point{At: p.At, Hours: p.Hours, DP: pressure(p.DP), Sigma: pressure(p.Sigma), Dust: p.Dust}
}

func pressure(pa float64) unit.Pressure { return unit.Pressure(pa) }

// afterfilter strings the after-filter's readings of all lives together; it outlives the filters. A
// fall to less than 0.7 of its recent level is a new after-filter, and the count begins anew.
func afterfilter(f *sense.Features) []Mark {
	var out []Mark
	var before, born float64
	for i := range f.Lives {
		l := &f.Lives[i]
		for _, p := range l.Points {
			if !(p.Afterfilter > 0) {
				continue
			}
			if n := len(out); n >= 5 && p.Afterfilter < 0.7*recent(out[n-5:]) {
				out, born = out[:0], before+p.Hours
			}
			out = append(out, Mark{p.At, before + p.Hours - born, p.Afterfilter})
		}
		if n := len(l.Points); n > 0 {
			before += l.Points[n-1].Hours
		}
	}
	return out
}

// afterfilterMonth is what an after-filter gains in a month.
// Source: DESIGN.md section 3, facts of the trade (common practice).
const afterfilterMonth = 0.25 * unit.InchWater

// afterfilterUsual is the usual gain in a running hour and the running hours since the record, or the
// filters, began.
func afterfilterUsual(f *sense.Features, c *collector.Collector) (gain, age float64) {
	const month = 730.5 // h
	share := float64(c.Duty.RunPerWeek) / 3600 / 168
	if !(share > 0) {
		share = 1
	}
	from := f.From
	if in := c.Filters.Installed; !in.IsZero() && in.Before(from) {
		from = in
	}
	return afterfilterMonth / (month * share), math.Max(f.At.Sub(from).Hours(), 0) * share
}

func recent(ms []Mark) float64 {
	v := make([]float64, len(ms))
	for i, m := range ms {
		v[i] = m.Value
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// fanEfficiency is that of an industrial fan with its drive where the file says nothing: common
// practice, no source.
const fanEfficiency = 0.6

// CostsOf gathers costs from the collector file; a price that is not given counts as nothing.
// Where a damper holds the airflow it takes up what the filters do not, and their dP costs no fan energy.
// A change in a hurry is taken to need twice the labour: common practice, no source.
func CostsOf(c *collector.Collector, air Gauge) Costs {
	labour := known(c.Cost.LabourPer) * known(float64(c.Cost.ChangeTime))
	out := Costs{Planned: known(c.Filters.PriceEach)*float64(c.Filters.Count()) + labour}
	out.Failure = out.Planned + labour
	out.LostPerHour = known(c.Cost.LostPer) * 3600
	if len(c.Damper.Points) == 0 {
		e := fanEfficiency
		if m := float64(c.Fan.MotorEfficiency); m > 0 {
			e *= m
		}
		out.FanPerPaH = known(c.Cost.ElectricityPer) * float64(c.Duty.Flow) / e * 3600
	}
	if n := len(air.Points); n >= 5 {
		out.AirPerHour = known(c.Cost.AirPer) * recent(air.Points[n-5:]) * 3600
	}
	return out
}

// known turns an unknown price into nothing.
func known(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
