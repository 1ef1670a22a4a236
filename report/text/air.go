package text

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"dustwright/collector"
	"dustwright/unit"
)

// Air prints the pulse-air page.
func Air(w io.Writer, sys unit.System, c *collector.Collector, a *collector.AirUse) error {
	p := &page{sys: sys}
	if len(a.Findings) > 0 {
		p.caution("compressed-air")
	}
	p.title(c)
	p.airHeadline(c, a)
	if len(a.Findings) > 0 {
		p.gap()
		p.findings(a.Findings)
	}
	p.gap()
	p.row("a pulse takes", p.std(a.PerPulse), p.std(a.Low)+" to "+p.std(a.High))
	p.row("a cycle of "+plural(c.Filters.Rows, "valve"), p.std(a.PerCycle))
	if a.PerStop > 0 {
		p.row("downtime cleaning after a stop", p.std(a.PerStop), plural(c.Cleaning.DowntimeCycles, "cycle"))
	}
	p.row("while cleaning", p.q(a.WhileCleaning), fmt.Sprintf("a pulse every %s, %.0f an hour", p.q(c.Header.Interval), 3600/float64(c.Header.Interval)))
	if known(a.Supply) {
		p.row("supply", p.q(a.Supply), p.q(a.Leak)+" of it counted for leaks")
		if known(a.ShortestInterval) {
			p.row("shortest interval for it", p.q(a.ShortestInterval), "at "+p.q(collector.AirLimit)+" of the supply")
		}
	}
	p.row("header falls from", p.q(a.Pulse.Before), "to "+p.q(a.Pulse.Low)+" ("+share(a.Pulse.Drop(), a.Pulse.Before)+"), steady cleaning")
	if known(a.Supply) {
		p.recovery(c, a)
	}
	p.airLine(a)
	p.airCost(c, a)
	p.gaps(a.Gaps)
	return p.print(w)
}

// airHeadline is the answer in a sentence.
func (p *page) airHeadline(c *collector.Collector, a *collector.AirUse) {
	switch {
	case !known(a.Supply):
		p.say("Cleaning takes %s while it runs; whether that is there cannot be said, since the supply is not given.", a.WhileCleaning)
	case a.Share > 1:
		p.say("The compressed air is not enough: cleaning and leaks want %s of what the supply brings.", a.Share)
	case a.Share > collector.AirLimit:
		p.say("The compressed air is too near its limit: cleaning and leaks take %s of what the supply brings, %s is the most.", a.Share, collector.AirLimit)
	default:
		p.say("The compressed air is enough for the pulses: cleaning and leaks take %s of what the supply brings.", a.Share)
	}
}

// recovery says whether the header is full again before the next pulse.
func (p *page) recovery(c *collector.Collector, a *collector.AirUse) {
	if known(a.Pulse.Recovery) {
		p.row("it is back after", p.q(a.Pulse.Recovery), "of "+p.q(c.Header.Interval)+" between pulses")
		return
	}
	p.row("back before the next pulse", p.q(a.Pulse.Recovered), "not fully")
}

// airLine writes pipe, receiver and dew point, where they were asked for.
func (p *page) airLine(a *collector.AirUse) {
	if known(a.PipeDrop) {
		p.row("pipe loses", p.q(a.PipeDrop), "at the supply's flow")
	}
	if known(a.Receiver) {
		remark := "to carry one cycle"
		if a.Receiver == 0 {
			remark = "the supply carries a cycle by itself"
		}
		p.row("receiver needed", p.q(a.Receiver), remark)
	}
	if known(a.DewAtHeader) {
		class := "outside the classes of ISO 8573-1"
		if a.WaterClass > 0 {
			class = "water class " + strconv.Itoa(a.WaterClass) + " of ISO 8573-1"
		}
		p.row("dew point in the header", p.q(a.DewAtHeader), class)
	}
}

// airCost writes what it costs.
func (p *page) airCost(c *collector.Collector, a *collector.AirUse) {
	if known(unit.Share(a.CostPer1000Pulses)) {
		p.row("1000 pulses cost", money(c, a.CostPer1000Pulses))
	}
	if known(unit.Share(a.CostPerYear)) {
		p.row("a year costs at most", money(c, a.CostPerYear), "if it cleaned whenever it runs")
	}
}

// money prints an amount.
func money(c *collector.Collector, amount float64) string {
	format := "%.2f"
	if amount >= 100 {
		format = "%.0f"
	}
	text := fmt.Sprintf(format, amount)
	if c.Cost.Currency != "" {
		text += " " + c.Cost.Currency
	}
	return text
}

// std prints a volume of air at standard conditions.
func (p *page) std(v unit.Volume) string {
	if !known(v) {
		return "unknown"
	}
	if p.sys == unit.SI {
		return threeDigits(float64(v)) + " m³ std"
	}
	return threeDigits(float64(v)/unit.CubicFoot) + " scf"
}

// threeDigits writes a number to three digits, without an exponent where it is large.
func threeDigits(v float64) string {
	if math.Abs(v) < 999.5 || math.Abs(v) > 1e12 {
		return fmt.Sprintf("%.3g", v)
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return thousands(int(math.Round(v/unit) * unit))
}

// plural counts things.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}
