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
	SupplyMeasured    bool         // Supply follows from a recovery test: the file gives none, or the header surely came back slower
	Leak              unit.StdFlow // allowed for, or measured
	LeakMeasured      bool
	Share             unit.Share   // (Need + Leak) over Supply
	ShortestInterval  unit.Seconds // at which Share is AirLimit
	PerYear           unit.Volume  // if it cleaned whenever it runs
	CostPerYear       float64      // of PerYear, in Cost.Currency
	CostPer1000Pulses float64
	LeakPerYear       unit.Volume // of Leak if it was measured, under pressure all year; else NaN
	LeakCostPerYear   float64
	Specific          float64 // electricity of the compressor per flow of free air [W per m3/s]
	SpecificKnown     bool    // else header.PackagePower
	EnergyPerYear     unit.Energy
	PipeDrop          unit.Pressure // at the supply's flow
	Receiver          unit.Volume   // needed to carry one cycle that takes more than the supply brings; 0 if none
	ReceiverPulses    float64       // that the receiver there carries by itself, from the line's pressure down to the header's
	DewAtHeader       unit.Temperature
	WaterClass        int                // ISO 8573-1, by the dew point; 0 for none or not known
	Liquid            unit.Concentration // that drops out at the coldest place and stays in the air where nothing drains it [kg/m3 of free air]; NaN for none
	LiquidClass       int                // ISO 8573-1, by Liquid; 0 for more than a class allows
	HeaderLeak        *HeaderLeak        // nil without a leak test; likewise below
	Refill            *Refill
	Compressor        *Compressor
	Water             *Water
	Findings          []Finding
	Gaps              []Gap
}

// AirUse works out the pulse air: what a pulse takes, whether the header recovers before the next one, and whether
// supply, pipe and dryer are enough.
//
//	r      what is known beyond the file; r.Faults says what in it cannot be
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
	a.decay()
	a.refill()
	a.pulses()
	a.leaking()
	a.demand()
	a.compressor()
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

// pressure is that of the line ahead of the regulator, or the header's where it is not given.
func (a *airUse) pressure() unit.Pressure {
	if math.IsNaN(float64(a.r.LinePressure)) {
		return a.c.Header.Set
	}
	return a.r.LinePressure
}

// tank is the header with its leak, behind a regulator and a supply.
func (a *airUse) tank(set unit.Pressure, supply unit.StdFlow) header.Tank {
	v := a.c.Header.Volume
	t := header.Tank{Volume: v, WallHeat: header.DefaultWallHeat(v), Ambient: a.ambient(), Supply: header.SupplyOf(set, supply)}
	if a.u.HeaderLeak != nil {
		t.Leak = a.u.HeaderLeak.c
	}
	return t
}

// run fires pulses until they repeat themselves and returns the first and the last.
func (a *airUse) run(valve unit.Conductance) (first, last header.Pulse) {
	h := a.c.Header
	t := a.tank(h.Set, a.u.Supply)
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
	if math.IsNaN(float64(u.Supply)) {
		a.gap("header.supply_flow", Say("whether the header recovers between pulses, and what share of the supply cleaning takes, cannot be said; a gauge and a watch on one pulse tell it"))
		return
	}
	if u.Pulse.Recovered < 0.95 || u.Pulse.Before < a.c.Recovered() {
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
	u.Leak, u.LeakMeasured = a.r.Leak, true
	switch {
	case !math.IsNaN(float64(u.Leak)):
	case u.HeaderLeak != nil:
		u.Leak = u.HeaderLeak.Flow
	default:
		u.Leak, u.LeakMeasured = leakAllowance*u.Supply, false
	}
	u.Need = unit.StdFlow(float64(header.StdVolume(u.First.Air)) / float64(h.Interval))
	u.Share = unit.Share((u.Need + u.Leak) / u.Supply)
	u.ShortestInterval = unit.Seconds(float64(header.StdVolume(u.First.Air)) / float64(unit.StdFlow(AirLimit)*u.Supply-u.Leak))
	if u.ShortestInterval <= 0 {
		u.ShortestInterval = unit.Seconds(math.NaN())
	}
	switch {
	case u.Share > AirLimit && math.IsNaN(float64(u.ShortestInterval)):
		a.find("air-short", Wrong, "header.supply_flow", Say("leaks alone take %s of the %s supplied, more than the %s that may be used in all: find them before anything else", u.Leak, u.Supply, AirLimit), "the limit this tool works with")
	case u.Share > AirLimit:
		a.find("air-short", Wrong, "header.supply_flow", Say("while it cleans it takes %s of the supply, leaks included; %s is the limit: bring more air, or pulse no faster than every %s",
			u.Share, AirLimit, u.ShortestInterval), "the limit this tool works with")
	}
}

// year is how long a line that nobody shuts stands under pressure [s].
const year = 365 * 86400

// price is what a cubic metre of compressed air costs: the file's, or its electricity alone; NaN where neither is given.
func (a *airUse) price() float64 {
	k := a.c.Cost
	if math.IsNaN(k.AirPer) {
		return float64(header.AirEnergy(1, a.u.Specific)) * k.ElectricityPer
	}
	return k.AirPer
}

// cost prices a year's pulses and the leak.
func (a *airUse) cost() {
	u, k, per := a.u, a.c.Cost, a.price()
	const weeks = 52
	hours := float64(a.c.Duty.RunPerWeek) * weeks // [s] in a year
	u.PerYear = unit.Volume(float64(u.WhileCleaning) * hours)
	u.EnergyPerYear = header.AirEnergy(u.PerYear, u.Specific)
	switch {
	case math.IsNaN(per):
		a.gap("cost.compressed_air", Say("what the pulse air costs cannot be said"))
	case math.IsNaN(k.AirPer) && u.SpecificKnown:
		a.gap("cost.compressed_air", Say("compressed air is priced by its electricity alone"))
	case math.IsNaN(k.AirPer):
		a.gap("cost.compressed_air", Say("compressed air is priced by its electricity alone, at %s (from memory)", specificPower(u.Specific)))
	}
	if math.IsNaN(hours) {
		a.gap("duty.hours_per_week", Say("what a year takes cannot be said"))
	}
	u.CostPerYear = float64(u.PerYear) * per
	u.CostPer1000Pulses = 1000 * float64(u.PerPulse) * per
	u.LeakPerYear = unit.Volume(math.NaN())
	if u.LeakMeasured {
		u.LeakPerYear = unit.Volume(u.Leak * year)
	}
	u.LeakCostPerYear = float64(u.LeakPerYear) * per
}

// line checks pipe and receiver.
func (a *airUse) line() {
	u, r, h := a.u, a.r, a.c.Header
	flow := u.Supply
	if math.IsNaN(float64(flow)) {
		flow = u.WhileCleaning
	}
	p := a.pressure()
	u.PipeDrop = header.PipeDrop(flow, r.PipeLength, r.PipeBore, unit.AbsPressure(p)+a.ambient(), header.PipeHigh)
	if u.PipeDrop > p/10 {
		a.find("pipe-small", Odd, "", Say("the pipe loses %s at %s, more than a tenth of its %s: take a wider one", lineDrop(u.PipeDrop), flow, p), commonPractice)
	}
	cycle := unit.Seconds(float64(h.Interval) * float64(a.c.Filters.Rows))
	u.Receiver = max(0, header.ReceiverVolume(cycle, u.Need-u.Supply, r.LinePressure, h.Set, a.ambient()))
	if r.LinePressure <= h.Set {
		u.Receiver = unit.Volume(math.NaN())
		a.find("line-pressure", Wrong, "header.set", Say("the line has %s, no more than the header's set %s: the regulator cannot hold it", r.LinePressure, h.Set), "definition")
	}
	u.ReceiverPulses = math.NaN()
	if r.LinePressure > h.Set {
		u.ReceiverPulses = float64(header.UsableAir(r.Receiver, r.LinePressure, h.Set, stdPressure) / u.PerPulse)
	}
	if math.IsNaN(float64(r.LinePressure)) && !math.IsNaN(float64(r.Receiver)) {
		a.find("receiver-small", Note, "", Say("the receiver of %s is not checked: that needs the pressure before the regulator", r.Receiver), "definition")
	}
	if u.Receiver > r.Receiver {
		a.find("receiver-small", Odd, "", Say("to carry one cycle of all valves a receiver of %s is needed between %s and %s; it has %s",
			u.Receiver, r.LinePressure, h.Set, r.Receiver), "V = t (out - in) Pa/(p1 - p2)")
	}
}
