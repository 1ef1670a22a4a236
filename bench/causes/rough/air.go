package rough

import "math"

// The fan by its points, as shares of the duty point, and the motor's current by its load. Common practice, no
// source.
var (
	backward      = table{{0, 1.2}, {0.3, 1.26}, {0.6, 1.2}, {0.8, 1.11}, {1, 1}, {1.2, 0.83}, {1.45, 0.55}, {1.75, 0.1}}
	backwardPower = table{{0, 0.45}, {0.3, 0.6}, {0.6, 0.79}, {0.8, 0.91}, {1, 1}, {1.2, 1.06}, {1.45, 1.06}, {1.75, 0.96}}
	radial        = table{{0, 1.12}, {0.4, 1.16}, {0.7, 1.1}, {1, 1}, {1.3, 0.86}, {1.6, 0.66}, {2.1, 0.2}}
	radialPower   = table{{0, 0.35}, {0.4, 0.55}, {0.7, 0.77}, {1, 1}, {1.3, 1.23}, {1.6, 1.47}, {2.1, 1.8}}
	amps          = table{{0, 0.32}, {0.25, 0.42}, {0.5, 0.6}, {0.75, 0.79}, {1, 1}, {1.3, 1.29}, {1.8, 1.85}}
	// blade is the damper's loss by its opening, in units of that when fully open, as a logarithm.
	blade = table{{0.05, 6}, {0.1, 5.1}, {0.2, 4}, {0.3, 3.2}, {0.4, 2.5}, {0.5, 1.9}, {0.6, 1.35}, {0.7, 0.87}, {0.8, 0.45}, {0.9, 0.15}, {1, 0}}
)

// air is where fan and resistance meet at one moment.
type air struct {
	flow    float64 // through the filters [m3/s]
	hoods   float64 // through the hoods [m3/s]
	suction float64 // at the inlet [Pa]
	dp      float64 // across the filters [Pa]
	after   float64 // across the after-filter [Pa]
	shaft   float64 // power [W]
}

// way is what the air has to overcome: square in the flow [Pa/(m3/s)2], and straight [Pa/(m3/s)].
type way struct {
	inlet, square float64 // before the filters; behind them
	filters       float64
	after         float64
}

// crossing finds the flow at which the fan's table, at a share of its speed and with its head changed by a
// factor, meets the resistance; seg is where it lay the last time.
func crossing(fan table, speed, head float64, w way, seg *int) float64 {
	r, l := w.inlet+w.square, w.filters+w.after
	for range len(fan) {
		a, b := fan[*seg], fan[*seg+1]
		q0, q1 := a[0]*speed, b[0]*speed
		p0, p1 := a[1]*speed*speed*head, b[1]*speed*speed*head
		slope := (p1 - p0) / (q1 - q0)
		k := l - slope
		root := k*k + 4*r*(p0-slope*q0)
		q := 0.0
		if root > 0 {
			q = (math.Sqrt(root) - k) / (2 * r)
		}
		switch {
		case q > q1 && *seg < len(fan)-2:
			*seg++
		case q < q0 && *seg > 0:
			*seg--
		default:
			return bounded(q, 0, fan[len(fan)-1][0]*speed)
		}
	}
	return fan[*seg][0] * speed
}

// breathe finds the air's state: hoods that stand open as conductances side by side, the trunk behind them, and air
// that enters past the hoods, either behind the trunk (a door, a hatch) or before it (a split duct).
func (s *scene) breathe() {
	p, k := s.plan, &s.knob
	open := 0.0
	for i := range p.hoods {
		if s.shop[i].gate {
			c := p.hoods[i].pull
			if i == 0 {
				c /= math.Sqrt(k.hood)
			}
			open += c
		}
	}
	split := open + k.split
	trunk := math.Sqrt(1 / (p.trunk * k.trunk))
	line := 1 / math.Sqrt(1/(split*split)+1/(trunk*trunk))
	all := line + k.door
	density := s.density()
	w := way{inlet: density / (all * all), square: density * (p.stack*k.stack + p.blade*s.loss(s.opening())), after: s.after}
	g := 0.0
	for i := range s.rows {
		g += s.rows[i].area / s.rows[i].drag
	}
	w.filters = 1 / g
	speed := s.speed * k.speed
	a := &s.air
	a.flow = crossing(p.fan, speed, density*k.head, w, &s.seg)
	a.suction = w.inlet * a.flow * a.flow
	a.hoods = math.Sqrt(a.suction/density) * line * open / split
	a.dp, a.after = a.flow*w.filters, a.flow*w.after
	a.shaft = p.power.at(a.flow/speed) * speed * speed * speed * density * k.load
}

// density is the air's, as a share of that the fan's table holds for.
func (s *scene) density() float64 {
	w := s.sky
	return w.pressure / 101325 * 293.15 / (w.temperature + s.plan.warm)
}

// loss is the damper's by its opening, in units of that when fully open.
func (s *scene) loss(open float64) float64 {
	if open != s.was {
		s.was, s.lost = open, math.Exp(blade.at(open))
	}
	return s.lost
}

// opening is where the damper's blade really stands.
func (s *scene) opening() float64 {
	return bounded(s.plan.opening*s.knob.trim*s.knob.blade, 0.04, 1)
}
