package lifetest

import "math"

// Static invents a static inlet filter of a large machine: months to years, hourly means, growth
// of ln dP that wanders with weather and season and mostly gathers pace, wet spikes upwards.
func Static(seed uint64, earlier int) Case {
	r := newSource(seed ^ 0x57a7)
	clean, limit := r.between(250, 500), 0.0
	limit = clean * r.between(1.4, 2.2)
	life := r.between(2500, 9000)
	pace, wander := r.between(0.3, 3), r.between(0.1, 0.4)
	between := r.between(0.1, 0.4)
	spikes := r.between(0, 0.05)
	law := r.pick(3)
	c := Case{Kind: "static inlet"}
	one := func() Life {
		span := life * r.spread(between)
		g, y := 0.0, math.Log(clean*r.spread(0.06))
		y0 := y
		l := Life{Limit: limit, Clean: clean, Feed: math.NaN(), End: math.NaN()}
		tau, wet, slow := 700.0, 0.0, 0.0
		for h := 0.0; h < 20*span; h++ {
			g += -g/tau + wander*math.Sqrt(2/tau)*r.NormFloat64()
			slow += -slow/60 + 0.012*math.Sqrt(2.0/60)*r.NormFloat64()
			z := h / span
			full := math.Log(limit / clean)
			base := 1.0
			switch law {
			case 0:
				base = pace / (math.Exp(pace) - 1) * math.Exp(pace*z)
			case 1:
				base = 0.4 + 1.2*math.Max((y-y0)/full, 0)*pace
			case 2:
				if z > 0.5 {
					base = 0.35 + pace*(z-0.5)
				} else {
					base = 0.35
				}
			}
			y += base * full / span * math.Exp(g-0.5*wander*wander)
			wet *= 0.8
			if r.Float64() < spikes/5 {
				wet += 0.15 * r.ExpFloat64()
			}
			l.Points = append(l.Points, Point{Hours: h, DP: math.Exp(y + slow + wet + 0.012*r.NormFloat64()), Dust: math.NaN()})
			if y >= math.Log(limit) {
				l.End = h
				break
			}
		}
		return l
	}
	for range earlier {
		c.Earlier = append(c.Earlier, one())
	}
	c.Life = one()
	return c
}
