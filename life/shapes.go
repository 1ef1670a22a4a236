package life

import (
	"math"
	"slices"
	"sort"
	"sync"
)

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

// value returns the shape at z; before birth it is what it is at birth, beyond 1 it goes on with the slope it has
// at 1.
func (s *shape) value(z float64) float64 {
	if !(z > 0) {
		return 0
	}
	t := z * shapeSteps
	i := int(t)
	if i >= shapeSteps {
		return 1 + (t-shapeSteps)*(s.at[shapeSteps+1]-1)
	}
	return s.at[i] + (t-float64(i))*(s.at[i+1]-s.at[i])
}

// reaches returns the z at which the shape first has a value, 0 to 1 from birth to limit.
func (s *shape) reaches(value float64) float64 {
	if value >= 1 {
		return 1 + (value-1)/(shapeSteps*math.Max(s.at[shapeSteps+1]-1, 1e-3))
	}
	i := sort.Search(shapeSteps, func(i int) bool { return s.at[i+1] >= value })
	if i >= shapeSteps {
		return 1
	}
	d := s.at[i+1] - s.at[i]
	if !(d > 0) || value <= s.at[i] {
		return float64(i) / shapeSteps
	}
	return (float64(i) + (value-s.at[i])/d) / shapeSteps
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

// habits are the prior weights of the kinds of curve. Judgement, no source: pulsed filters creep in
// a line and bend late, filters never pulsed gather pace from depth filtration to cake, and curves
// that flatten up to the limit are rare with the latter.
type habits struct {
	line, flattening, parabola, between, power, exponential, runaway, late, bend, onset, pulses, depth float64
}

func habitsOf(pulsed bool) habits {
	if pulsed {
		return habits{line: 7, flattening: 0.8, parabola: 0.6, between: 0.24, power: 0.24, exponential: 0.6, runaway: 0.5, late: 0.6, bend: 1.5, onset: 2, pulses: 0.8, depth: 0.05}
	}
	return habits{line: 0.08, flattening: 0.05, parabola: 1, between: 0.4, power: 0.4, exponential: 1, runaway: 0.8, late: 0.6, bend: 0.84, depth: 1.08}
}

// formulas are the two families of curves by formula, made once: tabulating them takes as long as some
// forecasts.
var formulas = [2]func() []shape{
	sync.OnceValue(func() []shape { return tabulated(false) }),
	sync.OnceValue(func() []shape { return tabulated(true) }),
}

// shapes returns the family of curves by formula, to read and to append to.
func shapes(pulsed bool) []shape {
	if pulsed {
		return slices.Clip(formulas[1]())
	}
	return slices.Clip(formulas[0]())
}

// steadier is how many times the usual prior weight lines and curves that flatten have for what gains with the dust that comes
// and is never cleaned, such as an after-filter. Judgement.
const steadier = 4

// steadyFormulas are the family for that.
var steadyFormulas = sync.OnceValue(func() []shape {
	out := slices.Clone(formulas[1]())
	for i := range out {
		if out[i].name == "line" || out[i].name == "flattening" {
			out[i].prior *= steadier
		}
	}
	return out
})

// tabulated makes the family.
func tabulated(pulsed bool) []shape {
	h := habitsOf(pulsed)
	all := []shape{tabulate("line", h.line, func(z float64) float64 { return z })}
	for _, b := range []struct {
		name  string
		q     float64
		prior float64
		half  []float64 // share of the way gained at half of the age
	}{
		{"flattening", 2, h.flattening, []float64{0.57, 0.65}},
		{"parabola", 0.5, h.parabola, []float64{0.44, 0.38, 0.32, 0.27}},
		{"between parabola and exponential", 0.3, h.between, []float64{0.4, 0.34, 0.28, 0.22, 0.17}},
		{"exponential", 0, h.exponential, []float64{0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.16, 0.13, 0.1, 0.08, 0.06}},
		{"run-away", -0.6, h.runaway, []float64{0.42, 0.36, 0.3, 0.25, 0.2, 0.16, 0.13, 0.105, 0.085, 0.065, 0.05, 0.035}},
		{"run-away late", -2, h.late, []float64{0.4, 0.32, 0.26, 0.2, 0.15, 0.115, 0.085}},
	} {
		for _, half := range b.half {
			all = append(all, tabulate(b.name, b.prior/float64(len(b.half)), growth(b.q, strengthFor(b.q, half))))
		}
	}
	powers := []float64{1.5, 2, 2.5, 3, 4}
	for _, p := range powers {
		all = append(all, tabulate("power", h.power/float64(len(powers)), func(z float64) float64 { return math.Pow(z, p) }))
	}
	bends := []struct{ power, share float64 }{{4, 0.4}, {4, 0.8}, {8, 0.15}, {8, 0.3}, {8, 0.6}, {8, 0.9}, {16, 0.15}, {16, 0.4}, {16, 0.7}}
	for _, b := range bends {
		all = append(all, tabulate("line and late bend", h.bend/float64(len(bends)), func(z float64) float64 {
			return (1-b.share)*z + b.share*math.Pow(z, b.power)
		}))
	}
	depths := []struct{ ends, slope, blend float64 }{
		{0.15, 0.15, 0.03}, {0.3, 0.1, 0.05}, {0.3, 0.35, 0.05}, {0.45, 0.1, 0.05}, {0.45, 0.35, 0.08}, {0.6, 0.1, 0.05}, {0.6, 0.3, 0.08}, {0.75, 0.2, 0.05}, {0.85, 0.3, 0.03},
	}
	for _, depth := range depths {
		all = append(all, tabulate("depth, then cake", h.depth/float64(len(depths)), func(z float64) float64 {
			return depth.slope*z + (1-depth.slope)*depth.blend*math.Log1p(math.Exp((z-depth.ends)/depth.blend))
		}))
	}
	if pulsed {
		return append(all, pulsedOnly(h)...)
	}
	all = append(all, steep(h)...)
	for i := range all {
		u := math.Log(all[i].value(0.5) / usualHalf)
		if u < 0 {
			u /= halfBelow
		} else {
			u /= halfAbove
		}
		all[i].prior *= math.Exp(-0.5 * u * u)
	}
	return all
}

// pulsedOnly are the curves of pulsed filters alone: a line that bends from an onset on, its slope
// growing with the square of the age since, to 3 or 8 times what it was; and creep with the number of
// pulses, which cleaning on demand needs the more of the nearer the drag that is left comes to the set
// point, df/dz = a/(set - f).
func pulsedOnly(h habits) []shape {
	var out []shape
	onsets, rates := []float64{0.4, 0.6, 0.75}, []float64{3, 8}
	for _, onset := range onsets {
		for _, rate := range rates {
			rest := 1 - onset
			k := (rate - 1) / (3 * rest * rest)
			whole := 1 + k*rest*rest*rest
			out = append(out, tabulate("line, bent from an onset on", h.onset/float64(len(onsets)*len(rates)), func(z float64) float64 {
				return (z + k*math.Pow(math.Max(z-onset, 0), 3)) / whole
			}))
		}
	}
	sets := []float64{1.05, 1.12, 1.25, 1.5}
	for _, set := range sets {
		out = append(out, tabulate("creep with the pulses", h.pulses/float64(len(sets)), func(z float64) float64 {
			return set - math.Sqrt(math.Max(set*set-(2*set-1)*z, 0))
		}))
	}
	return out
}

// steep are curves that show next to nothing for most of a life, as records of filters run to their
// limit in the laboratory may.
func steep(h habits) []shape {
	var out []shape
	for _, half := range []float64{0.045, 0.032, 0.022, 0.014} {
		out = append(out, tabulate("exponential", h.exponential/11, growth(0, strengthFor(0, half))))
	}
	for _, half := range []float64{0.024, 0.016} {
		out = append(out, tabulate("run-away", h.runaway/12, growth(-0.6, strengthFor(-0.6, half))))
	}
	for _, b := range []struct{ power, share float64 }{{6, 0.7}, {8, 0.97}, {16, 0.9}} {
		out = append(out, tabulate("line and late bend", h.bend/9, func(z float64) float64 {
			return (1-b.share)*z + b.share*math.Pow(z, b.power)
		}))
	}
	return out
}

// usualHalf is the share of the way to its limit that a filter never pulsed has usually gained at
// half of its age, halfAbove and halfBelow the standard deviations of its logarithm to either side:
// curves that show nothing for long are less of a surprise than such as flatten. Judgement; the three
// whole lives of the open record have 0.1 to 0.2.
const (
	usualHalf = 0.18
	halfAbove = 0.8
	halfBelow = 0.95
)
