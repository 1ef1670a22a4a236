package text

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dustwright/collector"
	"dustwright/sense/trace"
	"dustwright/unit"
)

// HeaderCautions are the cautions of a page on the valves: none where every valve is sound.
func HeaderCautions(r *trace.Result) []string {
	if len(faulty(r)) == 0 {
		return nil
	}
	return []string{"live", "compressed-air"}
}

// Header prints what a header-pressure trace shows; c is nil where no collector file was given.
func Header(w io.Writer, sys unit.System, c *collector.Collector, r *trace.Result) error {
	p := &page{sys: sys}
	if ids := HeaderCautions(r); ids != nil {
		p.caution(ids...)
	}
	if c != nil {
		p.title(c)
	}
	p.say("%s", headerHeadline(r))
	if r.Whole != nil {
		p.say("%s.", capital(r.Whole.In(sys)))
	}
	p.gap()
	p.valveStrip(r)
	bad := faulty(r)
	if len(bad) > 0 {
		p.gap()
	}
	for _, v := range bad {
		p.indented(fmt.Sprintf("  valve %d  ", v.Number), "%s.", v.Why.In(sys))
	}
	p.gap()
	p.headerFacts(r)
	for i, n := range r.Notes {
		if i == 0 {
			p.gap()
		}
		p.indented("  - ", "%s.", capital(n.In(sys)))
	}
	p.nextOfValves(bad)
	return p.print(w)
}

// faulty lists the valves a person should look at.
func faulty(r *trace.Result) []trace.Valve {
	var out []trace.Valve
	for _, v := range r.Valves {
		if v.State != trace.OK || v.Late || v.Doubles > 0 || v.Unsure || v.Count < v.Due {
			out = append(out, v)
		}
	}
	return out
}

// headerHeadline is the answer in a sentence or two.
func headerHeadline(r *trace.Result) string {
	by := map[string][]int{}
	sound := 0
	for _, v := range r.Valves {
		switch {
		case v.State == trace.OK && v.Unsure:
			by["unsure"] = append(by["unsure"], v.Number)
		case v.State == trace.OK && v.Late:
			by["late"] = append(by["late"], v.Number)
		case v.State == trace.OK && v.Doubles > 0:
			by["double"] = append(by["double"], v.Number)
		case v.State == trace.OK && v.Count < v.Due:
			by["misses"] = append(by["misses"], v.Number)
		case v.State == trace.OK:
			sound++
		default:
			by[string(v.State)] = append(by[string(v.State)], v.Number)
		}
	}
	if sound == len(r.Valves) {
		return fmt.Sprintf("All %d valves fire alike.", sound)
	}
	parts := troubles(by, []trouble{
		{"stuck-open", "is stuck open", "are stuck open"}, {"dead", "is dead", "are dead"}, {"weak", "is weak", "are weak"},
		{"late", "closes late", "close late"}, {"double", "opens twice on a turn", "open twice on a turn"},
		{"misses", "misses turns", "miss turns"}, {"unsure", "cannot be judged from this trace", "cannot be judged from this trace"},
	})
	switch {
	case sound == 1:
		parts = append(parts, "The other one fires as it should.")
	case sound > 1:
		parts = append(parts, fmt.Sprintf("The other %d fire alike.", sound))
	}
	return strings.Join(parts, " ")
}

// trouble is what is said of the valves of one state.
type trouble struct{ state, one, many string }

// troubles says of each state that any valve has which valves they are, in the order given.
func troubles(by map[string][]int, list []trouble) []string {
	var parts []string
	for _, t := range list {
		switch n := by[t.state]; len(n) {
		case 0:
		case 1:
			parts = append(parts, fmt.Sprintf("Valve %d %s.", n[0], t.one))
		default:
			parts = append(parts, fmt.Sprintf("Valves %s %s.", numbers(n), t.many))
		}
	}
	return parts
}

// numbers lists numbers as people say them.
func numbers(n []int) string {
	words := make([]string, len(n))
	for i, v := range n {
		words[i] = strconv.Itoa(v)
	}
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// stripWidth is how many characters a usual drop is long in the strip.
const stripWidth = 32

// valveStrip draws each valve's drop as a bar; the stroke stands at the usual drop.
func (p *page) valveStrip(r *trace.Result) {
	for _, v := range r.Valves {
		drop, share := "-", ""
		if !math.IsNaN(v.Share) {
			drop = p.psi(v.Drop)
		}
		if !math.IsNaN(v.Recovered) {
			share = fmt.Sprintf("%.0f %% back", 100*math.Min(1, math.Max(0, v.Recovered)))
		}
		p.row("valve "+strconv.Itoa(v.Number), bar(v.Share), drop, fmt.Sprintf("%d of %d", v.Count, v.Due), share, stateWord(v))
	}
}

// stateWord is what a valve is, loud where somebody is needed.
func stateWord(v trace.Valve) string {
	word := string(v.State)
	switch {
	case v.State != trace.OK:
		word = strings.ToUpper(word)
	case v.Late:
		word = "CLOSES LATE"
	case v.Doubles > 0:
		word = "OPENS TWICE"
	case v.Count < v.Due:
		word = "ok, misses"
	}
	if v.Unsure {
		word += " ?"
	}
	return word
}

// bar is a drop as a share of the usual one, whose end is marked.
func bar(share float64) string {
	const most = stripWidth * 3 / 2
	n := 0
	if !math.IsNaN(share) {
		n = int(math.Round(math.Min(math.Max(share, 0), 1.5) * stripWidth))
	}
	cells := []rune(strings.Repeat("=", n) + strings.Repeat(" ", most-n))
	if n <= stripWidth {
		for i := n; i < stripWidth; i++ {
			cells[i] = '.'
		}
	}
	return "|" + string(cells[:stripWidth]) + "|" + string(cells[stripWidth:])
}

// psi prints a header pressure: psi or kPa, whatever its size.
func (p *page) psi(x unit.Pressure) string {
	if p.sys == unit.SI {
		return fmt.Sprintf("%.0f kPa", float64(x)/1e3)
	}
	return fmt.Sprintf("%.1f psi", float64(x)/6894.757293168)
}

// headerFacts are the figures of the whole header.
func (p *page) headerFacts(r *trace.Result) {
	remark := ""
	if known(r.Expected) {
		remark = "about " + p.psi(r.Expected) + " by the collector file"
	}
	if known(r.Drop) {
		p.row("a usual pulse takes", p.psi(r.Drop), remark)
	}
	if air := usualAir(r); known(air) {
		p.row("that is air", p.std(air), "free air a pulse, within a fifth")
	}
	level := ""
	if known(r.Set) {
		level = "set " + p.psi(r.Set)
	}
	p.row("header before a pulse", p.psi(r.Level), level)
	if !math.IsNaN(r.Refill.Recovered) {
		back := "not within the interval"
		if known(r.Refill.Recovery) {
			back = "95 % after " + p.q(r.Refill.Recovery)
		}
		p.row("back before the next one", p.q(unit.Share(math.Min(1, r.Refill.Recovered))), back)
	}
	if known(r.Refill.Flow) && r.Refill.Flow > 0 {
		p.row("supply brings", p.q(r.Refill.Flow), "at the bottom of a pulse, within a half")
	}
	if known(r.Bleed.Flow) {
		p.row("bleeds between pulses", p.q(r.Bleed.Flow), "within a half")
	}
	p.row("pulses come every", p.q(r.Interval), fmt.Sprintf("%.1f cycles", r.Cycles))
}

// usualAir is the mean free air of the sound valves.
func usualAir(r *trace.Result) unit.Volume {
	var sum, n float64
	for _, v := range r.Valves {
		if v.State == trace.OK && !v.Late && known(v.Air) {
			sum += float64(v.Air)
			n++
		}
	}
	if n == 0 {
		return unit.Volume(math.NaN())
	}
	return unit.Volume(sum / n)
}

// nextOfValves says what to do about bad valves, the worst first.
func (p *page) nextOfValves(bad []trace.Valve) {
	for _, state := range []trace.State{trace.StuckOpen, trace.Dead, trace.Weak} {
		for _, v := range bad {
			if v.State != state {
				continue
			}
			p.gap()
			p.say("Next: take valve %d through the bench check, dustwright bench-check --valve %d, which tells pilot from diaphragm.", v.Number, v.Number)
			return
		}
	}
}
