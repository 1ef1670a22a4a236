package collector

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

// Refill is what one pulse watched on the header's gauge says: before it, the lowest, and the time until it was back.
type Refill struct {
	Back      unit.Pressure // gauge, what counts as back: 95 % of the fall made good
	Supply    unit.StdFlow  // that brings it back in the time measured, against the leak of a leak test if there was one
	Low, High unit.StdFlow  // Supply lies between, about 95 times in 100
	PerPulse  unit.Volume   // what that pulse took
	Expected  unit.Seconds  // until it would be back on the file's supply; NaN where that is not given
}

// What a recovery test leaves open, two standard deviations: a thumb on a watch twice, and the lowest point of a moving
// needle. common practice, no source.
const (
	watchWidth  unit.Seconds  = 0.5
	needleWidth unit.Pressure = 2 * unit.Psi
)

// recoveredTo is the share of the set pressure from which a pulse may start: below it the header has not recovered.
// common practice, no source.
const recoveredTo = 0.95

// Recovered returns the least pressure [Pa, gauge] to which a header in order comes back before the next pulse, and at which
// it stands at rest; NaN where the set pressure is not given.
func (c *Collector) Recovered() unit.Pressure { return recoveredTo * c.Header.Set }

// refill works out the recovery test, if there was one, and settles on the supply: the file's, unless the header surely came
// back slower than that allows.
func (a *airUse) refill() {
	b, u, h := a.r.Back, a.u, a.c.Header
	if !b.known() {
		return
	}
	f := &Refill{Back: b.From - 0.05*(b.From-b.To)}
	most, valve, ok := a.matched(b)
	if !ok {
		a.find("recovery-test", Odd, "", Say("no supply makes the header fall to %s and come back in just %s: the needle's lowest point or the time was misread; take it again", b.To, b.Time), "balance of the tank")
		return
	}
	f.Supply, f.PerPulse = most, header.StdVolume(a.seen(b, most, valve).Air)
	width := unit.StdFlow(math.Hypot(float64(watchWidth/b.Time), float64(needleWidth/(b.From-b.To))))
	f.Low, f.High = most*max(0, 1-width), most*(1+width)
	f.Expected = a.seen(b, h.SupplyFlow, a.opening(b, h.SupplyFlow)).Recovery
	u.Refill = f
	if math.IsNaN(float64(h.SupplyFlow)) || f.High < h.SupplyFlow {
		u.Supply, u.SupplyMeasured = f.Supply, true
	}
	if f.High < h.SupplyFlow {
		a.find("supply-low", Odd, "header.supply_flow", Say("the header came back in %s, on %s of air; the file's %s would bring it back in %s: look at regulator, filter, valve and pipe ahead of it", b.Time, f.Supply, h.SupplyFlow, f.Expected), "balance of the tank")
	}
	if b.From < a.c.Recovered() {
		a.find("header-low", Odd, "header.set", Say("before the pulse the header stood at %s, and %s is set: set the regulator, or find what holds the pressure down", b.From, h.Set), commonPractice)
	}
}

// seen is the pulse of a recovery test on a supply, out of a header at rest at the pressure read before it.
func (a *airUse) seen(b Fall, most unit.StdFlow, valve unit.Conductance) header.Pulse {
	t := a.tank(b.From, most)
	wait := a.c.Header.OnTime + 0.2 + 3*b.Time
	p, _ := t.Pulse(header.State{P: unit.AbsPressure(b.From) + a.ambient(), T: RefTemperature}, header.DefaultValve(valve, a.c.Header.OnTime), wait)
	return p
}

// halvings is how often an interval on a log scale is halved: to 1e-5 of six decades.
const halvings = 24

// opening finds the valve whose pulse takes the header to the lowest pressure read.
func (a *airUse) opening(b Fall, most unit.StdFlow) unit.Conductance {
	lo, hi := math.Log(valveFlow.lo), math.Log(valveFlow.hi)
	for range halvings {
		mid := (lo + hi) / 2
		if a.seen(b, most, unit.Conductance(math.Exp(mid))).Low > b.To {
			lo = mid
		} else {
			hi = mid
		}
	}
	return unit.Conductance(math.Exp((lo + hi) / 2))
}

// matched finds supply and valve that make the pulse as it was read; false where none brings the header back so fast.
func (a *airUse) matched(b Fall) (unit.StdFlow, unit.Conductance, bool) {
	most := math.Log(supplyFlow.hi)
	lo, hi := math.Log(supplyFlow.lo), most
	for range halvings {
		mid := (lo + hi) / 2
		q := unit.StdFlow(math.Exp(mid))
		if a.seen(b, q, a.opening(b, q)).Recovery <= b.Time { // NaN: not within the wait
			hi = mid
		} else {
			lo = mid
		}
	}
	q := unit.StdFlow(math.Exp(hi))
	return q, a.opening(b, q), hi < most
}
