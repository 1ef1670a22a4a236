package wear

import (
	"fmt"
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// moment is what is true at the end of a step.
type moment struct {
	running  bool
	cleaning float32 // share of the step
	dp       float32 // at design flow [Pa]
	across   float32 // across the filters, as it is [Pa]
	mean     float32 // the same, mean over the step
	flow     float32 // in design flows
	after    float32 // after-filter at design flow [Pa]
	open     float32 // damper
	pulses   float32
	warm     float32 // air [degC]
	wet      float32 // relative humidity
}

// run is the machine as time goes on.
type run struct {
	made.Dice
	p        *plant
	step     float64 // [s]
	now      []moment
	sets     []*set
	cake     float64 // dP at design flow [Pa]
	flow     float64 // in design flows
	open     float64
	after    float64 // gained by the after-filter [Pa]
	fired    float64 // pulses of the present step
	cleaning bool
	bout     float64 // how long it has been cleaning [s]
	low      float64 // set points now
	high     float64
	trimAt   float64 // when the damper is set next [s]
	ran      bool
	climate  climate
	tally    tally
	start    float64 // of the last set [s]
	end      float64 // of its life [s]
	limit    string
	trouble  *trouble // nil none
}

func newRun(d made.Dice, p *plant, step float64) *run {
	r := &run{Dice: d, p: p, step: step, flow: 1.05, open: 1, low: p.low, high: p.high, after: p.afterOld}
	r.climate = drawClimate(d)
	r.trimAt = math.Inf(1)
	return r
}

// lives runs all sets of filters.
func (r *run) lives() error {
	t := 0.0
	for i := 0; i <= r.p.earlier; i++ {
		last := i == r.p.earlier
		kind := r.p.kind
		if !last && r.Chance(0.35) {
			kind = drawKind(r.Dice)
		}
		r.renew(kind, t)
		end, err := r.live(t, last)
		if err != nil {
			return err
		}
		t = end
	}
	return nil
}

// renew puts new filters in.
func (r *run) renew(kind string, t float64) {
	p := r.p
	s := newSet(r.Dice, p, kind, t, p.span*math.Exp(0.2*r.NormFloat64()))
	r.sets = append(r.sets, s)
	r.cake, r.cleaning, r.start = 0, false, t
	if len(r.sets) == 1 || p.tending != leftAlone || r.Chance(0.7) {
		r.open = p.opening(r.Between(1, 1.16), s.media+p.seasoning*0.3, p.after+r.after)
	}
	if p.tending == trimmed {
		r.trimAt = t + r.Between(20, 60)*day
	}
	if p.after > 0 && t > 0 && (r.after > 0.85*(p.afterMost-p.after) || r.Chance(0.15)) {
		r.after = 0
	}
	r.tally = tally{p: p, from: t, prior: math.NaN()}
}

// live runs one set until it is changed, or for the last until the first limit binds.
func (r *run) live(from float64, last bool) (float64, error) {
	early := r.Between(0.8, 1.05) // share of the most dP at which people change, if it's not the last
	s := r.sets[len(r.sets)-1]
	for {
		t := float64(len(r.now)) * r.step
		if t-from > longest {
			return 0, fmt.Errorf("%w: too long", errNoLife)
		}
		r.mend(t)
		t = float64(len(r.now)) * r.step
		r.advance(t)
		t += r.step
		if !r.tally.closes(t) {
			continue
		}
		limit, at := r.tally.first(t, r.p.after+r.after)
		if last {
			if limit == "" || r.trouble != nil && t < r.trouble.to+30*day {
				continue
			}
			if at-from < shortest {
				return 0, fmt.Errorf("%w: too short", errNoLife)
			}
			r.end, r.limit = at, limit
			return t, nil
		}
		done := limit == ByDP || limit == ByFlow || limit == ByAir || r.tally.low > early*r.p.most
		if limit == ByAfterfilter {
			r.after = 0
		}
		if done || t-from > 1.5*s.life {
			return r.change(), nil
		}
	}
}

// change waits for the fan to stand, or stops it, and lets the work take some hours.
func (r *run) change() float64 {
	work := r.Between(2, 8) * hour
	for range int(4 * day / r.step) {
		if t := float64(len(r.now)) * r.step; r.p.hours.runs(t) {
			r.advance(t)
			continue
		}
		break
	}
	for range int(work/r.step) + 1 {
		r.stand(float64(len(r.now)) * r.step)
	}
	return float64(len(r.now)) * r.step
}

// advance goes on by one step.
func (r *run) advance(t float64) {
	s := r.sets[len(r.sets)-1]
	if !r.p.hours.runs(t) {
		r.stand(t)
		s.age(r.p, t-s.from, r.step, 0)
		return
	}
	r.weekly(s, t)
	r.tend(s, t)
	load := r.p.hours.load(t, r.step)
	a := airAt(r.climate.warm(t))
	m := r.breathe(s, t, load, a)
	s.age(r.p, t-s.from, r.step, load*float64(m.flow))
	r.clog(t-s.from, load)
	r.now = append(r.now, m)
	r.ran = true
}

// weekly moves what changes once a week or once a life.
func (r *run) weekly(s *set, t float64) {
	if math.Floor(t/week) != math.Floor((t-r.step)/week) {
		s.mood = math.Exp(0.2*r.NormFloat64() - 0.02)
	}
	p := r.p
	if p.moved != 0 && len(r.sets) == p.earlier+1 && t-s.from > p.movedAt*s.life {
		r.low, r.high = p.low+p.moved, p.high+p.moved
	}
}

// tend sets the damper where somebody or something does.
func (r *run) tend(s *set, t float64) {
	p := r.p
	switch {
	case p.tending == held:
		r.open = p.opening(1, s.residual(p)+r.cake, p.after+r.after)
	case t > r.trimAt:
		r.open = p.opening(1+0.025*r.NormFloat64(), s.residual(p)+r.cake, p.after+r.after)
		r.trimAt = t + r.Between(25, 65)*day
	}
}

// stand lets a step pass with the fan off. Some of the cake falls as it stops, more is pulsed off.
func (r *run) stand(t float64) {
	if r.ran {
		r.cake *= r.Between(0.85, 0.97)
		for range r.p.downtime {
			r.cake *= 1 - r.p.resting*r.Between(0.7, 1)
			r.fired += float64(r.p.rows)
		}
		r.cleaning, r.ran = false, false
	}
	// the pulses after a stop are spread over the steps that they take
	n := min(r.fired, math.Max(1, math.Floor(r.step/r.p.interval)))
	r.fired -= n
	r.now = append(r.now, moment{pulses: float32(n), cleaning: float32(b2f(n > 0)), after: float32(r.p.after + r.after), open: float32(r.open),
		warm: float32(r.climate.warm(t)), wet: float32(r.climate.wet(t, false))})
}

// breathe goes through a step of running, from event to event of the cleaning.
func (r *run) breathe(s *set, t, load float64, a airState) moment {
	p := r.p
	x := r.trouble
	x.pack(s, t, r.step)
	base, after := x.on(s.residual(p), t), p.after+r.after
	crowd, strip := p.crowd(base)*s.rise(), p.cling(base)*s.cling()*x.strip(t)/(float64(p.rows)*p.interval)
	var swept, sum, pulses float64
	for left := r.step; left > 1e-6; {
		r.flow = p.blow(r.flow, base+r.cake, after, r.open, a)
		grow := p.rise * crowd * load * r.flow
		dt := min(left, 900, 60/grow)
		scale := r.flow * a.thick
		if p.mode == collector.OnDemand {
			dt = min(dt, r.command(base, scale, grow, strip, t))
		}
		before := r.cake
		if r.busy() {
			rest := grow / strip
			r.cake = rest + (r.cake-rest)*math.Exp(-strip*dt)
			pulses += dt / p.interval
			swept += dt
			r.bout += dt
		} else {
			r.cake += grow * dt
		}
		mean := base + (before+r.cake)/2
		r.tally.add(base+before, dt/4)
		r.tally.add(mean, dt/2)
		r.tally.add(base+r.cake, dt/4)
		sum += mean * scale * dt
		left -= dt
	}
	r.fired += pulses
	n := math.Floor(r.fired)
	r.fired -= n
	r.tally.fire(pulses, r.step)
	dp := base + r.cake
	return moment{running: true, cleaning: float32(swept / r.step), dp: float32(dp), across: float32(dp * r.flow * a.thick), mean: float32(sum / r.step),
		flow: float32(r.flow), after: float32(after), open: float32(r.open), pulses: float32(n), warm: float32(r.climate.warm(t)),
		wet: float32(r.climate.wet(t, s.humid(t-s.from)))}
}

// busy reports whether valves fire now.
func (r *run) busy() bool { return r.cleaning || r.p.mode != collector.OnDemand }

// command starts and stops cleaning on demand and returns how long it stays so at the most [s]. The controller goes by
// the gauge.
func (r *run) command(base, scale, grow, strip, t float64) float64 {
	p := r.p
	low := p.gauge.truth(r.low, t)/scale - base
	high := p.gauge.truth(r.high, t)/scale - base
	cycle := p.interval * float64(p.rows)
	least := cycle * b2f(p.wholeCycle)
	if r.cleaning && r.cake <= low+0.01 && r.bout >= least-1e-6 {
		r.cleaning = false
	}
	if !r.cleaning && r.cake >= high-0.01 {
		r.cleaning, r.bout = true, 0
	}
	if !r.cleaning {
		return max(1, (high-r.cake)/grow)
	}
	rest := grow / strip
	switch {
	case r.bout < least:
		return max(1, min(least-r.bout, 0.5/strip))
	case rest >= low-1:
		return max(60, 0.7/strip)
	}
	return max(1, min(math.Log((r.cake-rest)/(low-rest))/strip, 0.7/strip))
}

// clog loads the after-filter: faster as it clogs, and with new filters, which let more through.
func (r *run) clog(age, load float64) {
	p := r.p
	if p.after <= 0 {
		return
	}
	full := r.after / (p.afterMost - p.after)
	r.after += p.afterGain * load * (0.95 + 0.5*full + 1.5*math.Exp(-age/(6*day))) * r.step
}
