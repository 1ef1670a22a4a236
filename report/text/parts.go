package text

import (
	"math"
	"strings"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

// deference closes every caution.
const deference = "Local codes, the equipment's own manual and licensed practice come first."

// caution opens a page that leads to hands on the machine: the cautions of these ids.
func (p *page) caution(ids ...string) {
	for _, id := range ids {
		p.indented("CAUTION  ", "%s.", judge.Caution(id))
	}
	p.indented("         ", deference)
	p.gap()
}

// title names the collector.
func (p *page) title(c *collector.Collector) {
	if c.Service == "" {
		p.say("%s", c.Tag)
		return
	}
	p.say("%s, %s", c.Tag, c.Service)
}

// known reports whether a quantity is known.
func known[Q ~float64](x Q) bool { return !math.IsNaN(float64(x)) }

// gaps lists what the file does not say.
func (p *page) gaps(gaps []collector.Gap) {
	if len(gaps) == 0 {
		return
	}
	p.gap()
	p.say("The collector file does not say:")
	for _, g := range gaps {
		p.indented("  - ", "%s: %s.", g.Key, g.Text.In(p.sys))
	}
}

// findings lists warnings, the heaviest first.
func (p *page) findings(list []collector.Finding) {
	for _, weight := range []collector.Weight{collector.Wrong, collector.Odd, collector.Note} {
		for _, f := range list {
			if f.Weight == weight {
				p.indented("  "+mark(weight)+" ", "%s.", capital(f.Text.In(p.sys)))
			}
		}
	}
}

// mark shows the weight of a finding without colour.
func mark(w collector.Weight) string {
	switch w {
	case collector.Wrong:
		return "!!"
	case collector.Odd:
		return " !"
	default:
		return " -"
	}
}

// capital makes a clause a sentence.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// air says which air an answer is reckoned with.
func (p *page) air(rho unit.Density, given bool) string {
	if given {
		return "air of " + p.q(rho)
	}
	return "air of " + p.q(rho) + " (" + p.q(collector.RefTemperature) + ", since no temperature was given)"
}

func quoted(s string) string { return `"` + s + `"` }

// share prints one quantity as a share of another, "" where either is unknown.
func share[Q ~float64](part, whole Q) string {
	if !known(part) || !known(whole) {
		return ""
	}
	return unit.Share(float64(part) / float64(whole)).In(unit.US)
}
