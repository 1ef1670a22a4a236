package life

import "math"

// The error model. What a record shows differs from the curve that is fitted to it in three ways:
//
//	scatter  independent from bin to bin, measured from the record (bins.go)
//	wander   filters age by the load they see, not by the clock: the true age is age + m, where m
//	         grows at the relative rate v, an Ornstein-Uhlenbeck process; it shows as slope * m
//	gauge    a slow relative error of the level (gauge, airflow, moisture), another such process
//
// One Kalman filter with the states m, v and gauge runs over the bins. It is the same for every
// curve, so that its gains are computed once, and what does not change from curve to curve goes
// through it once; each curve costs one pass over the bins.

// wander holds the sizes of the error model.
type wander struct {
	rate   float64 // standard deviation of the relative rate of ageing
	hold   float64 // how long a rate holds, share of the age
	gauge  float64 // standard deviation of the gauge error, relative
	memory float64 // how long that holds, share of the age
	favour float64 // log prior weight
}

// step is what the filter needs at one bin.
type step struct {
	h, l       float64 // what one unit of m, and one of gauge, does to the reading
	coast      float64 // age gained since the bin before per unit of v then
	slow, keep float64 // share of v, and of gauge, kept since the bin before
	km, kv, kg float64 // gains
	white      float64 // 1/standard deviation of the innovation
}

// follower is the filter for one record.
type follower struct {
	steps      []step
	logdet     float64
	pm, pc, pv float64 // variances of m and v now, and their covariance
	pg         float64 // variance of the gauge state now
	rate, hold float64 // as in wander, hold in units of age

	level, ones column   // the level above that at birth; one everywhere
	rising      []column // the seasoning rise, one for each of seasonTimes
}

// trail is the filter's state for one column of the linear fit.
type trail struct{ m, v, g float64 }

// innovation takes the next value of the column and returns what the filter did not foresee.
func (t *trail) innovation(st *step, y float64) float64 {
	m := t.m + st.coast*t.v
	v := st.slow * t.v
	g := st.keep * t.g
	e := y - st.h*m - st.l*g
	t.m, t.v, t.g = m+st.km*e, v+st.kv*e, g+st.kg*e
	return e
}

// column is what the filter makes of one column of the linear fit.
type column struct {
	fresh              []float64 // what it did not foresee at each bin, in standard deviations
	end                trail     // its state after the last bin
	one, level, square float64   // sums over the bins: times that of ones, times that of the level, its square
}

// column runs the filter over a column.
func (f *follower) column(at func(i int) float64) column {
	c := column{fresh: make([]float64, len(f.steps))}
	for i := range f.steps {
		st := &f.steps[i]
		c.fresh[i] = st.white * c.end.innovation(st, at(i))
	}
	return c
}

// follow runs the filter, for one size of the error model, over all that the fits of a record share.
func (f *fitter) follow(wd wander) *follower {
	b := f.bins
	fl := follow(b, f.slope, f.now, f.limit, wd)
	fl.level = fl.column(func(i int) float64 { return b[i].y - f.pr.birth })
	fl.ones = fl.column(func(int) float64 { return 1 })
	for _, t := range seasonTimes {
		rise := func(i int) float64 { return 1 - math.Exp(-b[i].x/(t*f.now)) }
		if t == 0 {
			rise = func(int) float64 { return 0 }
		}
		fl.rising = append(fl.rising, fl.column(rise))
	}
	sum := func(c *column) {
		for i, x := range c.fresh {
			c.one += x * fl.ones.fresh[i]
			c.level += x * fl.level.fresh[i]
			c.square += x * x
		}
	}
	sum(&fl.level)
	sum(&fl.ones)
	for i := range fl.rising {
		sum(&fl.rising[i])
	}
	return fl
}

// coasting returns how much age a rate of one, dying away with the time hold, adds over dx.
func coasting(dx, hold float64) float64 { return hold * -math.Expm1(-dx/hold) }

// gained returns the variance that the rate's own noise adds to m over dx, the covariance with v
// and the variance of v, for a rate of standard deviation one.
func gained(dx, hold float64) (mm, mv, vv float64) {
	u := dx / hold
	e := math.Exp(-u)
	if u < 1e-3 {
		return 2 * u * u * u / 3 * hold * hold, u * u * hold, 2 * u
	}
	return hold * hold * (2*u - 3 + 4*e - e*e), hold * (1 - e) * (1 - e), 1 - e*e
}

// follow computes gains for the bins of a record whose age is now; slope is the growth of the
// level at each bin.
func follow(b []bin, slope []float64, now, limit float64, wd wander) *follower {
	f := &follower{steps: make([]step, len(b)), rate: wd.rate, hold: wd.hold*now + 1e-300}
	r2, g2 := wd.rate*wd.rate, wd.gauge*wd.gauge
	// covariance of (m, v, gauge)
	var pmm, pmv, pmg, pvg float64
	pvv, pgg := r2, g2
	last := 0.0
	for i := range b {
		dx := b[i].x - last
		last = b[i].x
		c, s := coasting(dx, f.hold), math.Exp(-dx/f.hold)
		k := math.Exp(-dx / (wd.memory*now + 1e-300))
		qmm, qmv, qvv := gained(dx, f.hold)
		pmm, pmv, pmg = pmm+2*c*pmv+c*c*pvv+r2*qmm, s*(pmv+c*pvv)+r2*qmv, k*(pmg+c*pvg)
		pvv, pvg = s*s*pvv+r2*qvv, s*k*pvg
		pgg = k*k*pgg + (1-k*k)*g2
		h, l := slope[i], math.Abs(b[i].y)+0.3*math.Abs(limit)
		am, av, ag := pmm*h+pmg*l, pmv*h+pvg*l, pmg*h+pgg*l
		v := h*am + l*ag + b[i].noise2
		km, kv, kg := am/v, av/v, ag/v
		pmm, pmv, pmg = pmm-km*am, pmv-km*av, pmg-km*ag
		pvv, pvg = pvv-kv*av, pvg-kv*ag
		pgg -= kg * ag
		f.logdet += math.Log(v)
		f.steps[i] = step{h: h, l: l, coast: c, slow: s, keep: k, km: km, kv: kv, kg: kg, white: 1 / math.Sqrt(v)}
	}
	f.pm, f.pc, f.pv, f.pg = pmm, pmv, pvv, pgg
	return f
}

// drift is the state of the age: how much older than the clock, and how much faster.
type drift struct{ m, v float64 }

// after returns the extra age after a further stretch of clock age, over which a rate of one coasts so far.
func (d drift) after(coast float64) float64 { return d.m + d.v*coast }

// spread returns the variance of the extra age after a further stretch.
func (f *follower) spread(dx, scale float64) float64 {
	c := coasting(dx, f.hold)
	q, _, _ := gained(dx, f.hold)
	return scale*scale*(f.pm+2*c*f.pc+c*c*f.pv) + f.rate*f.rate*q
}

// until returns the clock age that passes until the true age has gained way.
func (f *follower) until(d drift, way float64) float64 {
	way -= d.m
	if way <= 0 {
		return 0
	}
	v := math.Max(d.v, -0.8)
	left := way
	for range 6 { // Newton: left + v*coasting(left) = way, monotone since v > -1
		g := left + v*coasting(left, f.hold) - way
		left = max(left-g/(1+v*math.Exp(-left/f.hold)), 0)
	}
	return left
}

// slopes estimates the growth of the level at each bin by lines through the bins within a tenth of
// the age, or further where the scatter hides the slope there, held above a share of the mean growth:
// it only scales the error model.
func slopes(b []bin, now float64) []float64 {
	const sure = 0.3 // relative standard error that is near enough
	out := make([]float64, len(b))
	if len(b) == 0 {
		return out
	}
	lo, hi := b[0].y, b[0].y
	for _, p := range b {
		lo, hi = math.Min(lo, p.y), math.Max(hi, p.y)
	}
	mean := math.Max(hi-lo, 0.05*math.Abs(hi)) / math.Max(now, 1e-300)
	for i := range b {
		for _, reach := range [...]float64{0.1, 0.13, 0.17, 0.22, 0.29, 0.37, 0.48, 0.63, 0.82} {
			v, sigma, ok := slopeAround(b, b[i].x, reach*now)
			if !ok {
				v, sigma = mean, math.Inf(1)
			}
			out[i] = math.Min(math.Max(v, 0.3*mean), 10*mean)
			if sigma < sure*out[i] {
				break
			}
		}
	}
	return out
}

// slopeAround is the slope at x of the line through the bins within reach, the nearer the more, with its
// standard error; false where they do not make a line.
func slopeAround(b []bin, at, reach float64) (slope, sigma float64, ok bool) {
	var s, sx, sy, sxx, sxy float64
	for j := range b {
		x := b[j].x - at
		d := x / reach
		if math.Abs(d) > 1 {
			continue
		}
		w := (1 - d*d) / b[j].noise2
		s += w
		sx += w * x
		sy += w * b[j].y
		sxx += w * x * x
		sxy += w * x * b[j].y
	}
	det := s*sxx - sx*sx
	if !(det > 1e-9*s*sxx) {
		return 0, 0, false
	}
	return (s*sxy - sx*sy) / det, math.Sqrt(s / det), true
}
