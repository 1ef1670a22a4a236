package collector

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

// HeaderLeak is what a leak test of the header says: supply shut, cleaning off, gauge and watch.
type HeaderLeak struct {
	Lost      unit.StdFlow  // mean over the test, by the fall alone, for air kept warm
	Flow      unit.StdFlow  // at the set pressure
	Low, High unit.StdFlow  // Flow lies between, about 95 times in 100
	Hole      unit.Length   // diameter of a sharp-edged round hole that leaks as much; 0 for a tight header
	Share     unit.Share    // Flow over the supply
	Rest      unit.Pressure // gauge, where supply and leak balance with nothing pulsing; NaN where the supply is not known

	c, low, high unit.Conductance
}

// stdPressure is what a standard cubic foot of compressed air is counted at, see unit.ScfDensity [Pa abs].
const stdPressure unit.AbsPressure = 14.5 * unit.Psi

// What a leak test leaves open, two standard deviations: a gauge of the trade read twice, and the header's volume with the
// pipe behind the valve that was shut. common practice, no source.
const (
	gaugeWidth  unit.Pressure = unit.Psi
	volumeWidth               = 0.10
)

// sharpEdge is the discharge coefficient of a hole with sharp edges, see header.HoleLoss.
const sharpEdge unit.Share = 0.61

// tightLeak is how much of the supply a header in order leaks at most. common practice, no source.
const tightLeak unit.Share = 0.10

// chokedRatio is the absolute pressure over that of the surroundings above which a leak runs choked.
const chokedRatio = 1.893

// decay works out the leak test, if there was one.
func (a *airUse) decay() {
	d := a.r.Decay
	if !d.known() {
		return
	}
	v := a.c.Header.Volume
	l := &HeaderLeak{Lost: header.DecayLoss(v, d.From, d.To, d.Time, stdPressure), Rest: unit.Pressure(math.NaN())}
	low, high := Fall{d.From, min(d.From, d.To+gaugeWidth), d.Time}, Fall{d.From, d.To - min(gaugeWidth, d.To), d.Time}
	l.c, l.low, l.high = a.hole(d), a.hole(low)*(1-volumeWidth), max(a.hole(high), a.isothermal(high))*(1+volumeWidth)
	at := func(c unit.Conductance) unit.StdFlow {
		q := header.Nozzle{C: c, B: 0.3}.Flow(unit.AbsPressure(a.c.Header.Set)+a.ambient(), RefTemperature, a.ambient())
		return unit.StdFlow(header.StdVolume(unit.Mass(q)))
	}
	l.Flow, l.Low, l.High = at(l.c), at(l.low), at(l.high)
	l.Hole = unit.Length(math.Sqrt(float64(l.c / header.Throat(1, sharpEdge))))
	a.u.HeaderLeak = l
	if unit.AbsPressure(d.To)+a.ambient() < chokedRatio*a.ambient() {
		a.find("leak-test-low", Note, "", Say("the leak test ran down to %s, where a leak's shape counts: end it above %s for a closer figure", d.To, unit.Pressure((chokedRatio-1)*a.ambient())),
			"isentropic nozzle")
	}
	if d.From-d.To < gaugeWidth {
		a.find("leak-test-short", Note, "", Say("the gauge fell by less than %s in %s: the leak is at most %s; wait longer for a closer figure", gaugeWidth, d.Time, l.High), commonPractice)
	}
}

// isothermal is the leak that makes a fall while the header's walls keep its air as warm as they are: a slow one, or the most.
func (a *airUse) isothermal(d Fall) unit.Conductance {
	return header.LeakConductance(a.c.Header.Volume, unit.AbsPressure(d.From)+a.ambient(), unit.AbsPressure(d.To)+a.ambient(), d.Time, RefTemperature)
}

// hole is the leak that makes a fall by the balance of the tank: a fast fall cools the air, and less of it has to go.
func (a *airUse) hole(d Fall) unit.Conductance {
	guess := float64(a.isothermal(d))
	if !(guess > 0) {
		return 0
	}
	t := a.tank(0, unit.StdFlow(math.NaN()))
	t.Supply = header.Supply{}
	start := header.State{P: unit.AbsPressure(d.From) + a.ambient(), T: RefTemperature}
	lo, hi := math.Log(guess/10), math.Log(guess*10)
	for range halvings {
		mid := (lo + hi) / 2
		t.Leak = unit.Conductance(math.Exp(mid))
		if end, _, _ := t.Rest(start, d.Time); end.P > unit.AbsPressure(d.To)+a.ambient() {
			lo = mid
		} else {
			hi = mid
		}
	}
	return unit.Conductance(math.Exp((lo + hi) / 2))
}

// leaking says what the leak found does to the header, once the supply is known.
func (a *airUse) leaking() {
	l, u, h := a.u.HeaderLeak, a.u, a.c.Header
	if l == nil {
		return
	}
	l.Share = unit.Share(l.Flow / u.Supply)
	if math.IsNaN(float64(u.Supply)) {
		return
	}
	l.Rest = unit.Pressure(a.tank(h.Set, u.Supply).Equilibrium().P - a.ambient())
	switch {
	case l.Rest < a.c.Recovered():
		a.find("header-leak", Wrong, "", Say("the header's leak, %s, alone holds it at %s with nothing pulsing, and %s is set: find it at valves, fittings, drain and gauge line before anything else", l.Flow, l.Rest, h.Set), "balance of ISO 6358 flows")
	case l.Share > tightLeak:
		a.find("header-leak", Odd, "", Say("the header leaks %s, as a hole of %s does: %s of the supply, and %s is the most for one in order; look at valves, fittings and drain", l.Flow, l.Hole, l.Share, tightLeak), commonPractice)
	}
}

// Compressor is what the compressor's times on and off load say with no user on, and what it draws.
type Compressor struct {
	LeakShare unit.Share   // of what it delivers
	Leak      unit.StdFlow // of all that hangs on it; NaN where its delivery is not known
	Power     unit.Power   // electricity that goes into the leak
	PerYear   unit.Energy  // likewise, if it stands under pressure all year
	Cost      float64      // likewise, in the file's currency
}

// plantLeak is what a compressed-air system in order leaks at most. Source: US DOE sourcebook, from memory: less than 10 % is
// reached by good upkeep, 20 to 30 % is seen without.
const plantLeak unit.Share = 0.10

// compressor works out the compressor's figures.
func (a *airUse) compressor() {
	r, u := a.r, a.u
	u.Specific, u.SpecificKnown = header.PackagePower, false
	if w := float64(r.CompressorPower) / float64(r.CompressorFlow); w > 0 {
		u.Specific, u.SpecificKnown = w, true
		a.plausible(w)
	} else if !math.IsNaN(float64(r.CompressorPower)) {
		a.find("compressor-power", Note, "", Say("what the compressor draws tells nothing without what it delivers: %s is reckoned with", specificPower(u.Specific)), fromMemory)
	}
	if math.IsNaN(float64(r.Loaded + r.Unloaded)) {
		return
	}
	k := &Compressor{LeakShare: header.LeakShare(r.Loaded, r.Unloaded)}
	k.Leak = unit.StdFlow(k.LeakShare) * r.CompressorFlow
	k.Power = unit.Power(float64(k.Leak) * u.Specific)
	k.PerYear = header.AirEnergy(unit.Volume(k.Leak*year), u.Specific)
	k.Cost = float64(k.Leak) * year * a.price()
	u.Compressor = k
	if k.LeakShare > plantLeak {
		a.find("plant-leak", Odd, "", Say("with no user on, the compressor runs loaded %s of the time: so much of its air leaks; below %s is in order", k.LeakShare, plantLeak), "US DOE sourcebook, from memory")
	}
}

// plausible holds what a compressor is said to draw against what compressing takes at the least.
func (a *airUse) plausible(w float64) {
	p := a.pressure()
	least := float64(header.CompressionPower(1, p, 1, 1))
	switch {
	case w < least:
		a.find("compressor-power", Wrong, "", Say("%s is less than any compressor can do to %s (%s): look at its delivery and its electricity again", specificPower(w), p, specificPower(least)), "isothermal compression")
	case w > 2*header.PackagePower:
		a.find("compressor-power", Odd, "", Say("%s is more than twice the usual: look at the compressor's delivery and its electricity again", specificPower(w)), fromMemory)
	}
}

// specificPower is electricity per flow of free air [W per m3/s].
type specificPower float64

// In prints it as compressors are rated.
func (w specificPower) In(sys unit.System) string {
	if sys == unit.SI {
		return Say("%s per m³/min", unit.Power(float64(w)/60)).In(sys)
	}
	return Say("%.3g kW per 100 cfm", float64(w)*100*unit.CubicFoot/60/1000).In(sys)
}
