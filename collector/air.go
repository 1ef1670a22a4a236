package collector

import (
	"math"

	"dustwright/air"
	"dustwright/header"
	"dustwright/unit"
)

// AirLimit is the share of the supply that cleaning may take in the mean. Source: DESIGN.md section 4, life.
const AirLimit unit.Share = 0.8

// leakAllowance is the share of the supply set aside for leaks where nobody measured them: a well-kept shop loses about
// that much. common practice, no source.
const leakAllowance = 0.10

// AirRequest says what is known of the compressed air beyond the file. NaN leaves a field open; start with NewAirRequest.
type AirRequest struct {
	PipeBore, PipeLength unit.Length      // from receiver or main to the header, fittings' equivalent included
	LinePressure         unit.Pressure    // before the regulator, gauge
	Receiver             unit.Volume      // near the collector
	DewPoint             unit.Temperature // pressure dew point at LinePressure
	Coldest              unit.Temperature // of the place the line or header passes
	Leak                 unit.StdFlow     // measured
}

// NewAirRequest leaves everything open.
func NewAirRequest() AirRequest {
	nan := math.NaN()
	return AirRequest{unit.Length(nan), unit.Length(nan), unit.Pressure(nan), unit.Volume(nan), unit.Temperature(nan), unit.Temperature(nan), unit.StdFlow(nan)}
}

// AirUse is the answer to "is the compressed air good enough". Volumes and flows are at unit.ScfDensity. NaN is not
// known.
type AirUse struct {
	Pulse             header.Pulse // one of a long cleaning run, once it repeats itself
	First             header.Pulse // the first, out of a full header
	PerPulse          unit.Volume
	Low, High         unit.Volume // PerPulse lies between, about 95 times in 100
	PerCycle          unit.Volume // all valves once
	PerStop           unit.Volume // downtime cleaning after one stop of the fan
	WhileCleaning     unit.StdFlow
	Need              unit.StdFlow // what pulses out of a full header would take; more than WhileCleaning where it does not recover
	Supply            unit.StdFlow
	Leak              unit.StdFlow // allowed for, or measured
	Share             unit.Share   // (Need + Leak) over Supply
	ShortestInterval  unit.Seconds // at which Share is AirLimit
	PerYear           unit.Volume  // if it cleaned whenever it runs
	CostPerYear       float64      // of PerYear, in Cost.Currency
	CostPer1000Pulses float64
	PipeDrop          unit.Pressure // at the supply's flow
	Receiver          unit.Volume   // needed to carry one cycle that takes more than the supply brings; 0 if none
	DewAtHeader       unit.Temperature
	WaterClass        int // ISO 8573-1, 0 for none or not known
	Findings          []Finding
	Gaps              []Gap
}

// AirUse works out the pulse air: what a pulse takes, whether the header recovers before the next one, and whether
// supply, pipe and dryer are enough.
//
//	r      what is known beyond the file
//	result in SI; NaN for what the file or r does not allow to be said
//
// It returns ErrMissing where the header's volume, set pressure, on-time, interval or valve flow is not given. Source: package
// header for the physics; limits beside each finding.
func (c *Collector) AirUse(r AirRequest) (*AirUse, error) {
	need := absent(c, "header.volume", "header.set", "header.on_time", "header.interval", "header.valve_flow")
	if need != nil {
		return nil, &Missing{What: "the pulse air", Keys: need}
	}
	a := &airUse{c: c, r: r, u: &AirUse{Supply: c.Header.SupplyFlow}}
	a.pulses()
	a.demand()
	a.cost()
	a.line()
	a.moisture()
	return a.u, nil
}

// airUse is the working state.
type airUse struct {
	c *Collector
	r AirRequest
	u *AirUse
}

func (a *airUse) find(id string, w Weight, key string, text Text, source string) {
	a.u.Findings = append(a.u.Findings, Finding{id, w, key, text, source})
}

func (a *airUse) gap(key string, text Text) { a.u.Gaps = append(a.u.Gaps, Gap{key, text}) }

// ambient is the barometric pressure at the site.
func (a *airUse) ambient() unit.AbsPressure {
	z := a.c.Site.Elevation
	if math.IsNaN(float64(z)) {
		z = 0
	}
	return air.StandardPressure(z)
}

// valveWidth is two standard deviations of an installed valve's flow: what the valve's coefficient leaves open
// (unit.CoefficientWidth) and what the blowpipe behind it does (header.Installed), together. From memory.
const valveWidth = 0.27

// run fires pulses until they repeat themselves and returns the first and the last.
func (a *airUse) run(valve unit.Conductance) (first, last header.Pulse) {
	h := a.c.Header
	t := header.Tank{Volume: h.Volume, WallHeat: header.DefaultWallHeat(h.Volume), Ambient: a.ambient(),
		Supply: header.SupplyOf(h.Set, h.SupplyFlow)}
	v := header.DefaultValve(header.Installed(valve), h.OnTime)
	s := t.Equilibrium()
	for i := range 200 {
		var p header.Pulse
		p, s = t.Pulse(s, v, h.Interval)
		if i == 0 {
			first = p
		}
		if math.Abs(float64(p.Low-last.Low)) < 1e-4*float64(h.Set) {
			return first, p
		}
		last = p
	}
	return first, last
}

// pulses works out one pulse and the header's recovery.
func (a *airUse) pulses() {
	h, u := a.c.Header, a.u
	u.First, u.Pulse = a.run(h.ValveFlow)
	u.PerPulse = header.StdVolume(u.Pulse.Air)
	_, low := a.run(h.ValveFlow * (1 - valveWidth))
	_, high := a.run(h.ValveFlow * (1 + valveWidth))
	u.Low, u.High = header.StdVolume(low.Air), header.StdVolume(high.Air)
	drop := unit.Share(u.First.Drop() / u.First.Before)
	if drop > 0.5 {
		a.find("header-small", Odd, "header.volume", Say("a pulse takes %s off the header's %s; 25 to 50 %% is usual: the header is small for its valve, or the on-time long", drop, u.First.Before),
			"EPA fabric filter texts, from memory")
	}
	if math.IsNaN(float64(h.SupplyFlow)) {
		a.gap("header.supply_flow", Say("whether the header recovers between pulses, and what share of the supply cleaning takes, cannot be said"))
		return
	}
	if u.Pulse.Recovered < 0.95 || u.Pulse.Before < 0.95*h.Set {
		a.find("header-recovery", Wrong, "header.interval", Say("in a long cleaning run the header does not recover within the %s interval: pulses start from %s instead of %s",
			h.Interval, u.Pulse.Before, h.Set), commonPractice)
	}
}

// demand sets use against supply.
func (a *airUse) demand() {
	h, u := a.c.Header, a.u
	rows := float64(a.c.Filters.Rows)
	u.PerCycle = u.PerPulse * unit.Volume(rows)
	u.PerStop = u.PerCycle * unit.Volume(max(0, a.c.Cleaning.DowntimeCycles))
	u.WhileCleaning = unit.StdFlow(float64(u.PerPulse) / float64(h.Interval))
	u.Leak = a.r.Leak
	if math.IsNaN(float64(u.Leak)) {
		u.Leak = leakAllowance * u.Supply
	}
	u.Need = unit.StdFlow(float64(header.StdVolume(u.First.Air)) / float64(h.Interval))
	u.Share = unit.Share((u.Need + u.Leak) / u.Supply)
	u.ShortestInterval = unit.Seconds(float64(header.StdVolume(u.First.Air)) / float64(unit.StdFlow(AirLimit)*u.Supply-u.Leak))
	if u.ShortestInterval <= 0 {
		u.ShortestInterval = unit.Seconds(math.NaN())
	}
	if u.Share > AirLimit {
		a.find("air-short", Wrong, "header.supply_flow", Say("while it cleans it takes %s of the supply, leaks included; %s is the limit: bring more air, or pulse no faster than every %s",
			u.Share, AirLimit, u.ShortestInterval), "the limit this tool works with")
	}
}

// cost prices a year's pulses.
func (a *airUse) cost() {
	u, k := a.u, a.c.Cost
	const weeks = 52
	hours := float64(a.c.Duty.RunPerWeek) * weeks // [s] in a year
	u.PerYear = unit.Volume(float64(u.WhileCleaning) * hours)
	per := k.AirPer
	if math.IsNaN(per) && !math.IsNaN(k.ElectricityPer) {
		per = float64(header.AirEnergy(1, header.PackagePower)) * k.ElectricityPer
		a.gap("cost.compressed_air", Say("compressed air is priced by its electricity alone, at {22 kW per 100 cfm|7.8 kW per m³/min} (from memory)"))
	}
	if math.IsNaN(per) {
		a.gap("cost.compressed_air", Say("what the pulse air costs cannot be said"))
	}
	if math.IsNaN(hours) {
		a.gap("duty.hours_per_week", Say("what a year takes cannot be said"))
	}
	u.CostPerYear = float64(u.PerYear) * per
	u.CostPer1000Pulses = 1000 * float64(u.PerPulse) * per
}

// line checks pipe and receiver.
func (a *airUse) line() {
	u, r, h := a.u, a.r, a.c.Header
	flow := h.SupplyFlow
	if math.IsNaN(float64(flow)) {
		flow = u.WhileCleaning
	}
	p := r.LinePressure
	if math.IsNaN(float64(p)) {
		p = h.Set
	}
	u.PipeDrop = header.PipeDrop(flow, r.PipeLength, r.PipeBore, unit.AbsPressure(p)+a.ambient(), header.PipeHigh)
	if u.PipeDrop > p/10 {
		a.find("pipe-small", Odd, "", Say("the pipe loses %s at %s, more than a tenth of its %s: take a wider one", u.PipeDrop, flow, p), commonPractice)
	}
	cycle := unit.Seconds(float64(h.Interval) * float64(a.c.Filters.Rows))
	u.Receiver = max(0, header.ReceiverVolume(cycle, u.Need-h.SupplyFlow, r.LinePressure, h.Set, a.ambient()))
	if r.LinePressure <= h.Set {
		u.Receiver = unit.Volume(math.NaN())
		a.find("line-pressure", Wrong, "header.set", Say("the line has %s, no more than the header's set %s: the regulator cannot hold it", r.LinePressure, h.Set), "definition")
	}
	if u.Receiver > r.Receiver {
		a.find("receiver-small", Odd, "", Say("to carry one cycle of all valves a receiver of %s is needed between %s and %s; it has %s",
			u.Receiver, r.LinePressure, h.Set, r.Receiver), "V = t (out - in) Pa/(p1 - p2)")
	}
}

// moisture checks the dew point.
func (a *airUse) moisture() {
	u, r, h := a.u, a.r, a.c.Header
	p := r.LinePressure
	if math.IsNaN(float64(p)) {
		p = h.Set
	}
	u.DewAtHeader = header.DewPointAt(r.DewPoint, unit.AbsPressure(p)+a.ambient(), unit.AbsPressure(h.Set)+a.ambient())
	if !math.IsNaN(float64(r.DewPoint)) {
		u.WaterClass = header.WaterClass(r.DewPoint)
	}
	if r.DewPoint > r.Coldest {
		a.find("air-wet", Wrong, "", Say("the dew point in the line, %s, lies above the coldest place, %s: water drops out there and goes into the cake", r.DewPoint, r.Coldest), "definition of the dew point")
	} else if r.DewPoint+5 > r.Coldest {
		a.find("air-wet", Odd, "", Say("the dew point in the line, %s, lies less than 5 K below the coldest place, %s", r.DewPoint, r.Coldest), commonPractice)
	}
}
