package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// gauge is what a manometer shows; NaN is not known.
type gauge struct {
	DP               float64 // [Pa]
	Low, High, Alarm float64 // [Pa], the marks
	Swing            plant.Bucket
	Units            unit.System
	Big              bool // with numbers and the last day's swing
}

// gaugeOf takes what a manometer shows out of an overview.
func gaugeOf(o *plant.Overview, sys unit.System, big bool) gauge {
	g := gauge{DP: math.NaN(), Swing: o.Swing, Units: sys, Big: big}
	g.Low, g.High, g.Alarm = marksOf(o.Collector)
	if j := o.Judgement; j != nil && j.Reading != nil {
		g.DP = j.Reading.Value
	}
	return g
}

// marksOf are the set points of a collector [Pa]; NaN where the file gives none.
func marksOf(c *collector.Collector) (low, high, alarm float64) {
	return float64(c.SetPoints.Low), float64(c.SetPoints.High), float64(c.SetPoints.Alarm)
}

// top is the pressure at the upper end of the scale [Pa].
func (g gauge) top() float64 {
	most := 0.0
	for _, v := range []float64{g.Alarm, g.High, 1.15 * g.DP, g.Swing.Max} {
		if v > most { // false for NaN
			most = v
		}
	}
	if most == 0 {
		most = 1500 // about 6 in. w.g., the usual alarm
	}
	return 1.25 * most
}

// geometry of the tube, in the drawing's own units: legs at x 26 and 50, liquid level at rest half way.
const (
	legLeft, legRight = 26.0, 50.0
	tubeFoot, tubeRun = 98.0, 84.0
	tubeMid           = tubeFoot + 6 - tubeRun/2
	tubeWide          = 12.0
)

// svg draws a U-tube true to scale: the two legs stand apart by the dP, the right one, the clean side,
// higher. Ticks mark low, high and alarm; the alarm's is long.
func (g gauge) svg() template.HTML {
	top := g.top()
	px := func(v float64) float64 { return v / top * tubeRun / 2 }
	dp := g.DP
	if math.IsNaN(dp) {
		dp = 0
	}
	left, right := tubeMid+px(dp), tubeMid-px(dp)
	var b strings.Builder
	wide := 76
	if g.Big {
		wide = 128
	}
	fmt.Fprintf(&b, `<svg class="tube" viewBox="0 0 %d 120" role="img" aria-label="%s">`, wide, template.HTMLEscapeString(g.alt()))
	fmt.Fprintf(&b, `<path d="M%g 14V%ga12 12 0 0 0 24 0V14" fill="none" stroke="var(--glass)" stroke-width="%g" stroke-linecap="round"/>`, legLeft, tubeFoot, tubeWide)
	if g.Swing.N > 1 {
		hi, lo := tubeMid-px(g.Swing.Max), tubeMid-px(g.Swing.Min)
		fmt.Fprintf(&b, `<path d="M%g %.1fV%.1f" stroke="var(--fluid)" stroke-width="%g" opacity=".35"/>`, legRight, lo, hi, tubeWide-1)
	}
	fmt.Fprintf(&b, `<path d="M%g %.1fV%ga12 12 0 0 0 24 0V%.1f" fill="none" stroke="var(--fluid)" stroke-width="%g"/>`, legLeft, left, tubeFoot, right, tubeWide-3)
	for _, m := range []struct {
		v    float64
		word string
	}{{g.Low, "low"}, {g.High, "high"}, {g.Alarm, "alarm"}} {
		if math.IsNaN(m.v) {
			continue
		}
		long, thick := 7.0, 1.2
		if m.word == "alarm" {
			long, thick = 12, 2.4
		}
		y := tubeMid - px(m.v)
		fmt.Fprintf(&b, `<path d="M%g %.1fh%g" stroke="currentColor" stroke-width="%g"/>`, legRight+tubeWide/2+2, y, long-2, thick)
		if g.Big {
			n := show(unit.KindPressure, m.v, g.Units)
			fmt.Fprintf(&b, `<text x="%g" y="%.1f" class="n">%s %s</text>`, legRight+tubeWide/2+14, y+2.4, m.word, n.Number)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// alt says in words what the drawing shows.
func (g gauge) alt() string {
	text := "dP not known"
	if !math.IsNaN(g.DP) {
		text = "dP " + unit.Pressure(g.DP).In(g.Units)
	}
	for _, m := range []struct {
		v    float64
		word string
	}{{g.Low, "low"}, {g.High, "high"}, {g.Alarm, "alarm"}} {
		if !math.IsNaN(m.v) {
			text += fmt.Sprintf("; %s %s", m.word, show(unit.KindPressure, m.v, g.Units).Number)
		}
	}
	if g.Swing.N > 1 {
		text += fmt.Sprintf("; last day between %s and %s", show(unit.KindPressure, g.Swing.Min, g.Units).Number, show(unit.KindPressure, g.Swing.Max, g.Units).Number)
	}
	return text
}
