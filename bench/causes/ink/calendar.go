package ink

import (
	"cmp"
	"math"
	"slices"

	"dustwright/bench/causes/made"
)

// what can happen.
type what uint8

const (
	fanOn what = iota
	fanOff
	work   // dust comes at a rate, 1 being usual
	hoods  // share of the hoods' conductance that is open
	demand // of the shop's air
	airOn
	airOff
	lookBin
	trim      // somebody sets the damper for design flow, off by a share
	setPoints // low, high
	newFilters
	otherDust // its specific resistance and hold, of the usual
	powerDip  // for so long
)

// event is one thing that happens.
type event struct {
	at   float64
	what what
	v, w float64
}

// calendar is what happens around the machine in a record, whatever is wrong with it.
type calendar struct {
	events          []event
	from, end       float64
	warm, wet, high []float64 // by the hour: K, relative humidity, Pa
	story           string
	gapFrom, gapTo  float64
	swap            float64 // when the logger is replaced, or the transmitter set anew
	jump            float64 // when the logger's clock is put on
	drifts          bool
}

func (c *calendar) add(at float64, w what, v ...float64) {
	e := event{at: at, what: w}
	if len(v) > 0 {
		e.v = v[0]
	}
	if len(v) > 1 {
		e.w = v[1]
	}
	c.events = append(c.events, e)
}

// course is how hard it is worked, day by day, with what the story changes.
type course struct {
	load   func(t float64) float64
	shifts func(t float64) int
	closed func(t float64) bool
}

// plan writes the calendar.
func plan(d made.Dice, p *plant, from, end float64, sound bool) *calendar {
	c := &calendar{from: from, end: end, gapFrom: math.Inf(1), gapTo: math.Inf(1), swap: math.Inf(1), jump: math.Inf(1)}
	c.sky(d, p)
	co := c.tell(d, p, sound)
	week := 0.0
	running := false
	for k := math.Floor(from / day); k*day < end; k++ {
		if weekday(p, k) == 0 {
			week = 0.7*week + 0.09*d.NormFloat64()
		}
		on, off := c.hours(d, p, co, k)
		if off <= on {
			if running && co.closed((k+0.5)*day) {
				c.add(k*day+7*hour, fanOff)
				running = false
			}
			continue
		}
		if !running {
			c.add(on, fanOn)
			c.people(d, p, on)
		}
		running = true
		c.jobs(d, p, func(t float64) float64 { return co.load(t) * math.Exp(week) }, on, off)
		c.bin(d, on, off)
		if co.shifts(on) == 7 || co.shifts(on) == 3 && weekday(p, k) < 4 || d.Chance(0.015) { // goes on, or somebody forgot
			continue
		}
		late := off + d.Between(2, 40)*60
		c.add(late, fanOff)
		c.add(off+60, demand, p.draw*d.Between(0.1, 0.4))
		if p.airOff {
			c.add(late+1200+hour*d.Float64(), airOff)
		}
		running = false
	}
	for n := poisson(d, (end-from)/day/40); n > 0; n-- {
		c.add(d.Between(from, end), powerDip, d.Spread(60, hour))
	}
	slices.SortStableFunc(c.events, func(a, b event) int { return cmp.Compare(a.at, b.at) })
	return c
}

func weekday(p *plant, k float64) int { return ((int(k)+p.weekday)%7 + 7) % 7 }

func poisson(d made.Dice, mean float64) int {
	n, left := 0, mean
	for left -= d.ExpFloat64(); left > 0; left -= d.ExpFloat64() {
		n++
	}
	return n
}

// hours are those of day k in which there is work.
func (c *calendar) hours(d made.Dice, p *plant, co *course, k float64) (on, off float64) {
	t, w := k*day, weekday(p, k)
	if co.closed(t + day/2) {
		return 0, 0
	}
	late := 600 * d.NormFloat64()
	rest, overtime, extra := d.Chance(0.02), d.Chance(0.12), d.Between(-0.5, 1.5)*hour
	switch s := co.shifts(t + day/2); {
	case s == 7:
		return t, t + day
	case rest, w == 6, w == 5 && !overtime:
		return 0, 0
	case w == 5:
		return t + 7*hour + late, t + 12.5*hour
	case s == 1:
		return t + 6.8*hour + late, t + 15.7*hour + extra
	case s == 2:
		return t + 6*hour + late, t + 22*hour + 0.3*extra
	default:
		if w == 0 {
			return t + 6*hour + late, t + day
		}
		if w == 4 {
			return t, t + 22*hour
		}
		return t, t + day
	}
}

// people is what the first shift's hand does: the shop's air goes on with the fan.
func (c *calendar) people(d made.Dice, p *plant, on float64) {
	if p.airOff {
		c.add(on-d.Between(-0.1, 0.5)*hour, airOn)
	}
	c.add(on, demand, p.draw*d.Between(0.85, 1.1))
}

// jobs arrive while there is work: each with its own dust, by the load at its time, and its hoods, some with a batch tipped at the
// start, and pauses.
func (c *calendar) jobs(d made.Dice, p *plant, load func(t float64) float64, on, off float64) {
	for t := on + 300*d.ExpFloat64(); t < off; {
		rate := load(t) * math.Exp(p.wild*d.NormFloat64()-p.wild*p.wild/2)
		if d.Chance(p.idle) {
			rate *= 0.1 * d.Float64()
		}
		if p.gated {
			c.add(t, hoods, made.OneOf(d, 1, 1, 0.9, 0.8))
		}
		if d.Chance(0.15) {
			c.add(t, work, rate*d.Between(1.5, 3.5))
			t += d.Between(90, 400)
		}
		c.add(t, work, rate)
		t += p.jobLength*d.ExpFloat64() + 120
	}
	c.add(off, work, 0.02)
	for n := poisson(d, p.bursts*(off-on)/day); n > 0; n-- {
		t := d.Between(on, off)
		c.add(t, demand, d.Between(1.02, 1.2))
		c.add(min(off, t+d.Spread(600, hour)), demand, p.draw*d.Between(0.85, 1.1))
	}
}

// bin is looked at once a day, now and then not.
func (c *calendar) bin(d made.Dice, on, off float64) {
	if at := on + d.Between(0.3, 2)*hour; at < off && d.Chance(0.93) {
		c.add(at, lookBin)
	}
}

// sky is the weather by the hour: the seasons, fronts of some days, the day's swing.
func (c *calendar) sky(d made.Dice, p *plant) {
	n := int((c.end-c.from)/hour) + 2
	front, air := 0.0, 0.0
	indoors := d.Between(0.1, 0.7)
	for i := range n {
		t := c.from + float64(i)*hour
		if i%6 == 0 {
			front += -front*0.06 + 1.1*d.NormFloat64()
			air += -air*0.05 + 150*d.NormFloat64()
		}
		year := math.Sin(2 * math.Pi * (t/day + float64(p.season)) / 365)
		hand := math.Sin(2 * math.Pi * (t/day - 0.38))
		out := 283 + 10*year + 1.5*front + 4*hand
		c.warm = append(c.warm, 294+(1-indoors)*(out-289)+p.warmth)
		c.wet = append(c.wet, min(0.97, max(0.15, 0.58-0.05*front-0.1*hand-0.1*year)))
		c.high = append(c.high, p.ambient+air)
	}
}

// tell draws what happens without anything being wrong, and writes it down.
func (c *calendar) tell(d made.Dice, p *plant, sound bool) *course {
	co := &course{load: func(float64) float64 { return 1 }, shifts: func(float64) int { return p.shifts }, closed: func(float64) bool { return false }}
	c.story = "quiet"
	if !sound && d.Chance(0.6) {
		return co
	}
	at := d.Between(0.35, 0.97) * c.end
	far := func(t, long float64) bool { return t > at && t < at+long }
	switch d.IntN(18) {
	case 0:
		c.story = "heavy week"
		by, long := d.Between(1.2, 1.6), d.Between(4, 9)*day
		co.load = func(t float64) float64 { return 1 + (by-1)*boolean(far(t, long)) }
	case 1, 2:
		c.story = "new filters"
		c.add(at, newFilters)
		if d.Chance(0.6) {
			c.add(at+d.Between(0.2, 5)*hour, trim, 0.03*d.NormFloat64())
			c.add(at+d.Between(5, 15)*day, trim, 0.03*d.NormFloat64())
		}
	case 3, 4:
		c.story = "set points"
		by := made.OneOf(d, -1.0, 1, 1) * d.Between(0.05, 0.3) * p.high
		floor := (p.clean + p.seasoned) * p.flow / p.area * 1.45
		low := max(floor, p.low+by)
		c.add(at, setPoints, low, max(low+120, p.high+by))
	case 5:
		c.story = "damper re-trimmed"
		c.add(at, trim, 0.04*d.NormFloat64())
		c.add(at+d.Between(3, 20)*day, trim, 0.04*d.NormFloat64())
	case 6:
		c.story = "damp weather"
		long := d.Between(1, 6) * day
		for i := range c.wet {
			if far(c.from+float64(i)*hour, long) {
				c.wet[i] = min(0.97, c.wet[i]+0.3)
			}
		}
	case 7:
		c.story, c.drifts = "drift", true
	case 8:
		c.story = "gap"
		c.gapFrom, c.gapTo = at, at+d.Spread(0.2, 6)*day
	case 9:
		c.story = "shutdown"
		long := d.Between(2, 11) * day
		co.closed = func(t float64) bool { return far(t, long) }
	case 10, 11:
		c.story = "job change"
		by := d.Between(0.5, 1.3)
		co.load = func(t float64) float64 { return 1 + (by-1)*boolean(t > at) }
	case 12:
		c.story = "other dust"
		c.add(at, otherDust, d.Spread(0.6, 1.5), d.Between(0.9, 1.1))
	case 13:
		c.story, c.swap = "logger replaced", at
	case 14:
		c.story, c.jump = "clock put on", at
	case 15:
		c.story = "shifts"
		other := map[int]int{1: 2, 2: 3, 3: 7, 7: 3}[p.shifts]
		if d.Chance(0.3) {
			other = max(1, p.shifts-1)
		}
		if p.shifts == 7 {
			other = 3
		}
		co.shifts = func(t float64) int {
			if t > at {
				return other
			}
			return p.shifts
		}
	case 16:
		c.story = "compressor serviced"
		c.add(at, airOff)
		c.add(at+d.Between(0.5, 5)*hour, airOn)
	default:
		c.story = "power dips"
		for range 2 + d.IntN(5) {
			c.add(min(c.end, at+d.ExpFloat64()*3*day), powerDip, d.Spread(30, 2*hour))
		}
	}
	return co
}
