package plant

import (
	"slices"
	"strings"
	"time"

	"dustwright/judge"
	"dustwright/life"
	"dustwright/sense"
)

// life gives what is left of the filters. When a likely cause raises the dP and can be put right, the
// life once it is put right stands beside it. It returns the lives of the collector's own filters.
func (j *Judgement) life(of JudgeInput, f *sense.Features, r judge.Result, zone *time.Location) []life.Record {
	c := of.Collector
	in := life.FromSense(of.History, f, c)
	own := in.Lives
	in.Lives = slices.Concat(of.Sisters, own)
	if raisesDP(r.Causes[0].Cause) && r.Standing != judge.Steady {
		in.FaultSince, in.FaultThere = r.SinceLow, r.SinceTop
	}
	out, cheapest, priced := life.Plan(in, life.CostsOf(c, in.Air))
	for _, m := range out.Missing {
		j.lack(m.What, m.Costs)
	}
	if !out.Known {
		j.lack("life", "no date can be given for the filters yet")
		return own
	}
	date := func(t time.Time) Date {
		if t.IsZero() {
			return Date{}
		}
		return Date{Time: t.In(zone), Fine: out.Fine}
	}
	j.Life = &Life{P10: date(out.P10), P50: date(out.P50), P90: date(out.P90), Limit: string(out.Limit),
		OrderBy: date(out.OrderBy), Basis: strings.Join(out.Basis, " ")}
	if out.Cured != nil {
		j.Life.Cured = &Cured{date(out.Cured.P10), date(out.Cured.P50), date(out.Cured.P90)}
	}
	for _, p := range out.Fan {
		j.Life.Fan = append(j.Life.Fan, FanPoint{p.At.In(zone), rounded(float64(p.P10), 4), rounded(float64(p.P50), 4), rounded(float64(p.P90), 4)})
	}
	if priced {
		j.Life.cheapest(cheapest, c.Cost.Currency, date)
	}
	return own
}

// raisesDP reports whether a cause raises the drag for a reason that can be put right without new filters.
func raisesDP(c judge.Cause) bool {
	switch c {
	case judge.CakeDamp, judge.CleaningOff, judge.HeaderPressureLow, judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen,
		judge.BinOverfull, judge.DustLoadHeavy, judge.AirflowHigh:
		return true
	}
	return false
}

// cheapest takes over the date of least cost.
func (l *Life) cheapest(w life.Change, currency string, date func(time.Time) Date) {
	l.Cheapest = &Cheapest{Date: date(w.Date), AtLimit: w.AtLimit, PerWeek: rounded(w.PerWeek, 3), Currency: currency}
	for _, x := range w.Waiting {
		l.Cheapest.Waiting = append(l.Cheapest.Waiting, Waiting{x.Weeks, rounded(x.Extra, 3)})
	}
}
