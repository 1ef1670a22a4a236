package sense

import (
	"math"
	"sort"

	"dustwright/air"
	"dustwright/collector"
	"dustwright/fan"
	"dustwright/unit"
)

// Names of the ways to infer the airflow, as they stand in FlowMethod and in sentences.
const (
	ByMeasurement = "measured"
	ByFlowIndex   = "flow index"
	ByInletSP     = "inlet static pressure"
	ByPower       = "fan power"
	ByCurrent     = "fan current"
	ByDamper      = "damper, fan curve and dP"
	ByCurve       = "fan curve and dP"
	ByDesign      = "design"
)

// A way to the airflow is off by a share that stays (scale: commissioning, curve, calibration) and by
// one that comes and goes (own: reading, density, what was left out). Common practice, no source;
// the traverse's 3 % and the fan curve's 3 % are those of package collector.
const (
	measuredScale, measuredOwn = 0.03, 0.01
	indexScale, indexOwn       = 0.10, 0.01
	suctionScale, suctionOwn   = 0.04, 0.015
	ownSuctionScale            = 0.10         // suction at design flow not in the file, the first days stand in
	loadScale, loadOwn         = 0.035, 0.010 // of power or current, before the curve's slope
	damperScale, damperOwn     = 0.05, 0.02
	curveScale, curveOwn       = 0.07, 0.03
	designScale, designOwn     = 0.10, 0.06
)

// way is one way to the airflow.
type way struct {
	name    string
	from    Channel                                    // the channel it stands on; NumChannels for none
	share   func(*Reading) (share, own, scale float64) // NaN where it does not apply
	assumed bool                                       // it takes ducts, fan and damper for what they were: a fault of theirs parts it from the others
	byEarly bool                                       // what it shows at design flow is not in the file: the record's first days stand in
	off     float64                                    // what it showed over all together in the record's first days; 0 not known
	offBut  [numLeft]float64                           // where it goes by those days: what it showed over the ways that stand on neither it nor what is left out
}

// What may be left out of the ways, so that it can be held against them.
const (
	leftNone = iota
	leftSuction
	leftLoad
	leftCurve
	numLeft
)

// leftOut tells which of these is left out.
func leftOut(leave []Channel) int {
	switch {
	case len(leave) == 0:
		return leftNone
	case leave[0] == InletSP:
		return leftSuction
	case leave[0] == Damper:
		return leftCurve
	}
	return leftLoad
}

// inferred is an airflow over design with its widths: own is that of this reading, scale what all
// readings share.
type inferred struct {
	share, own, scale float64
	methods           []FlowMethod
}

// sigma is the whole width.
func (f inferred) sigma() float64 { return math.Hypot(f.own, f.scale) }

// airflow infers the airflow over design from readings.
type airflow struct {
	c       *collector.Collector
	design  float64 // [m3/s]; NaN unknown
	rho0    float64 // [kg/m3] the site's air at 20 degC
	mu0     float64 // [Pa s]
	baro0   float64 // [Pa]
	suction float64 // size of the inlet static pressure at design flow [Pa]; NaN unknown
	sScale  float64
	index   float64 // flow index at design flow
	curve   *fan.Curve
	path    *collector.AirPath
	rest    float64        // fan pressure at design flow left for ducts and damper [Pa]; NaN unknown
	after0  float64        // new after-filter at design flow [Pa]
	byOpen  map[int]*table // share over dP, by opening in percent
	byCurve *table         // the same with the opening of commissioning, set with clean filters
	byLate  *table         // the same, set with seasoned filters
	input   *table         // electric power over share [W]
	amps    *table         // motor current over share [A]
	ways    []way
}

// newAirflow makes the inference ready from the collector file and, where the file leaves out what a
// channel shows at design flow, from the record's first days. h may be empty.
func newAirflow(c *collector.Collector, h *History) *airflow {
	nan := math.NaN()
	a := &airflow{c: c, design: nan, suction: nan, index: nan, rest: nan, byOpen: map[int]*table{}}
	site := c.SiteAir(unit.Temperature(nan), unit.Share(nan))
	a.rho0, a.mu0, a.baro0 = float64(site.Density()), float64(site.Viscosity()), float64(site.P)
	if c.Duty.Flow > 0 {
		a.design = float64(c.Duty.Flow)
	}
	a.suction, a.sScale = math.Abs(float64(c.Duty.InletSP)), suctionScale
	if !(a.suction > 0) {
		a.suction, a.sScale = math.Abs(early(h, InletSP)), ownSuctionScale
	}
	a.index = early(h, FlowIndex)
	if !driven(h.Passes) {
		a.addFan()
	}
	a.ways = []way{
		{name: ByMeasurement, from: Flow, share: a.measured},
		{name: ByInletSP, from: InletSP, share: a.fromSuction, byEarly: !(math.Abs(float64(c.Duty.InletSP)) > 0)},
		{name: ByFlowIndex, from: FlowIndex, share: a.fromIndex, byEarly: true},
		{name: ByPower, from: FanPower, share: func(r *Reading) (float64, float64, float64) { return a.fromLoad(a.input, r.Of(FanPower), r) }},
		{name: ByCurrent, from: FanCurrent, share: func(r *Reading) (float64, float64, float64) { return a.fromLoad(a.amps, r.Of(FanCurrent), r) }},
		{name: ByDamper, from: Damper, share: a.fromDamper, assumed: true},
		{name: ByCurve, from: DP, share: a.fromCurve, assumed: true},
	}
	a.calibrate(h)
	a.align(h)
	return a
}

// earlyHours is how many running hours at the beginning of a record stand for commissioning where
// the file does not say what a channel shows at design flow.
const earlyHours = 48

// early returns the median of the hourly means of a channel over the first running hours; NaN for none.
func early(h *History, c Channel) float64 {
	var v []float64
	hours := 0.0
	for i := range h.Hours {
		if x := h.Hours[i].Mean(c); x == x && h.Hours[i].Running > 0 {
			v = append(v, x)
		}
		if hours += float64(h.Hours[i].Running); hours > earlyHours && len(v) > 0 {
			break
		}
	}
	return medianOf(v)
}

// addFan tabulates what the fan's curve says.
func (a *airflow) addFan() {
	points := make([]fan.CurvePoint, len(a.c.Fan.Curve))
	for i, p := range a.c.Fan.Curve {
		points[i] = fan.CurvePoint{Flow: p.Flow, Pressure: p.Pressure}
	}
	power := make([]fan.PowerPoint, len(a.c.Fan.Power))
	for i, p := range a.c.Fan.Power {
		power[i] = fan.PowerPoint(p)
	}
	speed, rho := a.c.Fan.Speed, a.c.Fan.Density
	if !(speed > 0) {
		speed = 1
	}
	if !(rho > 0) {
		rho = unit.StdAirDensity
	}
	curve, err := fan.NewCurve(points, power, speed, rho)
	if err != nil || math.IsNaN(a.design) {
		return // no curve, or one the collector's own check complains about: this way stays closed
	}
	a.curve = curve
	a.path, _ = a.c.AirPath() // an error closes the way by the damper; collector.Check reports it
	if a.c.AfterFilter.Fitted && a.c.AfterFilter.CleanDP > 0 {
		a.after0 = float64(a.c.AfterFilter.CleanDP)
	}
	if a.c.Filters.CleanDP > 0 {
		a.rest = a.pressure(1) - float64(a.c.Filters.CleanDP) - a.after0
	}
	a.addCurveTable()
	a.addLoadTables()
}

// pressure is the fan's static pressure at a share of design flow, in the site's air [Pa].
func (a *airflow) pressure(share float64) float64 {
	speed, _ := a.curve.Reference()
	p, err := a.curve.Pressure(unit.Flow(share*a.design), unit.Density(a.rho0), speed)
	if err != nil {
		return math.NaN()
	}
	return float64(p)
}

// tableSize is the number of points of a table over the share of design flow, lowest and highest the
// shares it covers.
const (
	tableSize       = 49
	lowest, highest = 0.20, 1.64
)

func tableShare(i int) float64 { return lowest + (highest-lowest)*float64(i)/(tableSize-1) }

// table holds y over the share of design flow, on the points where it is known.
type table struct{ share, y []float64 }

// at returns y at a share; NaN outside.
func (t *table) at(share float64) float64 {
	n := len(t.share)
	if n < 2 || !(share >= t.share[0] && share <= t.share[n-1]) {
		return math.NaN()
	}
	i := min(int((share-t.share[0])/(t.share[1]-t.share[0])), n-2)
	f := (share - t.share[i]) / (t.share[i+1] - t.share[i])
	return t.y[i] + f*(t.y[i+1]-t.y[i])
}

// inverse returns the share at which a falling or rising stretch of y has the value, and the slope
// there; NaN outside.
func (t *table) inverse(y float64, falling bool) (share, slope float64) {
	n := len(t.y)
	if n < 2 || y != y {
		return math.NaN(), math.NaN()
	}
	i := sort.Search(n, func(i int) bool {
		if falling {
			return t.y[i] <= y
		}
		return t.y[i] >= y
	})
	if i == 0 || i == n {
		return math.NaN(), math.NaN()
	}
	slope = (t.y[i] - t.y[i-1]) / (t.share[i] - t.share[i-1])
	return t.share[i-1] + (y-t.y[i-1])/slope, slope
}

// tabulate fills a table where f is known, and cuts it to its longest falling or rising stretch that
// ends at the highest share (falling) or begins at the lowest (rising).
func tabulate(f func(share float64) float64, falling bool) *table {
	var t table
	for i := range tableSize {
		s := tableShare(i)
		y := f(s)
		n := len(t.y)
		switch {
		case y != y:
			if n > 0 {
				return &t
			}
			continue
		case n > 0 && falling && y >= t.y[n-1]:
			t.share, t.y = t.share[:0], t.y[:0]
		case n > 0 && !falling && y <= t.y[n-1]:
			return &t
		}
		t.share, t.y = append(t.share, s), append(t.y, y)
	}
	return &t
}

// lateDP is how many times the clean dP the filters may have had when the damper was set, where the file
// gives no set points. Common practice, no source.
const lateDP = 3

// addCurveTable tabulates the dP left for the filters with the damper as at commissioning.
func (a *airflow) addCurveTable() {
	if !(a.rest > 0) {
		return
	}
	left := func(rest float64) *table {
		return tabulate(func(s float64) float64 { return a.pressure(s) - rest*s*s - a.after0*s }, true)
	}
	a.byCurve = left(a.rest)
	clean, late := float64(a.c.Filters.CleanDP), float64(a.c.SetPoints.Low)
	if !(late > clean) {
		late = lateDP * clean
	}
	a.byLate = left(max(0, a.rest-(late-clean)))
}

// addLoadTables tabulates motor power and current.
func (a *airflow) addLoadTables() {
	if !a.curve.HasPower() {
		return
	}
	motor := fan.Motor{Rated: a.c.Fan.MotorPower, Voltage: a.c.Fan.Voltage, FullLoad: a.c.Fan.FullLoadCurrent,
		Efficiency: a.c.Fan.MotorEfficiency, PowerFactor: a.c.Fan.PowerFactor}
	speed, _ := a.curve.Reference()
	shaft := func(s float64) unit.Power {
		p, err := a.curve.Power(unit.Flow(s*a.design), unit.Density(a.rho0), speed)
		if err != nil {
			return unit.Power(math.NaN())
		}
		return p
	}
	if a.c.Fan.MotorPower > 0 {
		a.input = tabulate(func(s float64) float64 { return float64(motor.Input(shaft(s))) }, false)
	}
	a.amps = tabulate(func(s float64) float64 {
		i, err := motor.Current(shaft(s))
		if err != nil {
			return math.NaN()
		}
		return float64(i.Value)
	}, false)
}

// density returns the air's density over that of the site at 20 degC; 1 where the reading has no temperature.
func (a *airflow) density(r *Reading) float64 {
	d := 1.0
	if t := r.Of(Temperature); t > 0 {
		d = float64(collector.RefTemperature) / t
	}
	if p := r.Of(Barometer); p > 0 {
		d *= p / a.baro0
	}
	return d
}

// viscosity returns the air's viscosity over that at 20 degC; 1 where the reading has no temperature.
func (a *airflow) viscosity(r *Reading) float64 {
	if t := r.Of(Temperature); t > 0 {
		return float64(air.Viscosity(unit.Temperature(t))) / a.mu0
	}
	return 1
}
