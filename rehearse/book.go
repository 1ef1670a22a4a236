package rehearse

import (
	"math"
	"time"

	"dustwright/header"
	"dustwright/unit"
)

// book keeps the accounts of a run: totals, days, and the limits that end a life. SI.
type book struct {
	dustIn, dustOut, dustBin, taken   float64
	cakeStart, cakeGone               float64 // dust on the filters at the start, and on filters that were taken out
	airValves, airSupplied, airLeaked float64
	tankStart, tankEnd                float64
	electric, shaft, given, lost      float64 // energy: into the motor, into the fan, of the air from the fan, and what the parts took [J]
	ran, flow, short                  float64 // time with the fan on [s], air moved [m3], time on below shortFlow of design [s]
	lowest                            float64 // flow [m3/s]
	pulses                            int

	day      dayBook
	usual    float64 // mean airflow of the last day on which the fan ran for a while [m3/s]; 0 none yet
	week     weekBook
	flat     int // running days in a row on which not even the open damper gave the flow
	flatFrom float64

	lifeStart float64
	limit     string
	limitAt   float64
	done      bool
}

// dayBook gathers one day.
type dayBook struct {
	index                        int
	ran, flow, xf, dust, air     float64
	lowFlow, lowXf, highXf, head float64
	pulses                       int
}

// weekBook gathers one week of running: how long the filters' dP at design flow stood where.
type weekBook struct {
	index    int
	ran, air float64
	bins     [1600]float32 // time at binWidth steps [s]
}

const binWidth = 5.0 // Pa

// shortFlow is the share of design flow below which air is missing: 95 %, as for the end of a life (DESIGN.md "Life").
const shortFlow = 0.95

func (b *book) begin(s *sim) {
	b.cakeStart = float64(s.bank.CakeMass())
	b.tankStart = airMass(s.air)
	b.lowest = math.Inf(1)
	b.newDay(0)
	b.limitAt = math.NaN()
}

func airMass(a *pulseAir) float64 {
	return float64(a.state.P) * float64(a.tank.Volume) / (unit.GasConstantDryAir * float64(a.state.T))
}

func (b *book) newDay(i int) {
	b.day = dayBook{index: i, lowFlow: math.Inf(1), lowXf: math.Inf(1), head: math.Inf(1)}
}

// step books a step of dt that ended now.
func (b *book) step(s *sim, dt float64, before *point) {
	now := &s.now
	mid := point{xf: (before.xf + now.xf) / 2, x: (before.x + now.x) / 2, q: (before.q + now.q) / 2, dp: (before.dp + now.dp) / 2,
		after: (before.after + now.after) / 2}
	q, xf := mid.q, mid.xf
	b.ran += dt
	b.flow += q * dt
	if q < shortFlow*s.design {
		b.short += dt
	}
	shaft := s.shaft(mid.x)
	b.shaft += shaft * dt
	b.electric += s.motor.electric(shaft) * dt
	given, lost := s.airPower(&mid)
	b.given += given * dt
	b.lost += lost * dt
	b.lowest = min(b.lowest, now.q)
	d := &b.day
	d.ran, d.flow, d.xf = d.ran+dt, d.flow+q*dt, d.xf+xf*dt
	d.lowFlow, d.lowXf, d.highXf = min(d.lowFlow, now.q), min(d.lowXf, xf), max(d.highXf, xf)
	w := &b.week
	w.ran += dt
	i := min(max(int(xf/binWidth), 0), len(w.bins)-1)
	w.bins[i] += float32(dt)
}

// shaft is the fan's shaft power for filters that lose x at design flow [W]; NaN where it is not known.
func (s *sim) shaft(x float64) float64 { return s.way.shaft(x) * s.weather.rho }

// airPower is what the fan gives to the air by its own curve, and what the parts of the way take [W]: the two must agree.
func (s *sim) airPower(p *point) (given, lost float64) {
	if p.q == 0 {
		return 0, 0
	}
	rho := s.weather.rho
	lost = ((s.way.duct+s.way.damper)*rho*p.q*p.q + p.dp + p.after) * p.q
	dp, err := s.curve.Pressure(unit.Flow(p.q), unit.Density(s.weather.refRho*rho), unit.Speed(s.way.speed))
	if err != nil {
		return lost, lost // outside the curve: strained says so
	}
	return float64(dp) * s.way.fanShare * p.q, lost
}

// pulse books one pulse.
func (b *book) pulse(s *sim, p *header.Pulse, supplied, leaked float64) {
	b.pulses++
	b.day.pulses++
	b.airValves += float64(p.Air)
	b.airSupplied += float64(p.Supplied) + supplied
	b.airLeaked += float64(p.Leaked) + leaked
	b.day.air += float64(p.Air)
	if s.running {
		b.week.air += float64(p.Air)
	}
	b.day.head = min(b.day.head, float64(p.Low))
}

// hourly turns the pages: days at midnight, weeks after seven days.
func (b *book) hourly(s *sim) {
	if i := int(s.t / day); i != b.day.index {
		b.closeDay(s)
		b.newDay(i)
	}
	if i := int(s.t / week); i != b.week.index {
		b.closeWeek(s)
		b.week = weekBook{index: i}
	}
}

func (b *book) closeDay(s *sim) {
	d := &b.day
	if len(s.truth.Daily) < maxDays {
		s.truth.Daily = append(s.truth.Daily, s.dayTruth(d))
	}
	if !(d.ran > hour) {
		return
	}
	b.usual = d.flow / d.ran
	if s.after.Half > 0 && s.after.DP(unit.Flow(s.design)) >= s.c.AfterFilter.MaxDP {
		b.bind(s, "afterfilter", s.t)
	}
	b.openFlow(s)
}

// openFlow looks whether the fully open damper would still give 95 % of design flow, on the day's mean filters; three
// running days without are the limit, from the first.
func (b *book) openFlow(s *sim) {
	const days = 3
	x := b.day.xf / b.day.ran
	cond := s.path.Conditions()
	cond.FilterDP, cond.Damper, cond.Speed = unit.Pressure(x), 1, unit.Speed(s.side.speed)
	cond.DuctExtra, cond.FanLoss, cond.LeakArea = s.side.duct, s.side.fanLoss, unit.Area(s.side.leak)
	if s.after.Half > 0 {
		cond.AfterFilterDP = s.after.DP(unit.Flow(s.design))
	}
	o, err := s.path.Point(cond)
	if err != nil || float64(o.Flow) >= shortFlow*s.design {
		b.flat = 0
		return
	}
	if b.flat == 0 {
		b.flatFrom = float64(b.day.index) * day
	}
	if b.flat++; b.flat >= days {
		b.bind(s, "flow", b.flatFrom)
	}
}

func (b *book) closeWeek(s *sim) {
	w := &b.week
	if !(w.ran > 4*hour) {
		return
	}
	if most := float64(s.air.tank.Supply.Most); most > 0 && w.air/w.ran > 0.8*most {
		b.bind(s, "air", s.t)
	}
	low := w.quantile(0.1)
	s.truth.Weekly = append(s.truth.Weekly, unit.Pressure(low))
	if low >= float64(s.c.Filters.MaxDP) {
		b.bind(s, "dp", s.t)
		if s.o.ChangeAtLimit && math.IsInf(s.changeAt, 1) {
			s.changeAt = s.t
		}
	}
}

// quantile is the dP at design flow below which the filters stood for a share of the week's running.
func (w *weekBook) quantile(share float64) float64 {
	left := share * w.ran
	for i, n := range w.bins {
		if left -= float64(n); left <= 0 {
			return (float64(i) + 1 + left/float64(n)) * binWidth
		}
	}
	return float64(len(w.bins)) * binWidth
}

// bind notes the first limit of the filters' life.
func (b *book) bind(s *sim, limit string, at float64) {
	if b.limit == "" {
		b.limit, b.limitAt = limit, at
		b.done = !s.o.ChangeAtLimit
	}
}

// change closes one life of filters and opens the next.
func (b *book) change(s *sim) {
	b.cakeGone += float64(s.bank.CakeMass())
	s.truth.Lives = append(s.truth.Lives, b.life(s))
	b.lifeStart, b.limit, b.limitAt, b.flat = s.t, "", math.NaN(), 0
	b.week = weekBook{index: b.week.index}
}

func (b *book) life(s *sim) Life {
	l := Life{From: s.clock(b.lifeStart), Limit: b.limit}
	if b.limit != "" {
		at := s.clock(b.limitAt)
		l.To = &at
	}
	return l
}

// close ends the accounts.
func (b *book) close(s *sim) {
	supplied, leaked := s.air.idle(s.t)
	b.airSupplied += supplied
	b.airLeaked += leaked
	b.tankEnd = airMass(s.air)
	s.truth.Daily = append(s.truth.Daily, s.dayTruth(&b.day))
	s.truth.Lives = append(s.truth.Lives, b.life(s))
}

// clock is the time of day at t seconds after the start.
func (s *sim) clock(t float64) time.Time { return s.o.Start.Add(durationOf(t)) }
