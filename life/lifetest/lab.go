package lifetest

import "math"

// labKind is what the lives of one filter type on one test rig have in common.
type labKind struct {
	limit, clean  float64
	law           int
	power         float64
	capacity      float64 // kg/m2 at the limit
	between       float64 // ln spread of capacity between filters
	noise, share  float64 // Pa, and relative
	feedSwing     float64
	depth         float64 // share of the capacity taken up inside the media
	rate          float64 // readings per hour
	gaps          bool
	known, varied bool // feed known; feed differs from life to life
	dusts         []float64
}

// Lab invents a filter type that is never pulsed, run to its limit under a constant dust feed,
// with the given number of earlier lives. known says whether the feed is known; varied whether
// feed and dust differ between the lives.
func Lab(seed uint64, earlier int, known, varied bool) Case {
	r := newSource(seed ^ 0x1ab)
	k := labKind{
		limit: r.between(400, 800), law: r.pick(6), power: r.between(1.4, 4), capacity: r.between(0.1, 1),
		between: r.between(0.04, 0.2), noise: r.between(0.5, 4), share: r.between(0, 0.02),
		feedSwing: r.between(0, 0.15), depth: r.between(0.1, 0.6), gaps: r.pick(3) == 0,
		known: known, varied: varied, dusts: []float64{1},
	}
	k.clean = r.between(5, 60)
	if varied {
		k.dusts = []float64{1, r.between(1.2, 2.5)}
	}
	c := Case{Kind: "run to the limit"}
	feed := k.capacity / r.between(0.08, 6)
	k.rate = r.between(300, 4000) / (k.capacity / feed)
	for range earlier {
		c.Earlier = append(c.Earlier, k.live(r, feed))
	}
	c.Life = k.live(r, feed)
	return c
}

// rise is the rise of dP over its value when clean, in units that are scaled to the limit, after
// the share m of the capacity has been taken up.
func (k *labKind) rise(m float64) float64 {
	switch k.law {
	case 0: // cake on the surface from the start, thin depth stage
		return 0.15*m + 0.85*m*m
	case 1: // exponential clogging of the depth
		return (math.Exp(4*m) - 1) / (math.E * math.E * math.E * math.E)
	case 2: // power law
		return math.Pow(m, k.power)
	case 3: // depth to its share, then cake with a steady slope
		d := k.depth
		if m < d {
			return 0.12 * m
		}
		return 0.12*d + (m-d)/(1-d)*(1-0.12*d)
	case 4: // pores close: permeability falls in proportion to what is taken up
		return 0.06 * (1/math.Pow(1-0.75*math.Min(m, 1.3), 2) - 1)
	default: // depth and cake smoothly joined, compressible cake
		s := math.Log1p(math.Exp((m-k.depth)/0.06)) * 0.06
		return 0.1*m + s + 0.4*s*s
	}
}

func (k *labKind) live(r source, feed float64) Life {
	if k.varied {
		feed *= r.between(0.5, 2)
	}
	dust := k.dusts[r.pick(len(k.dusts))]
	capacity := k.capacity * r.spread(k.between) * dust
	clean := k.clean * r.spread(0.1)
	scale := (k.limit - clean) / k.rise(1)
	l := Life{Limit: k.limit, Clean: math.NaN(), Feed: feed, End: math.NaN()}
	if !k.known {
		l.Feed = math.NaN()
	}
	dt := 1 / k.rate
	load, m := 0.0, 0.0
	tau := capacity / feed / 15
	drift, gapUntil := 0.0, -1.0
	for h := 0.0; h < 20*capacity/feed; h += dt {
		load += -load*dt/tau + k.feedSwing*math.Sqrt(2*dt/tau)*r.NormFloat64()
		drift += -drift*dt/tau + 0.4*k.noise*math.Sqrt(2*dt/tau)*r.NormFloat64()
		m += feed * math.Exp(load) * dt
		level := clean + scale*k.rise(m/capacity)
		if k.gaps && r.Float64() < 2*dt*feed/capacity {
			gapUntil = h + capacity/feed*0.05*r.ExpFloat64()
		}
		if h > gapUntil {
			known := math.NaN()
			if k.known {
				known = feed * h
			}
			l.Points = append(l.Points, Point{Hours: h, DP: level*(1+k.share*r.NormFloat64()) + drift + k.noise*r.NormFloat64(), Dust: known})
		}
		if level >= k.limit {
			l.End = h
			break
		}
	}
	return l
}
