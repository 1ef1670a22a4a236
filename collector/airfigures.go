package collector

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Says is the answer in a sentence: whether the compressed air is enough, and why.
func (a *AirUse) Says() Text {
	switch {
	case math.IsNaN(float64(a.Supply)):
		return Say("Cleaning takes %s while it runs; whether that is there cannot be said, since the supply is not given.", a.WhileCleaning)
	case a.Share > 1:
		return Say("The compressed air is not enough: cleaning and leaks want %s of what the supply brings.", a.Share)
	case a.Share > AirLimit:
		return Say("The compressed air is too near its limit: cleaning and leaks take %s of what the supply brings, %s is the most.", a.Share, AirLimit)
	}
	for _, f := range a.Findings {
		if why := spoils[f.ID]; why != "" && f.Weight == Wrong {
			return Say("There is enough compressed air (cleaning and leaks take %s of what the supply brings), but it is not good enough: %s.", a.Share, why)
		}
	}
	return Say("The compressed air is enough for the pulses: cleaning and leaks take %s of what the supply brings.", a.Share)
}

// spoils are the findings that make air not good enough of which there is enough, by their ids.
var spoils = map[string]string{
	"header-leak":     "the header's leak alone holds its pressure down",
	"header-recovery": "the header does not recover between pulses",
	"line-pressure":   "the line's pressure is too low for the regulator",
	"air-wet":         "it is wet",
}

// Figure is a line of an answer, in the reader's units: a name, a value, and what to know about it (which may be empty).
type Figure struct {
	Name          string
	Value, Remark Text
}

// Amount prints an amount of money [the file's currency], with the currency's name; NaN is printed as such.
func (k Cost) Amount(amount float64) string {
	format := "%.2f"
	if amount >= 100 {
		format = "%.0f"
	}
	text := fmt.Sprintf(format, amount)
	if k.Currency != "" {
		text += " " + k.Currency
	}
	return text
}

// stdVolume prints as a volume of compressed air at standard conditions.
type stdVolume unit.Volume

// In prints it in the units of a system.
func (v stdVolume) In(sys unit.System) string { return unit.PrintStdVolume(unit.Volume(v), sys) }

// lineDrop prints as a loss along a line of compressed air, where nobody reads inches of water.
type lineDrop unit.Pressure

// In prints it in the units of a system.
func (d lineDrop) In(sys unit.System) string {
	if sys == unit.SI {
		return fmt.Sprintf("%.1f kPa", float64(d)/1000)
	}
	return fmt.Sprintf("%.1f psi", float64(d)/unit.Psi)
}

// figures collects lines.
type figures struct {
	c    *Collector
	a    *AirUse
	list []Figure
}

// add appends a line; remark may be the zero Text.
func (f *figures) add(name string, value any, remark Text) {
	f.list = append(f.list, Figure{name, Say("%s", value), remark})
}

// none is a line without a remark.
var none = Say("")

// Figures are the lines of the answer, those left out that nobody asked for or that cannot be said.
func (a *AirUse) Figures(c *Collector) []Figure {
	f := &figures{c: c, a: a}
	f.pulses()
	f.leaks()
	f.line()
	f.water()
	f.cost()
	return f.list
}

// known reports whether a quantity is a number.
func known[Q ~float64](q Q) bool { return !math.IsNaN(float64(q)) }

// count is a number of things.
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// pulses writes what pulses take and what the header does.
func (f *figures) pulses() {
	a, c := f.a, f.c
	f.add("a pulse takes", stdVolume(a.PerPulse), Say("%s to %s", stdVolume(a.Low), stdVolume(a.High)))
	f.add("a cycle of "+count(c.Filters.Rows, "valve"), stdVolume(a.PerCycle), none)
	if a.PerStop > 0 {
		f.add("downtime cleaning after a stop", stdVolume(a.PerStop), Say("%s", count(c.Cleaning.DowntimeCycles, "cycle")))
	}
	f.add("while cleaning", a.WhileCleaning, Say("a pulse every %s, %s an hour", c.Header.Interval, fmt.Sprintf("%.0f", 3600/float64(c.Header.Interval))))
	if known(a.Supply) {
		f.supply()
	}
	f.add("header falls from", a.Pulse.Before, Say("to %s (%s), steady cleaning", a.Pulse.Low, unit.Share(a.Pulse.Drop()/a.Pulse.Before)))
	switch {
	case !known(a.Supply):
	case known(a.Pulse.Recovery):
		f.add("it is back after", a.Pulse.Recovery, Say("of %s between pulses", c.Header.Interval))
	default:
		f.add("back before the next pulse", a.Pulse.Recovered, Say("not fully"))
	}
	if r := a.Refill; r != nil {
		f.add("pulse watched took", stdVolume(r.PerPulse), Say("back at %s", r.Back))
	}
}

// supply writes what the supply brings, and what of it leaks.
func (f *figures) supply() {
	a := f.a
	leak := Say("%s of it counted for leaks", a.Leak)
	if a.LeakMeasured {
		leak = Say("%s leaks, measured", a.Leak)
	}
	f.add("supply", a.Supply, leak)
	if r := a.Refill; r != nil {
		remark := Say("%s to %s", r.Low, r.High)
		if q := f.c.Header.SupplyFlow; known(q) {
			remark = Say("%s to %s; the file says %s", r.Low, r.High, q)
		}
		f.add("supply by the pulse watched", r.Supply, remark)
	}
	if known(a.ShortestInterval) {
		f.add("shortest interval for it", a.ShortestInterval, Say("at %s of the supply", AirLimit))
	}
}

// leaks writes what the tests for leaks say.
func (f *figures) leaks() {
	if l := f.a.HeaderLeak; l != nil {
		f.add("the header leaks", l.Flow, Say("%s to %s, at the set pressure", l.Low, l.High))
		if l.Hole > 0 {
			f.add("as much as a hole of", l.Hole, Say("sharp-edged"))
		}
		if known(l.Share) {
			f.add("share of the supply", l.Share, Say("%s is the most for a header in order", tightLeak))
		}
		if known(l.Rest) {
			remark := Say("the leak alone does not hold it down")
			if l.Rest < f.c.Recovered() {
				remark = Say("the leak alone holds it down; %s is set", f.c.Header.Set)
			}
			f.add("at rest the header stands at", l.Rest, remark)
		}
	}
	if k := f.a.Compressor; k != nil {
		remark := none
		if known(k.Leak) {
			remark = Say("%s, for which it draws %s", k.Leak, unit.Print(unit.KindPower, float64(k.Power), unit.SI)) // electricity is in kW everywhere
		}
		f.add("compressor's air that leaks", k.LeakShare, remark)
	}
}

// line writes pipe and receiver, where they were asked for.
func (f *figures) line() {
	a := f.a
	if known(a.PipeDrop) {
		f.add("pipe loses", lineDrop(a.PipeDrop), Say("at the supply's flow"))
	}
	if known(a.Receiver) {
		remark := Say("to carry one cycle")
		if a.Receiver == 0 {
			remark = Say("the supply carries a cycle by itself")
		}
		f.add("receiver needed", a.Receiver, remark)
	}
	if known(a.ReceiverPulses) {
		f.add("pulses the receiver carries", fmt.Sprintf("%.3g", a.ReceiverPulses), Say("with no supply at all"))
	}
}

// water writes dew point and condensate, where they were asked for.
func (f *figures) water() {
	a := f.a
	if known(a.DewAtHeader) {
		class := Say("outside the classes of ISO 8573-1")
		if a.WaterClass > 0 {
			class = Say("water class %s of ISO 8573-1", fmt.Sprint(a.WaterClass))
		}
		f.add("dew point in the header", a.DewAtHeader, class)
	}
	if a.Liquid > 0 {
		class := Say("where nothing drains it: beyond the classes of ISO 8573-1")
		if a.LiquidClass > 0 {
			class = Say("where nothing drains it: water class %s of ISO 8573-1", fmt.Sprint(a.LiquidClass))
		}
		f.add("water left in the air", fmt.Sprintf("%.2g g/m³", 1000*float64(a.Liquid)), class)
	}
	w := a.Water
	if w == nil {
		return
	}
	const density, hour = 1000, 3600 // [kg/m3], [s]
	const least unit.Volume = 38e-6  // what prints as 0.01 gal
	hourly := func(m unit.MassFlow) Text {
		v := unit.Volume(float64(m) * hour / density)
		switch {
		case v <= 0:
			return Say("none")
		case v < least:
			return Say("less than %s an hour", least)
		}
		return Say("%s an hour", v)
	}
	f.add("water a day, at most", unit.Volume(w.PerDay/density), Say("all drains together, air cooled to %s", w.CooledTo))
	f.add("drains must take", hourly(w.Rate), Say("while it cleans"))
	if known(w.InLine) {
		f.add("of that behind the dryer", hourly(w.InLine), Say("for the drain at the header"))
	}
}

// cost writes electricity and money.
func (f *figures) cost() {
	a, k := f.a, f.c.Cost
	if known(a.CostPer1000Pulses) {
		f.add("1000 pulses cost", k.Amount(a.CostPer1000Pulses), none)
	}
	if known(a.CostPerYear) {
		f.add("a year costs at most", k.Amount(a.CostPerYear), Say("if it cleaned whenever it runs"))
	}
	if known(a.EnergyPerYear) {
		remark := Say("at %s, a usual compressor's", specificPower(a.Specific))
		if a.SpecificKnown {
			remark = Say("at %s", specificPower(a.Specific))
		}
		f.add("electricity for it", a.EnergyPerYear, remark)
	}
	if a.LeakMeasured && known(a.LeakCostPerYear) {
		f.add("the leak costs a year", k.Amount(a.LeakCostPerYear), Say("%s, under pressure all year", stdVolume(a.LeakPerYear)))
	}
	if c := a.Compressor; c != nil && known(c.PerYear) {
		remark := Say("under pressure all year")
		if known(c.Cost) {
			remark = Say("%s, under pressure all year", k.Amount(c.Cost))
		}
		f.add("the compressor's leak takes a year", c.PerYear, remark)
	}
}
