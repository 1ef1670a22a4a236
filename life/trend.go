package life

import "math"

// The local trend: ln(level) with a growth that wanders and always comes back to the usual growth,
// followed by a Kalman filter over the readings. It knows nothing of shapes and limits; over a
// horizon that is short against the life it is hard to beat, and it needs no end to aim at.
// Source of the form: local linear trend with a mean-reverting slope, common practice in
// time-series work (Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989,
// chapter 2; from memory). The numbers: growthSwing and growthHold below.

const (
	// growthSwing is the standard deviation of the growth, share of the usual growth, and
	// growthHold how long a growth holds, share of a whole life. Set on the open inlet-filter
	// record, where the error changes by less than a tenth between half and twice these values.
	growthSwing = 0.75
	growthHold  = 0.22
	// alone is the gain of ln(level) over a life that is thought usual where no earlier life says.
	alone       = 0.3
	trendPoints = 400 // readings are first drawn together into this many at most
)

// usual is what is known of growth in general: growth of ln(level) per unit of age, its
// standard deviation, and the age that a whole life takes.
type usual struct{ growth, swing, life float64 }

// usualGrowth takes the mean growth of the earlier lives, weighted by their length, and of the
// present one as far as it has come.
func usualGrowth(current track, earlier []track) usual {
	var gain, age, whole, n float64
	for _, t := range append(earlier, current) {
		lo, hi, span, ok := ends(t.samples)
		if !ok {
			continue
		}
		gain += math.Log(hi / lo)
		age += span
	}
	for _, t := range earlier {
		if _, _, span, ok := ends(t.samples); ok {
			whole += span * span
			n += span
		}
	}
	u := usual{}
	if age > 0 {
		u.growth = math.Max(gain/age, 0.02/age)
	}
	if _, _, span, ok := ends(current.samples); ok {
		u.life = 1.5 * span
	}
	if n > 0 {
		u.life = math.Max(u.life, whole/n)
		u.swing = growthSwing * u.growth
	} else if u.life > 0 {
		u.swing = growthSwing * math.Max(u.growth, alone/u.life)
	}
	return u
}

// ends returns the level over the first and the last twentieth of a record and the age between.
func ends(s []sample) (lo, hi, span float64, ok bool) {
	if len(s) < 3 {
		return 0, 0, 0, false
	}
	n := max(len(s)/20, 1)
	a, b := make([]float64, n), make([]float64, n)
	for i := range n {
		a[i], b[i] = s[i].y, s[len(s)-1-i].y
	}
	lo, hi = middle(a), middle(b)
	span = s[len(s)-1].x - s[0].x
	return lo, hi, span, lo > 0 && hi > 0 && span > 0
}

// thin draws samples together into at most n groups of equal count.
func thin(s []sample, n int) []sample {
	if len(s) <= n {
		return s
	}
	out := make([]sample, 0, n)
	for g := range n {
		part := s[g*len(s)/n : (g+1)*len(s)/n]
		ys := make([]float64, len(part))
		var x float64
		for i, p := range part {
			ys[i] = p.y
			x += p.x
		}
		out = append(out, sample{x: x / float64(len(part)), y: middle(ys), sigma: math.NaN()})
	}
	return out
}

// trend follows the record and returns ln(level) and its variance at an age at or after its end;
// false where the record is too short or not above zero.
func trend(s []sample, u usual, x float64) (level, variance float64, ok bool) {
	s = thin(s, trendPoints)
	if len(s) < 6 || !(u.growth > 0) || !(u.life > 0) {
		return 0, 0, false
	}
	y := make([]float64, len(s))
	for i, p := range s {
		if !(p.y > 0) {
			return 0, 0, false
		}
		y[i] = math.Log(p.y)
	}
	r := math.Pow(math.Max(1.3*slowNoise(s, y), 1e-3), 2)
	hold := growthHold * u.life
	swing2 := u.swing * u.swing
	g := grown{l: y[0], b: u.growth, pll: 9*r + 0.01*0.01, pbb: swing2}
	for i := range s {
		if i > 0 {
			g = g.coast(s[i].x-s[i-1].x, hold, swing2, u.growth)
		}
		v := g.pll + r
		e := y[i] - g.l
		w := math.Min(1, 2*math.Sqrt(v)/math.Max(math.Abs(e), 1e-300))
		kl, kb := w*g.pll/v, w*g.plb/v
		g.l, g.b = g.l+kl*e, g.b+kb*e
		g.pll, g.plb, g.pbb = g.pll-kl*g.pll, g.plb-kl*g.plb, g.pbb-kb*g.plb
	}
	g = g.coast(math.Max(x-s[len(s)-1].x, 0), hold, swing2, u.growth)
	return g.l, g.pll, true
}

// grown is where the record stands: level and growth of ln(y), with their covariance.
type grown struct{ l, b, pll, plb, pbb float64 }

// coast carries it over a stretch dx without readings, while its growth returns to mu.
func (g grown) coast(dx, hold, swing2, mu float64) grown {
	c, s := coasting(dx, hold), math.Exp(-dx/hold)
	qll, qlb, qbb := gained(dx, hold)
	return grown{l: g.l + mu*dx + (g.b-mu)*c, b: mu + (g.b-mu)*s,
		pll: g.pll + 2*c*g.plb + c*c*g.pbb + swing2*qll, plb: s*(g.plb+c*g.pbb) + swing2*qlb, pbb: s*s*g.pbb + swing2*qbb}
}

// slowNoise is the scatter of y about its own run, taken over neighbours one, two and four readings
// away, whichever shows most: noise that lasts over some readings hides from the nearest ones.
func slowNoise(s []sample, y []float64) float64 {
	most := 0.0
	for _, apart := range []int{1, 2, 4} {
		for from := range apart {
			at := func(i int) (float64, float64) { return s[from+i*apart].x, y[from+i*apart] }
			if k := kinkNoise((len(s)-from+apart-1)/apart, at, nil); k > most {
				most = k
			}
		}
	}
	return most
}
