package text

import (
	"io"
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
	p.say("%s", a.Says())
	if len(a.Findings) > 0 {
		p.gap()
		p.findings(a.Findings)
	}
	p.gap()
	for _, f := range a.Figures(c) {
		if remark := f.Remark.In(sys); remark != "" {
			p.row(f.Name, f.Value.In(sys), remark)
		} else {
			p.row(f.Name, f.Value.In(sys))
		}
	}
	p.gaps(a.Gaps)
	return p.print(w)
}

// money prints an amount.
func money(c *collector.Collector, amount float64) string { return c.Cost.Amount(amount) }

// std prints a volume of air at standard conditions.
func (p *page) std(v unit.Volume) string { return unit.PrintStdVolume(v, p.sys) }

// plural counts things.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + thing + "s"
}
