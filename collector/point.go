package collector

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"dustwright/air"
	"dustwright/solve"
	"dustwright/unit"
)

// ErrNoOperatingPoint says that fan and resistance do not meet; errors.As with a *NoPoint gives the numbers.
var ErrNoOperatingPoint = errors.New("fan and system do not meet")

// ErrMissing says that the file leaves out what an answer needs; errors.As with a *Missing gives the keys.
var ErrMissing = errors.New("the collector file says too little")

// Missing is the error of an answer that needs keys the file does not have.
type Missing struct {
	What string   // the answer, as it stands in a sentence
	Keys []string // what would give it
}

// Error names the keys with an example of each.
func (m *Missing) Error() string {
	parts := make([]string, len(m.Keys))
	for i, name := range m.Keys {
		parts[i] = addKey(name)
	}
	return fmt.Sprintf("%s cannot be given from this collector file: add %s", m.What, strings.Join(parts, " and "))
}

// absent picks the keys that the file does not have.
func absent(c *Collector, paths ...string) []string {
	var out []string
	for _, path := range paths {
		for _, k := range schema {
			if k.path() == path && k.value.print(c, unit.SI) == "" {
				out = append(out, path)
			}
		}
	}
	return out
}

// Unwrap makes errors.Is(err, ErrMissing) true.
func (m *Missing) Unwrap() error { return ErrMissing }

// addKey says how a key is written.
func addKey(path string) string {
	for _, k := range schema {
		if k.path() == path {
			return fmt.Sprintf("%s = %s under [%s]", k.name, k.example, k.table)
		}
	}
	return path
}

// NoPoint is the error of a fan and a system that do not meet, with the numbers that explain it: the parts' losses at
// the end of the fan curve where they come closest.
type NoPoint struct {
	Beyond                                   bool          // the system takes more air than the curve's last point; else less than its first
	Tight                                    bool          // Flow was asked for, and the system takes more than the fan gives there
	Flow                                     unit.Flow     // of that end of the curve
	Fan, Inlet, Filters, AfterFilter, Damper unit.Pressure // at that flow
}

// Text is the explanation in the reader's units.
func (e *NoPoint) Text() Text {
	if e.Beyond {
		return Say("at %s, the last point of the fan curve, the fan still gives %s and the system takes only %s: the flow lies beyond the curve; add points at higher flow",
			e.Flow, e.Fan, e.system())
	}
	if e.Tight {
		return Say("at %s the fan gives %s, and the system needs %s even without filters and with the damper fully open: this flow cannot be had", e.Flow, e.Fan, e.system())
	}
	part, what := e.Filters, "the filters alone need"
	if e.Filters < e.Fan {
		part, what = e.system(), "the system needs"
	}
	return Say("the fan gives %s at %s, the first point of its curve, and %s %s at this flow: the flow lies below the curve", e.Fan, e.Flow, what, part)
}

func (e *NoPoint) system() unit.Pressure { return e.Inlet + e.Filters + e.AfterFilter + e.Damper }

// Error is the explanation in both systems of units.
func (e *NoPoint) Error() string {
	return ErrNoOperatingPoint.Error() + ": " + e.Text().In(unit.US) + " (SI: fan " + e.Fan.In(unit.SI) + ", system " + e.system().In(unit.SI) + ")"
}

// Unwrap makes errors.Is(err, ErrNoOperatingPoint) true.
func (e *NoPoint) Unwrap() error { return ErrNoOperatingPoint }

// Conditions are what the operating point is asked under. Get them from AirPath.Conditions and change what is
// different; every field must then be a number.
type Conditions struct {
	FilterDP      unit.Pressure  // across the primary filters at design flow and RefTemperature [Pa], 0 or more
	AfterFilterDP unit.Pressure  // across the after-filter at design flow and RefTemperature [Pa], 0 or more
	Damper        unit.Share     // open, 0 to 1; without effect where the damper is not known
	Density       unit.Density   // of the air at the fan [kg/m3]
	Viscosity     unit.Viscosity // of the air at the filters [Pa s]
	Speed         unit.Speed     // of the fan [1/s]

	DuctExtra float64   // share by which the ducts' resistance is above that of commissioning; 0 as commissioned
	FanLoss   float64   // share of its pressure that the fan has lost, 0 to below 1 (wheel fouled); a slipping belt is Speed
	LeakArea  unit.Area // of openings between hoods and filters, as free area with discharge coefficient 1 [m2]
}

// Conditions are the machine as it is new: clean filters and after-filter, damper fully open, the site's air at
// RefTemperature, the file's speed, no fault.
func (p *AirPath) Conditions() Conditions {
	return Conditions{FilterDP: unit.Pressure(p.filterDP), AfterFilterDP: unit.Pressure(p.afterDP), Damper: 1,
		Density: unit.Density(p.rho), Viscosity: unit.Viscosity(p.mu), Speed: unit.Speed(p.speed)}
}

// In is the conditions with other air.
func (c Conditions) In(a air.State) Conditions {
	c.Density, c.Viscosity = a.Density(), a.Viscosity()
	return c
}

// OperatingPoint is where fan and system meet. Pressures are losses, positive, and sum to Fan.
type OperatingPoint struct {
	Flow        unit.Flow     // through filters and fan [m3/s]
	HoodFlow    unit.Flow     // through the hoods; less than Flow where air leaks in
	Fan         unit.Pressure // fan static pressure
	Inlet       unit.Pressure // inlet and ducts; 0 where they are counted with the damper
	Filters     unit.Pressure
	AfterFilter unit.Pressure
	Damper      unit.Pressure
	Power       unit.Power   // at the fan shaft; NaN without power points there
	Current     unit.Current // of the motor; NaN without power or nameplate
	CurrentSD   unit.Current // its standard uncertainty
	Rising      bool         // left of the fan curve's peak: the fan may hunt
}

// resistances are the two laws of the system: dp = quad Q^2 + lin Q, split by part.
type resistances struct{ duct, damper, filter, after float64 }

// at is the system's loss at a flow [Pa].
func (r resistances) at(q float64) float64 {
	return (r.duct+r.damper)*q*q + (r.filter+r.after)*q
}

// Point finds the operating point: the highest flow at which the fan's pressure equals the losses of inlet and ducts,
// filters, after-filter and damper.
//
//	c       conditions, see AirPath.Conditions
//	result  flow [m3/s], losses [Pa], shaft power [W], current [A]
//
// Inlet, ducts and damper lose in proportion to density and the square of the flow, filters and after-filter in
// proportion to viscosity and flow (media in creeping flow). Air that leaks in by an opening shares the ducts'
// suction with the hoods. It takes a few microseconds and allocates nothing unless it fails. It returns a *NoPoint
// (ErrNoOperatingPoint) where the curves do not meet within the fan curve, and a sentence for a condition that is NaN
// or out of range. Source: DESIGN.md section 4; fan laws; own solution, checked by hand in testdata/points.csv.
func (p *AirPath) Point(c Conditions) (OperatingPoint, error) {
	if err := c.check(); err != nil {
		return OperatingPoint{}, err
	}
	r, hoodShare := p.resistances(c)
	ratio := float64(c.Speed) / p.speed
	over := func(q float64) float64 { return p.fanPressure(q, c) - r.at(q) }
	hi := p.knots[len(p.knots)-1] * ratio
	if over(hi) > 0 {
		return OperatingPoint{}, p.noPoint(hi, c, r, true)
	}
	for i := len(p.knots) - 2; i >= 0; i-- {
		lo := p.knots[i] * ratio
		if over(lo) <= 0 {
			hi = lo
			continue
		}
		q, err := solve.Root(over, lo, hi, 1e-9*hi)
		if err != nil {
			return OperatingPoint{}, fmt.Errorf("operating point: %w", err)
		}
		return p.describe(q, c, r, hoodShare), nil
	}
	return OperatingPoint{}, p.noPoint(p.knots[0]*ratio, c, r, false)
}

// check refuses conditions that are not numbers.
func (c *Conditions) check() error {
	switch {
	case !(c.FilterDP >= 0) || !(c.AfterFilterDP >= 0):
		return errors.New("the dP across filters and after-filter must be known and not negative")
	case !(c.Damper >= 0 && c.Damper <= 1):
		return fmt.Errorf("the damper's opening must lie between 0 and 100 %%; it is %s", c.Damper.In(unit.US))
	case !(c.Density > 0) || !(c.Viscosity > 0) || !(c.Speed > 0):
		return errors.New("density, viscosity and fan speed must be known and above zero")
	case !(c.DuctExtra > -1) || !(c.FanLoss >= 0 && c.FanLoss < 1) || !(c.LeakArea >= 0):
		return errors.New("extra duct resistance, lost fan pressure or leak area lies outside its range")
	}
	return nil
}

// resistances brings the conditions into the system's two laws, and gives the hoods' share of the flow. Hoods and leak
// hang on one suction s: Qh = sqrt(s/Rd), Ql = A sqrt(2 s/rho), so that Q = (1/sqrt(Rd) + A sqrt(2/rho)) sqrt(s).
func (p *AirPath) resistances(c Conditions) (r resistances, hoodShare float64) {
	rho, mu := float64(c.Density), float64(c.Viscosity)/p.mu
	r.duct, hoodShare = p.duct*rho*(1+c.DuctExtra), 1
	if c.LeakArea > 0 && r.duct > 0 {
		hoods, leak := 1/math.Sqrt(r.duct), float64(c.LeakArea)*math.Sqrt(2/rho)
		r.duct, hoodShare = 1/((hoods+leak)*(hoods+leak)), hoods/(hoods+leak)
	}
	if p.damper != nil {
		r.damper = p.damper.Resistance(c.Damper) * rho / 2
	}
	r.filter = float64(c.FilterDP) * mu / p.flow
	r.after = float64(c.AfterFilterDP) * mu / p.flow
	return r, hoodShare
}

// fanPressure is the fan's static pressure at a flow within its curve [Pa].
func (p *AirPath) fanPressure(q float64, c Conditions) float64 {
	dp, err := p.curve.Pressure(unit.Flow(q), c.Density, c.Speed)
	if err != nil {
		return math.NaN()
	}
	return float64(dp) * (1 - c.FanLoss)
}

// describe fills in the operating point at the flow found.
func (p *AirPath) describe(q float64, c Conditions, r resistances, hoodShare float64) OperatingPoint {
	o := OperatingPoint{Flow: unit.Flow(q), HoodFlow: unit.Flow(q * hoodShare), Inlet: unit.Pressure(r.duct * q * q), Damper: unit.Pressure(r.damper * q * q),
		Filters: unit.Pressure(r.filter * q), AfterFilter: unit.Pressure(r.after * q)}
	o.Fan = o.Inlet + o.Damper + o.Filters + o.AfterFilter
	o.Power, o.Current, o.CurrentSD = p.load(o.Flow, c)
	_, peak := p.curve.Peak(c.Density, c.Speed)
	o.Rising = o.Flow < peak
	return o
}

// load is shaft power and motor current at a flow; NaN where they are not known.
func (p *AirPath) load(q unit.Flow, c Conditions) (unit.Power, unit.Current, unit.Current) {
	nan := math.NaN()
	shaft, err := p.curve.Power(q, c.Density, c.Speed)
	if err != nil { // no power points, or none there: not known
		return unit.Power(nan), unit.Current(nan), unit.Current(nan)
	}
	amps, err := p.motor.Current(shaft)
	if err != nil { // the nameplate is not complete: not known
		return shaft, unit.Current(nan), unit.Current(nan)
	}
	return shaft, amps.Value, amps.Sigma
}

// noPoint explains at one end of the curve.
func (p *AirPath) noPoint(q float64, c Conditions, r resistances, beyond bool) *NoPoint {
	o := p.describe(q, c, r, 1)
	return &NoPoint{Beyond: beyond, Flow: o.Flow, Fan: unit.Pressure(p.fanPressure(q, c)),
		Inlet: o.Inlet, Filters: o.Filters, AfterFilter: o.AfterFilter, Damper: o.Damper}
}

// PointFromReading finds the operating point from the dP read across the filters, whatever the flow is, and the other
// conditions (FilterDP is ignored). Beside it stands the filters' dP carried to design flow and RefTemperature, as
// Conditions want it. It is the step from a gauge to a flow: the fan's curve, the damper and the reading leave only
// one flow open. A reading that is NaN or negative is an error. Other errors, units and source as Point.
func (p *AirPath) PointFromReading(c Conditions, reading unit.Pressure) (OperatingPoint, unit.Pressure, error) {
	nan := unit.Pressure(math.NaN())
	c.FilterDP = 0
	if err := c.check(); err != nil || !(reading >= 0) {
		return OperatingPoint{}, nan, errors.Join(err, errors.New("the dP read across the filters must be known and not negative"))
	}
	r, hoodShare := p.resistances(c)
	ratio := float64(c.Speed) / p.speed
	over := func(q float64) float64 { return p.fanPressure(q, c) - r.at(q) - float64(reading) }
	lo, hi := p.knots[0]*ratio, p.knots[len(p.knots)-1]*ratio
	_, peak := p.curve.Peak(c.Density, c.Speed)
	if over(float64(peak)) > 0 {
		lo = float64(peak)
	}
	q, err := solve.Root(over, lo, hi, 1e-9*hi)
	if err != nil || q <= 0 {
		end := lo
		if over(hi) > 0 {
			end = hi
		}
		none := p.noPoint(end, c, r, end == hi)
		none.Filters = reading
		return OperatingPoint{}, nan, none
	}
	r.filter = float64(reading) / q
	at := unit.Pressure(r.filter * p.flow * p.mu / float64(c.Viscosity))
	return p.describe(q, c, r, hoodShare), at, nil
}

// Point is AirPath's Point for a single answer; a loop builds the AirPath once.
func (c *Collector) Point(cond Conditions) (OperatingPoint, error) {
	p, err := c.AirPath()
	if err != nil {
		return OperatingPoint{}, err
	}
	return p.Point(cond)
}
