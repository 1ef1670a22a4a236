package fan

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"dustwright/solve"
	"dustwright/unit"
)

// ErrOutsideCurve says that a flow lies outside the points the maker gave; errors.As with an
// *OutsideCurve gives the numbers.
var ErrOutsideCurve = errors.New("outside the fan curve")

// ErrNoPower says that the fan has no power points.
var ErrNoPower = errors.New("the fan has no shaft power points")

// OutsideCurve is the error of a flow outside the curve, with the range the curve covers at that speed.
type OutsideCurve struct {
	Flow, Low, High unit.Flow // [m3/s]
	Of              string    // "pressure" or "power"
}

// Error says the flow and the range in m3/s.
func (e *OutsideCurve) Error() string {
	return fmt.Sprintf("the fan's %s points run from %.3f to %.3f m3/s at this speed; %.3f m3/s lies outside",
		e.Of, float64(e.Low), float64(e.High), float64(e.Flow))
}

// Unwrap makes errors.Is(err, ErrOutsideCurve) true.
func (e *OutsideCurve) Unwrap() error { return ErrOutsideCurve }

// CurvePoint is one point of the static pressure curve.
type CurvePoint struct {
	Flow     unit.Flow     // actual volume flow at the fan inlet [m3/s], 0 or more
	Pressure unit.Pressure // fan static pressure [Pa], may fall to 0 at free delivery
}

// PowerPoint is one point of the shaft power curve.
type PowerPoint struct {
	Flow  unit.Flow  // actual volume flow at the fan inlet [m3/s], 0 or more
	Power unit.Power // power at the fan shaft [W], above 0
}

// Curve is a fan's static pressure and shaft power over flow at one speed and density.
// It has no state that changes: safe for concurrent use. Build it with NewCurve.
type Curve struct {
	pressure *solve.Monotone
	power    *solve.Monotone // nil when no power points are known
	speed    float64         // [1/s]
	rho      float64         // [kg/m3]
	peakQ    float64         // flow of the highest pressure [m3/s]
	peakP    float64         // that pressure [Pa]
}

// NewCurve builds a curve from points at one speed and density.
//
//	points  static pressure points, at least 2, flows all different, any order [m3/s, Pa]
//	power   shaft power points, none or at least 2 [m3/s, W]
//	speed   speed of the points [rev/s], above 0
//	rho     density of the points [kg/m3], above 0
//
// Between points a shape-preserving cubic runs (PCHIP): it never leaves the range of the two
// neighbouring points, so a curve that rises near zero flow and then falls gains no false peak.
// The errors are sentences about the points; a NaN among them is such an error.
// Source: Fritsch and Carlson 1980 for the interpolation (package solve); common practice for the rest.
func NewCurve(points []CurvePoint, power []PowerPoint, speed unit.Speed, rho unit.Density) (*Curve, error) {
	if !(speed > 0) || math.IsInf(float64(speed), 0) {
		return nil, fmt.Errorf("the speed of the fan curve must be above 0, e.g. \"1770 rpm\"; it is %g rev/s", float64(speed))
	}
	if !(rho > 0) || math.IsInf(float64(rho), 0) {
		return nil, fmt.Errorf("the density of the fan curve must be above 0, e.g. \"0.075 lb/ft3\"; it is %g kg/m3", float64(rho))
	}
	q, p := make([]float64, len(points)), make([]float64, len(points))
	for i, pt := range points {
		q[i], p[i] = float64(pt.Flow), float64(pt.Pressure)
	}
	c := &Curve{speed: float64(speed), rho: float64(rho)}
	var err error
	if c.pressure, err = interpolate("pressure", q, p); err != nil {
		return nil, err
	}
	for i := range q {
		if p[i] > c.peakP || i == 0 {
			c.peakQ, c.peakP = q[i], p[i]
		}
	}
	if len(power) > 0 {
		q, p = make([]float64, len(power)), make([]float64, len(power))
		for i, pt := range power {
			q[i], p[i] = float64(pt.Flow), float64(pt.Power)
		}
		if c.power, err = interpolate("power", q, p); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// interpolate checks and sorts the points of one curve (in place) and joins them.
func interpolate(of string, q, y []float64) (*solve.Monotone, error) {
	if len(q) < 2 {
		return nil, fmt.Errorf("a fan %s curve needs at least 2 points, found %d", of, len(q))
	}
	for i := range q {
		if !(q[i] >= 0) || math.IsInf(q[i], 0) {
			return nil, fmt.Errorf("point %d of the fan %s curve has the flow %g m3/s; it must be 0 or more", i+1, of, q[i])
		}
		if !(y[i] >= 0) || math.IsInf(y[i], 0) {
			return nil, fmt.Errorf("point %d of the fan %s curve has the value %g; it must be 0 or more", i+1, of, y[i])
		}
	}
	sort.Sort(byFlow{q, y})
	for i := 1; i < len(q); i++ {
		if q[i] == q[i-1] {
			return nil, fmt.Errorf("two points of the fan %s curve have the same flow, %g m3/s", of, q[i])
		}
	}
	m, err := solve.NewMonotone(q, y)
	if err != nil {
		return nil, fmt.Errorf("fan %s curve: %w", of, err)
	}
	return m, nil
}

// byFlow sorts a curve's flows and the values that belong to them together.
type byFlow struct{ q, y []float64 }

func (s byFlow) Len() int           { return len(s.q) }
func (s byFlow) Less(i, j int) bool { return s.q[i] < s.q[j] }
func (s byFlow) Swap(i, j int)      { s.q[i], s.q[j], s.y[i], s.y[j] = s.q[j], s.q[i], s.y[j], s.y[i] }

// Pressure returns the fan static pressure at flow q.
//
//	q      actual flow at the fan inlet [m3/s]
//	rho    density at the fan inlet [kg/m3], above 0
//	speed  fan speed [rev/s], above 0
//	result static pressure rise [Pa], 0 or more
//
// Outside the curve's points it returns an *OutsideCurve (errors.Is ErrOutsideCurve) and NaN; NaN in,
// NaN out without an error. It allocates nothing inside the curve.
// Source: fan laws Q ~ n, p ~ n^2 rho (US DOE fan sourcebook; check values: testdata/fan_laws.csv).
func (c *Curve) Pressure(q unit.Flow, rho unit.Density, speed unit.Speed) (unit.Pressure, error) {
	p, err := c.scaled(c.pressure, "pressure", q, speed)
	r := float64(speed) / c.speed
	return unit.Pressure(p * r * r * float64(rho) / c.rho), err
}

// Power returns the shaft power at flow q.
//
//	q      actual flow at the fan inlet [m3/s]
//	rho    density at the fan inlet [kg/m3], above 0
//	speed  fan speed [rev/s], above 0
//	result power at the fan shaft [W]
//
// Without power points it returns ErrNoPower, outside them an *OutsideCurve, both with NaN; NaN in, NaN out.
// Source: fan laws Q ~ n, P ~ n^3 rho (check values: testdata/fan_laws.csv).
func (c *Curve) Power(q unit.Flow, rho unit.Density, speed unit.Speed) (unit.Power, error) {
	if c.power == nil {
		return unit.Power(math.NaN()), ErrNoPower
	}
	p, err := c.scaled(c.power, "power", q, speed)
	r := float64(speed) / c.speed
	return unit.Power(p * r * r * r * float64(rho) / c.rho), err
}

// scaled reads a curve at the flow that q corresponds to at the curve's own speed.
func (c *Curve) scaled(m *solve.Monotone, of string, q unit.Flow, speed unit.Speed) (float64, error) {
	r := float64(speed) / c.speed
	x := float64(q) / r
	lo, hi := m.Domain()
	// A few ulps of slack: flows that were scaled to the end of the curve and back count as on it.
	slack := 1e-12 * hi
	switch {
	case math.IsNaN(x) || !(r > 0):
		return math.NaN(), nil
	case x < lo-slack || x > hi+slack:
		return math.NaN(), &OutsideCurve{Flow: q, Low: unit.Flow(lo * r), High: unit.Flow(hi * r), Of: of}
	}
	return m.At(min(max(x, lo), hi)), nil
}

// Range returns the flows between which the pressure curve is known at a speed [rev/s]; result [m3/s].
// NaN in, NaN out. Source: fan law Q ~ n.
func (c *Curve) Range(speed unit.Speed) (lo, hi unit.Flow) {
	l, h := c.pressure.Domain()
	r := float64(speed) / c.speed
	return unit.Flow(l * r), unit.Flow(h * r)
}

// Peak returns the highest static pressure of the curve and its flow, carried to a density [kg/m3] and
// speed [rev/s]; result [Pa] and [m3/s]. Left of it the curve rises: a fan working there may hunt.
// NaN in, NaN out. Source: fan laws.
func (c *Curve) Peak(rho unit.Density, speed unit.Speed) (unit.Pressure, unit.Flow) {
	r := float64(speed) / c.speed
	return unit.Pressure(c.peakP * r * r * float64(rho) / c.rho), unit.Flow(c.peakQ * r)
}

// HasPower reports whether shaft power points are known.
func (c *Curve) HasPower() bool { return c.power != nil }

// Reference returns the speed [rev/s] and density [kg/m3] the curve's points were given at.
func (c *Curve) Reference() (unit.Speed, unit.Density) {
	return unit.Speed(c.speed), unit.Density(c.rho)
}
