package lifetest

import "math"

// pulsedKind is what the lives of one pulse-jet collector have in common.
type pulsedKind struct {
	limit, clean, plateau, season float64
	law                           int
	life                          float64 // typical hours to the limit
	bendAt, bend                  float64
	between                       float64 // spread between lives, ln
	swing                         float64 // of the weekly load, ln
	noise, gauge                  float64 // relative: white, slow
	step                          float64 // hours between readings
	gaps                          bool
}

// Pulsed invents a pulse-jet collector with 0 to 3 earlier lives. sparse gives one hand reading a
// day with a large error; otherwise several readings a day.
func Pulsed(seed uint64, sparse bool) Case {
	r := newSource(seed)
	k := pulsedKind{
		limit: r.between(1000, 1600), law: r.pick(6), life: r.between(1500, 9000),
		bendAt: r.between(0.5, 0.9), bend: r.between(2, 8), between: r.between(0.08, 0.35),
		swing: r.between(0.03, 0.25), noise: r.between(0.005, 0.03), gauge: r.between(0.002, 0.008),
		step: r.between(4, 24), gaps: r.pick(2) == 0,
	}
	k.clean = k.limit * r.between(0.08, 0.2)
	k.plateau = k.limit * r.between(0.08, 0.3)
	k.season = k.life * r.between(0.01, 0.08)
	if sparse {
		k.step, k.noise = r.between(8, 30), r.between(0.04, 0.12)
		k.life = k.step * r.between(60, 400)
		k.season = k.life * r.between(0.01, 0.08)
	}
	kind := "pulse-jet"
	if sparse {
		kind = "pulse-jet by hand"
	}
	c := Case{Kind: kind, Pulsed: true}
	for range r.pick(4) {
		c.Earlier = append(c.Earlier, k.live(r))
	}
	c.Life = k.live(r)
	return c
}

// rate is the growth of the level per unit of age share at age share z and level share u, for the
// law of this collector; the level share goes from 0 after seasoning to 1 at the limit.
func (k *pulsedKind) rate(z, u float64) float64 {
	switch k.law {
	case 0: // steady creep
		return 1
	case 1: // steady creep, then a late bend
		if z > k.bendAt {
			return 0.6 * (1 + k.bend*(z-k.bendAt)/(1-k.bendAt))
		}
		return 0.6
	case 2: // creep in proportion to the level
		return 0.45 + 1.6*u
	case 3: // creep with the number of pulses, which itself grows as the level rises
		return 0.4 / math.Max(1.25-u, 0.1)
	case 4: // slowing creep
		return 0.65 / math.Sqrt(z+0.08) * 0.8
	default: // steady creep, then a runaway
		return 0.7 + 3*math.Pow(math.Max(z-k.bendAt+0.1, 0)*2, 3)
	}
}

func (k *pulsedKind) live(r source) Life {
	life := k.life * r.spread(k.between)
	clean := k.clean * r.spread(0.08)
	plateau := k.plateau * r.spread(0.15)
	season := k.season * r.spread(0.3)
	width := k.limit - clean - plateau
	l := Life{Limit: k.limit, Clean: k.clean, Feed: math.NaN(), End: math.NaN()}
	load, slow, u := 0.0, 0.0, 0.0
	gapUntil := -1.0
	dt := life / 4000
	next := k.step * r.Float64()
	week := math.Min(100, life/20)
	for h := 0.0; h < 40*life; h += dt {
		load += -load*dt/week + k.swing*math.Sqrt(2*dt/week)*r.NormFloat64()
		slow += -slow*dt/(2*week) + k.gauge*math.Sqrt(dt/week)*r.NormFloat64()
		u += k.rate(h/life, u) * math.Exp(load-0.5*k.swing*k.swing) * dt / life
		level := clean + plateau*(1-math.Exp(-h/season)) + width*u
		if k.gaps && r.Float64() < 2*dt/life {
			gapUntil = h + life*0.05*r.ExpFloat64()
		}
		if h >= next {
			next += k.step * (0.7 + 0.6*r.Float64())
			if h > gapUntil {
				l.Points = append(l.Points, Point{Hours: h, DP: level * (1 + slow) * (1 + k.noise*r.NormFloat64()), Dust: math.NaN()})
			}
		}
		if level >= k.limit {
			l.End = h
			break
		}
	}
	return l
}
