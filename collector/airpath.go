package collector

import (
	"fmt"
	"math"
	"sort"

	"dustwright/air"
	"dustwright/fan"
	"dustwright/unit"
)

// RefTemperature is what the machine's own figures (inlet suction, damper points, clean dP) are taken at where the
// file does not say otherwise, and what is reckoned with where no temperature is given: 20 degC. common practice, no
// source.
const RefTemperature unit.Temperature = unit.ZeroCelsius + 20

// refHumidity goes with RefTemperature; between dry and saturated air the density at 20 degC moves by 1 %.
const refHumidity unit.Share = 0.5

// AirPath is the way of the air from the hoods through filters, after-filter and damper to the fan, made ready
// for solving: build it once with Collector.AirPath, then call Point as often as wanted. It never changes:
// safe for concurrent use.
type AirPath struct {
	curve  *fan.Curve
	knots  []float64 // flows of the curve's points at its own speed [m3/s], rising
	speed  float64   // the file's speed, or 1 where it is not known [1/s]
	motor  fan.Motor
	damper *fan.Damper // nil where nothing is known of it

	flow     float64 // design [m3/s]
	duct     float64 // inlet and ducts: dp = duct rho Q^2 [1/m4]; 0 where they are counted with the damper or not known
	filterDP float64 // new filters at design flow, reference air [Pa]
	afterDP  float64 // new after-filter at design flow, reference air [Pa]; 0 where there is none
	rho      float64 // site density at RefTemperature [kg/m3]
	mu       float64 // viscosity at RefTemperature [Pa s]

	gaps []Gap
}

// Gap is something the file does not say, and what that does to the answer.
type Gap struct {
	Key  string // the key that would close it, such as "duty.inlet_sp"
	Text Text   // what is reckoned with instead, or what cannot be said
}

// SiteAir is the air at the collector's elevation at a temperature and humidity; NaN takes RefTemperature and
// 50 %, and an unknown elevation counts as sea level (SiteAir is then up to 1 % too heavy for every 90 m).
func (c *Collector) SiteAir(t unit.Temperature, rh unit.Share) air.State {
	if math.IsNaN(float64(t)) {
		t = RefTemperature
	}
	if math.IsNaN(float64(rh)) {
		rh = refHumidity
	}
	z := c.Site.Elevation
	if math.IsNaN(float64(z)) {
		z = 0
	}
	return air.State{T: t, P: air.StandardPressure(z), RH: rh}
}

// AirPath makes the way of the air ready for solving. It returns ErrMissing, with the keys, where the file says too
// little for any operating point; what is merely less certain stands in Gaps. Densities: the fan's curve at [fan].density,
// inlet suction and damper points at the site's density at 20 degC.
func (c *Collector) AirPath() (*AirPath, error) { return c.airPath(tweak{}) }

// tweak is a small change of what the file says, to see what it does to an answer. The zero value changes nothing.
type tweak struct {
	curve      float64        // share added to the fan curve's pressures
	duct       float64        // standard deviations added to inlet and duct loss
	dampFlow   float64        // share added to the flows of the damper points
	fanDensity float64        // share added to the curve's density
	kind       fan.DamperKind // shape of the damper's law between and beyond its points
}

func (c *Collector) airPath(w tweak) (*AirPath, error) {
	if len(c.Fan.Curve) == 0 || !(c.Duty.Flow > 0) {
		return nil, &Missing{What: "the operating point", Keys: absent(c, "duty.flow", "fan.curve")}
	}
	site := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	p := &AirPath{flow: float64(c.Duty.Flow), rho: float64(site.Density()), mu: float64(site.Viscosity())}
	p.motor = fan.Motor{Rated: c.Fan.MotorPower, Voltage: c.Fan.Voltage, FullLoad: c.Fan.FullLoadCurrent,
		Efficiency: c.Fan.MotorEfficiency, PowerFactor: c.Fan.PowerFactor}
	if math.IsNaN(float64(c.Site.Elevation)) {
		p.gap("site.elevation", Say("the air density is reckoned for sea level"))
	}
	if err := p.addFan(c, w); err != nil {
		return nil, err
	}
	p.addFilters(c)
	p.addDuct(c, w)
	return p, p.addDamper(c, w)
}

// gap notes what the file does not say.
func (p *AirPath) gap(key string, text Text) { p.gaps = append(p.gaps, Gap{key, text}) }

// Gaps lists what the file does not say and what that does to the answer.
func (p *AirPath) Gaps() []Gap { return append([]Gap(nil), p.gaps...) }

// Motor is the fan's motor as the nameplate describes it; unknown figures are NaN.
func (p *AirPath) Motor() fan.Motor { return p.motor }

// DamperKnown reports whether damper points calibrate the damper, so that positions can be given.
func (p *AirPath) DamperKnown() bool { return p.damper != nil }

// addFan reads the curve.
func (p *AirPath) addFan(c *Collector, w tweak) error {
	rho := float64(c.Fan.Density)
	if math.IsNaN(rho) {
		rho = unit.StdAirDensity
		p.gap("fan.density", Say("the fan curve is taken to be for standard air, %s", unit.Density(rho)))
	}
	p.speed = float64(c.Fan.Speed)
	if math.IsNaN(p.speed) {
		p.speed = 1
		p.gap("fan.speed", Say("the fan is taken to run at its curve's speed, and another speed cannot be asked for"))
	}
	points := make([]fan.CurvePoint, len(c.Fan.Curve))
	for i, f := range c.Fan.Curve {
		points[i] = fan.CurvePoint{Flow: f.Flow, Pressure: f.Pressure * unit.Pressure(1+w.curve)}
		p.knots = append(p.knots, float64(f.Flow))
	}
	sort.Float64s(p.knots)
	power := make([]fan.PowerPoint, len(c.Fan.Power))
	for i, f := range c.Fan.Power {
		power[i] = fan.PowerPoint(f)
	}
	var err error
	p.curve, err = fan.NewCurve(points, power, unit.Speed(p.speed), unit.Density(rho*(1+w.fanDensity)))
	if err != nil {
		return fmt.Errorf("[fan] curve: %w", err)
	}
	return nil
}

// addDamper works the commissioning points out into losses: what the fan gave at the measured flow, less inlet and
// ducts, filters and after-filter.
func (p *AirPath) addDamper(c *Collector, w tweak) error {
	if len(c.Damper.Points) == 0 {
		p.gap("damper.points", Say("the damper's loss is not known, so the flow found is the most there can be, and no damper position can be given"))
		return nil
	}
	spec := fan.DamperSpec{Kind: w.kind}
	for _, d := range c.Damper.Points {
		loss, err := p.damperLoss(c, d, w)
		if err != nil {
			return err
		}
		spec.Points = append(spec.Points, fan.DamperPoint{Open: d.Open, Flow: d.Flow * unit.Flow(1+w.dampFlow),
			Loss: loss, Rho: unit.Density(p.rho)})
	}
	var err error
	p.damper, err = fan.NewDamper(spec)
	if err != nil {
		return fmt.Errorf("[damper] points do not belong together with fan curve and inlet suction: %w", err)
	}
	return nil
}

// damperLoss is what is left for the damper at one commissioning point [Pa].
func (p *AirPath) damperLoss(c *Collector, d DamperPoint, w tweak) (unit.Pressure, error) {
	q := float64(d.Flow) * (1 + w.dampFlow)
	given, err := p.curve.Pressure(unit.Flow(q), unit.Density(p.rho), unit.Speed(p.speed))
	if err != nil {
		return 0, fmt.Errorf("[damper] points: at the opening %s: %w", d.Open.In(unit.US), err)
	}
	after := 0.0
	if c.AfterFilter.Fitted {
		after = p.afterDP * q / p.flow
	}
	return given - unit.Pressure(p.duct*p.rho*q*q+after) - d.FilterDP, nil
}
