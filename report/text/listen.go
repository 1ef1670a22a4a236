package text

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dustwright/collector"
	"dustwright/sense/ear"
	"dustwright/unit"
)

// ListenCautions are the cautions of a page on what was heard: none where every valve is sound.
func ListenCautions(r *ear.Result) []string {
	if len(unsound(r)) == 0 {
		return nil
	}
	return []string{"live", "compressed-air"}
}

// Listen prints what a recording says of the valves; c is nil where no collector file was given.
func Listen(w io.Writer, sys unit.System, c *collector.Collector, r *ear.Result) error {
	p := &page{sys: sys}
	if ids := ListenCautions(r); ids != nil {
		p.caution(ids...)
	}
	if c != nil {
		p.title(c)
	}
	p.say("%s", heardHeadline(r))
	p.gap()
	for _, v := range r.Valves {
		level := "not heard"
		if !math.IsNaN(v.Level) {
			level = strings.Replace(fmt.Sprintf("%+.0f dB", v.Level), "-0 dB", "+0 dB", 1)
		}
		word := string(v.State)
		if v.State != ear.OK {
			word = strings.ToUpper(word)
		} else if v.Double > 0 {
			word = "OPENS TWICE"
		}
		p.row("valve "+strconv.Itoa(v.Number), bar(loudness(v)), level, fmt.Sprintf("%d of %d", v.Count, v.Expected), word)
	}
	bad := unsound(r)
	if len(bad) > 0 {
		p.gap()
	}
	for _, v := range bad {
		p.indented(fmt.Sprintf("  valve %d  ", v.Number), "%s.", capital(v.Why))
	}
	p.gap()
	p.row("pulses heard", strconv.Itoa(len(r.Pulses)), fmt.Sprintf("in %.1f cycles", r.Cycles))
	p.row("pulses come every", fmt.Sprintf("%.1f s", r.Interval))
	p.row("pulses stand above the noise by", fmt.Sprintf("%.0f dB", r.Margin))
	p.gap()
	p.indented("  - ", "%s.", capital(r.Numbered))
	for _, n := range r.Notes {
		p.indented("  - ", "%s.", capital(n))
	}
	for _, v := range bad {
		if v.State != ear.OK && v.State != ear.Unsure {
			p.gap()
			p.indented("  next ", "Take valve %d through the bench check: pilot or diaphragm (dustwright bench-check).", v.Number)
			break
		}
	}
	return p.print(w)
}

// loudness is a valve's level as a share of the group's sound pressure, for its bar.
func loudness(v ear.Valve) float64 { return math.Pow(10, v.Level/20) }

// unsound lists the valves a person should look at, the worst first.
func unsound(r *ear.Result) []ear.Valve {
	var out []ear.Valve
	for _, s := range []ear.State{ear.StuckOpen, ear.Dead, ear.Weak, ear.Unsure, ear.OK} {
		for _, v := range r.Valves {
			if v.State == s && (s != ear.OK || v.Double > 0) {
				out = append(out, v)
			}
		}
	}
	return out
}

// heardHeadline is the answer in a sentence or two.
func heardHeadline(r *ear.Result) string {
	by := map[string][]int{}
	sound := 0
	for _, v := range r.Valves {
		switch {
		case v.State == ear.OK && v.Double > 0:
			by["double"] = append(by["double"], v.Number)
		case v.State == ear.OK:
			sound++
		default:
			by[string(v.State)] = append(by[string(v.State)], v.Number)
		}
	}
	if sound == len(r.Valves) {
		return fmt.Sprintf("All %d valves sound alike.", sound)
	}
	parts := troubles(by, []trouble{
		{"stuck-open", "does not shut: it hisses on", "do not shut: they hiss on"}, {"dead", "is not heard", "are not heard"},
		{"weak", "sounds weak", "sound weak"}, {"double", "fires twice", "fire twice"}, {"unsure", "cannot be told from this recording", "cannot be told from this recording"},
	})
	if sound > 0 {
		parts = append(parts, fmt.Sprintf("%d of %d sound alike.", sound, len(r.Valves)))
	}
	return strings.Join(parts, " ")
}
