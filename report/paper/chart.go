package paper

import (
	"fmt"
	"math"
	"time"

	"github.com/go-pdf/fpdf"

	"dustwright/plant"
	"dustwright/unit"
)

// level is a line across a chart with its word.
type level struct {
	value float64
	word  string
}

// chart draws a channel as its envelope over time in the fluid colour, with lines across; gaps are left
// open.
func (d *sheet) chart(from, to time.Time, buckets []plant.Bucket, kind unit.Kind, levels []level) {
	const height = 42.0
	d.room(height + 12)
	top := 0.0
	for _, b := range buckets {
		top = math.Max(top, b.Max)
	}
	for _, l := range levels {
		top = math.Max(top, l.value)
	}
	if top <= 0 {
		d.say("No readings to draw.")
		return
	}
	top *= 1.08
	x0, y0 := margin+16, d.GetY()+5
	w, h := d.width-34, height-6
	px := func(t time.Time) float64 {
		return x0 + w*float64(t.Sub(from))/float64(to.Sub(from))
	}
	py := func(v float64) float64 { return y0 + h - h*math.Max(0, v)/top }
	d.axes(frame{from: from, to: to, top: top, x0: x0, w: w, px: px, py: py}, kind)
	d.band(buckets, from, to, px, py)
	d.SetDrawColor(inkText[0], inkText[1], inkText[2])
	for _, l := range levels {
		if !(l.value > 0) {
			continue
		}
		d.SetLineWidth(0.25)
		d.SetDashPattern([]float64{1.5, 1.2}, 0)
		d.Line(x0, py(l.value), x0+w, py(l.value))
		d.SetDashPattern(nil, 0)
		d.font("", 7.5, inkText)
		d.SetXY(x0+w+1, py(l.value)-2)
		d.CellFormat(18, 4, l.word, "", 0, "L", false, 0, "")
	}
	d.SetXY(margin, y0+h+7)
}

// frame is where a chart stands on the page and what it spans; px and py give the place of a time and of a value.
type frame struct {
	from, to   time.Time
	top, x0, w float64
	px         func(time.Time) float64
	py         func(float64) float64
}

// axes draws frame, days and values.
func (d *sheet) axes(f frame, kind unit.Kind) {
	from, to, top, px, py, x0, w := f.from, f.to, f.top, f.px, f.py, f.x0, f.w
	d.SetDrawColor(inkLine[0], inkLine[1], inkLine[2])
	d.SetLineWidth(0.25)
	d.font("", 7.5, inkQuiet)
	shown, symbol, _ := unit.Shown(kind, top, d.s.Units)
	step := niceStep(shown / 5)
	for v := 0.0; v <= shown; v += step {
		y := py(v / shown * top)
		d.Line(x0, y, x0+w, y)
		d.SetXY(margin, y-2)
		d.CellFormat(15, 4, fmt.Sprintf("%.4g", v), "", 0, "R", false, 0, "")
	}
	d.SetXY(margin, py(top)-5)
	d.CellFormat(24, 4, symbol, "", 0, "L", false, 0, "")
	days := to.Sub(from).Hours() / 24
	every := int(math.Max(1, math.Ceil(days/10)))
	y, m, day := from.In(d.s.Zone).Date()
	for t := time.Date(y, m, day, 0, 0, 0, 0, d.s.Zone); t.Before(to); t = t.AddDate(0, 0, every) {
		if t.Before(from) {
			continue
		}
		d.Line(px(t), py(0), px(t), py(0)+1.2)
		d.SetXY(px(t)-10, py(0)+1.4)
		d.CellFormat(20, 4, t.Format("2 Jan"), "", 0, "C", false, 0, "")
	}
}

// band fills each bucket from its lowest to its highest reading; buckets far apart aren't joined.
func (d *sheet) band(buckets []plant.Bucket, from, to time.Time, px func(time.Time) float64, py func(float64) float64) {
	d.SetFillColor(inkFluid[0], inkFluid[1], inkFluid[2])
	d.SetAlpha(0.55, "Normal")
	for i, b := range buckets {
		a, e := px(time.Unix(0, b.From)), px(time.Unix(0, b.To))
		if i+1 < len(buckets) {
			if next := px(time.Unix(0, buckets[i+1].From)); next-e < 1.5 {
				e = next
			}
		}
		e = math.Max(e, a+0.25)
		hi, lo := py(b.Max), py(b.Min)
		if lo-hi < 0.25 {
			lo, hi = lo+0.125, hi-0.125
		}
		d.Polygon([]fpdf.PointType{{X: a, Y: hi}, {X: e, Y: hi}, {X: e, Y: lo}, {X: a, Y: lo}}, "F")
	}
	d.SetAlpha(1, "Normal")
}

// niceStep rounds a step up to 1, 2 or 5 times a power of ten.
func niceStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*p >= v {
			return m * p
		}
	}
	return v
}
