package fold

import (
	"math"
	"math/rand/v2"
)

// seg is a stretch in which production does one thing, from a time on.
type seg struct {
	t     float64
	run   bool
	load  float64
	gates uint16 // branches that are shut
	shift bool   // people are there
}

// calendar is all that production does.
type calendar struct {
	segs     []seg
	at       int
	end      float64
	meanLoad float64 // over all hours
	hours    float64 // of running
}

// pattern is how a plant works.
type pattern struct {
	from, to float64 // hour of the day
	days     int     // of the week
	spread   float64 // of the load, as a logarithm
	batch    float64 // length of a batch [s]
	rest     float64 // chance of a batch without dust
	stop     float64 // chance of a batch in which the fan is off
	lunch    bool
}

func drawPattern(g *rand.Rand, shifts int) pattern {
	p := pattern{from: to(between(g, 5.5, 8), 0.25), days: 5, spread: between(g, 0.08, 0.45), batch: scaled(g, 900, 12000), rest: between(g, 0, 0.2), stop: between(g, 0, 0.06), lunch: happens(g, 0.4)}
	switch shifts {
	case 1:
		p.to = p.from + between(g, 7.5, 10.5)
	case 2:
		p.to = math.Min(24, p.from+between(g, 15, 17))
		p.days += g.IntN(2)
	default:
		p.from, p.to, p.lunch = 0, 24, false
		p.days = pickOne(g, 5, 6, 7, 7)
	}
	return p
}

// drawCalendar makes up production from before the log to its end, which lies in running time.
func drawCalendar(g *rand.Rand, r *run, shape logging) *calendar {
	shifts := pickOne(g, 1, 1, 2, 2, 2, 3, 3)
	if shape.onlyRunning && shape.step < 30 {
		shifts = 1
	}
	p := drawPattern(g, shifts)
	more := drawPattern(g, min(3, shifts+1))
	more.days = max(more.days, p.days)
	c := &calendar{}
	monday := (int(r.start.Weekday()) + 6) % 7
	holiday := -10
	if happens(g, 0.4) {
		holiday = g.IntN(int(shape.days))
	}
	for d := -3; d <= int(shape.days)+1; d++ {
		q := p
		if e := r.tale.of("more shifts"); e != nil && float64(d)*day >= e.from {
			q = more
		}
		if (d+monday+70)%7 >= q.days && !(happens(g, 0.07) && d > 0) || d == holiday {
			continue
		}
		c.work(g, r.m, q, float64(d)*day)
	}
	c.finish(g, shape)
	return c
}

// work fills one working day.
func (c *calendar) work(g *rand.Rand, m *mill, p pattern, midnight float64) {
	t := midnight + p.from*3600 + between(g, 0, 900)*b2f(p.from > 0)
	end := midnight + p.to*3600 - between(g, 0, 1500)*b2f(p.to < 24)
	noon := midnight + 12*3600
	for t < end {
		s := seg{t: t, run: true, load: math.Exp(p.spread * g.NormFloat64()), shift: true}
		u := g.Float64()
		switch {
		case u < p.stop:
			s.run = false
		case u < p.stop+p.rest:
			s.load = 0.05
		}
		s.load = clamp(s.load, 0.03, 2.2)
		if m.gated {
			for b := 1; b < len(m.branches); b++ {
				if happens(g, 0.15) {
					s.gates |= 1 << b
				}
			}
		}
		long := p.batch * between(g, 0.4, 1.7)
		if !s.run {
			long = between(g, 300, 2400)
		}
		if p.lunch && t < noon && t+long > noon {
			s2 := seg{t: noon, shift: true}
			c.segs = append(c.segs, s, s2)
			t = noon + between(g, 1500, 2700)
			continue
		}
		c.segs = append(c.segs, s)
		t += long
	}
	if p.to < 24 {
		c.segs = append(c.segs, seg{t: end})
	} else {
		c.segs = append(c.segs, seg{t: math.Max(end, t-1)})
	}
}

// finish puts the stretches in order and ends the log while the fan runs.
func (c *calendar) finish(g *rand.Rand, shape logging) {
	kept := c.segs[:0]
	for _, s := range c.segs { // a day's last batch may reach into the next
		for len(kept) > 0 && kept[len(kept)-1].t >= s.t {
			kept = kept[:len(kept)-1]
		}
		kept = append(kept, s)
	}
	c.segs = kept
	want := (shape.days - 3*g.Float64()) * day
	c.end = want
	began := math.NaN()
	for i, s := range c.segs {
		if s.run && (i == 0 || !c.segs[i-1].run) {
			began = s.t
		}
		next := want + 5*day
		if i+1 < len(c.segs) {
			next = c.segs[i+1].t
		}
		if s.run && next > want-2*day && next-began > 5400 {
			lo := math.Max(math.Max(s.t, began+5400), want-2*day)
			if c.end = lo + (next-lo)*g.Float64(); c.end >= want || happens(g, 0.15) {
				break
			}
		}
	}
	for i, s := range c.segs {
		if s.run && i+1 < len(c.segs) && s.t >= 0 && s.t < c.end {
			c.hours += (c.segs[i+1].t - s.t) / 3600
			c.meanLoad += s.load * (c.segs[i+1].t - s.t) / c.end
		}
	}
	for c.at < len(c.segs) && c.segs[c.at].t < -warmUp {
		c.at++
	}
}

// running is how long the fan runs between two times [h].
func (c *calendar) running(from, to float64) float64 {
	sum := 0.0
	for i, s := range c.segs {
		if s.run && i+1 < len(c.segs) {
			sum += math.Max(0, math.Min(to, c.segs[i+1].t)-math.Max(from, s.t))
		}
	}
	return sum / 3600
}

func (c *calendar) nextAt() float64 {
	if c.at < len(c.segs) {
		return c.segs[c.at].t
	}
	return math.Inf(1)
}

func (c *calendar) due(t float64) bool { return t >= c.nextAt()-1e-6 }

// step is what production does next.
func (c *calendar) step() seg {
	c.at++
	return c.segs[c.at-1]
}

// staffed reports whether people are there.
func (c *calendar) staffed() bool { return c.at > 0 && c.segs[c.at-1].shift }

// logging is how the plant logs.
type logging struct {
	step        float64 // [s]
	days        float64
	onlyRunning bool
}

// drawLogging draws the logger, so that a log stays below some hundred thousand rows.
func drawLogging(g *rand.Rand) logging {
	l := logging{step: pickOne(g, 10.0, 15, 20, 30, 30, 60, 60, 60, 60, 120, 120, 300, 600)}
	l.days = between(g, leastDays+3, mostDays)
	switch {
	case l.step < 30:
		l.days, l.onlyRunning = leastDays+3+g.Float64()*l.step/2, true
	case l.step < 60:
		l.days = between(g, leastDays+3, 36)
		l.onlyRunning = happens(g, 0.4)
	case l.step < 120:
		l.days = between(g, leastDays+3, 75)
		l.onlyRunning = happens(g, 0.15)
	}
	return l
}
