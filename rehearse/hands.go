package rehearse

import (
	"errors"
	"math"

	"dustwright/collector"
	"dustwright/filter"
	"dustwright/unit"
)

// What hands do to the machine.

// note writes into the truth what was done.
func (s *sim) note(what EventKind, value float64) {
	s.truth.Work = append(s.truth.Work, Work{At: s.clock(s.t), What: what, Value: unit.Share(value)})
}

func (s *sim) moveDamper(open float64) {
	s.damper = open
	s.note(MoveDamper, open)
}

// trim measures the airflow, with the error of a careful traverse, and re-trims the damper when it is more than 3 % off.
// What is brought to design flow is the mean of the last day: the dP swings between its set points, and a damper trimmed at
// either end would be wrong for the rest of the day. Nobody touches the damper while a fault has moved it unnoticed.
func (s *sim) trim() {
	s.trimAt = s.t + s.o.TrimEvery.Seconds()
	usual := s.now.q
	if s.book.usual > 0 {
		usual = s.book.usual
	}
	measured := usual * (1 + 0.015*s.dice.NormFloat64())
	if s.fx.damperMoved || math.Abs(measured/s.design-1) < 0.03 || !s.path.DamperKnown() {
		return
	}
	if open := s.trimmed(s.design * s.now.q / usual); math.Abs(open-s.damper) > 0.005 {
		s.moveDamper(open)
	}
}

// trimmed is the damper position for an airflow [m3/s] with the filters as they are, to a per cent; fully open where it
// can't be had.
func (s *sim) trimmed(flow float64) float64 {
	if !s.path.DamperKnown() {
		return 1
	}
	x := flow / s.bank.Conductance()
	cond := s.path.Conditions()
	cond.FilterDP = unit.Pressure(x)
	if s.after.Half > 0 {
		cond.AfterFilterDP = s.after.DP(unit.Flow(flow))
	}
	cond.Speed = unit.Speed(s.side.speed)
	lo, hi := 0.0, 1.0
	for range 30 {
		mid := (lo + hi) / 2
		cond.Damper = unit.Share(mid)
		o, err := s.path.Point(cond)
		var none *collector.NoPoint
		if errors.As(err, &none) && none.Beyond || err == nil && float64(o.Flow) >= flow {
			hi = mid
		} else {
			lo = mid
		}
	}
	return math.Round(hi*100) / 100
}

// changeFilters puts new primary filters in and trims the damper down to them.
func (s *sim) changeFilters() {
	s.book.change(s)
	for i, r := range s.bank.Rows {
		s.bank.Rows[i] = filter.Row{Area: r.Area, Media: s.ph.Law.Media}
	}
	s.changeAt = math.Inf(1)
	s.note(ChangeFilters, 0)
	if s.o.TrimEvery > 0 {
		s.moveDamper(s.trimmed(s.design))
		s.trimAt = s.t + min(firstTrim, s.o.TrimEvery.Seconds())
	}
	s.refresh()
}

// binShare is how full the bin is; NaN where its volume is not known.
func (s *sim) binShare() float64 {
	return s.binMass / float64(s.ph.BulkRho) / float64(s.c.Bin.Volume)
}

// lookAtBin empties the bin before it passes two thirds, as hands judge it; not while the fault is that nobody does.
func (s *sim) lookAtBin() {
	if s.fx.binBack == 0 && s.binShare() > 0.35+0.25*s.dice.Float64() {
		s.emptyBin()
	}
}

func (s *sim) emptyBin() {
	s.binTaken += s.binMass
	s.book.taken += s.binMass
	s.binMass = 0
	s.note(EmptyBin, 0)
}
