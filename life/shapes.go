package life

import "math"

// shapeSteps is the number of intervals in which a shape is tabulated between birth and limit.
const shapeSteps = 256

// shape is one way in which dP may go from its value at birth (0) to the limit (1) while the age
// goes from 0 to the age at the limit (1).
type shape struct {
	name  string
	prior float64                 // relative weight before any record is seen
	at    [shapeSteps + 2]float64 // value at i/shapeSteps; one step beyond 1 for the slope there
	born  int                     // index of the earlier life it was taken from, -1 for a formula
}

// value returns the shape at z, from 0 up; beyond 1 it goes on with the slope it has at 1.
func (s *shape) value(z float64) float64 {
	t := z * shapeSteps
	i := int(t)
	if i >= shapeSteps {
		return 1 + (t-shapeSteps)*(s.at[shapeSteps+1]-1)
	}
	return s.at[i] + (t-float64(i))*(s.at[i+1]-s.at[i])
}

// tabulate fills a shape from a function that need not be normalised.
func tabulate(name string, prior float64, g func(z float64) float64) shape {
	s := shape{name: name, prior: prior, born: -1}
	lo, span := g(0), g(1)-g(0)
	for i := range s.at {
		s.at[i] = (g(float64(i)/shapeSteps) - lo) / span
	}
	s.at[shapeSteps] = 1
	if d := s.at[shapeSteps+1]; !(d > 1) || d > 1.5 {
		s.at[shapeSteps+1] = math.Min(2-s.at[shapeSteps-1], 1.5)
	}
	return s
}

// growth is the curve whose growth rate is a power of the level already gained,
// dD/dx = a (1 + D/s)^(1-q): q = 1 is a line, 1/2 a parabola, 0 an exponential, below 0 a curve
// that runs away, above 1 one that flattens. k = a/s is its strength.
func growth(q, k float64) func(float64) float64 {
	if q == 0 {
		return func(z float64) float64 { return math.Exp(k*z) - 1 }
	}
	return func(z float64) float64 {
		base := 1 + q*k*z
		if base <= 0 {
			return math.Inf(1)
		}
		return math.Pow(base, 1/q) - 1
	}
}

// strengthFor finds the strength at which the growth curve has gained the share half of its whole
// way at half of its age.
func strengthFor(q, half float64) float64 {
	lo, hi := 1e-4, 200.0
	if q < 0 {
		hi = -1/q - 1e-9
	}
	share := func(k float64) float64 { g := growth(q, k); return g(0.5) / g(1) }
	convex := q < 1
	for range 80 {
		mid := 0.5 * (lo + hi)
		if (share(mid) > half) == convex {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 0.5 * (lo + hi)
}

// shapes returns the family of curves by formula. The priors are judgement, no source: a gentle
// bend is likelier than a violent one, and curves that flatten up to the limit are rare.
func shapes(pulsed bool) []shape {
	straight := 0.15
	if pulsed {
		straight = 1
	}
	all := []shape{tabulate("line", 0.5*straight, func(z float64) float64 { return z })}
	bends := []struct {
		name  string
		q     float64
		prior float64
		half  []float64
	}{
		{"flattening", 2, 0.35 * straight, []float64{0.57, 0.65}},
		{"parabola", 0.5, 1, []float64{0.44, 0.38, 0.32, 0.27}},
		{"exponential", 0, 1, []float64{0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.16, 0.13, 0.1, 0.08, 0.06}},
		{"run-away", -0.6, 0.8, []float64{0.42, 0.36, 0.3, 0.25, 0.2, 0.16, 0.13, 0.105, 0.085, 0.065, 0.05, 0.035}},
		{"run-away late", -2, 0.6, []float64{0.4, 0.32, 0.26, 0.2, 0.15, 0.115, 0.085}},
	}
	for _, b := range bends {
		for _, half := range b.half {
			k := strengthFor(b.q, half)
			all = append(all, tabulate(b.name, b.prior/float64(len(b.half)), growth(b.q, k)))
		}
	}
	for _, late := range []struct{ power, share float64 }{{4, 0.4}, {4, 0.8}, {8, 0.3}, {8, 0.6}, {8, 0.9}, {16, 0.4}, {16, 0.7}} {
		all = append(all, tabulate("line and late bend", 0.12, func(z float64) float64 {
			return (1-late.share)*z + late.share*math.Pow(z, late.power)
		}))
	}
	for _, depth := range []struct{ ends, slope, blend float64 }{
		{0.15, 0.15, 0.03}, {0.3, 0.1, 0.05}, {0.3, 0.35, 0.05}, {0.45, 0.1, 0.05}, {0.45, 0.35, 0.08}, {0.6, 0.1, 0.05}, {0.6, 0.3, 0.08}, {0.75, 0.2, 0.05}, {0.85, 0.3, 0.03},
	} {
		all = append(all, tabulate("depth, then cake", 0.12, func(z float64) float64 {
			return depth.slope*z + (1-depth.slope)*depth.blend*math.Log1p(math.Exp((z-depth.ends)/depth.blend))
		}))
	}
	return all
}
