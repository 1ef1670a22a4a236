package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"time"

	"dustwright/plant"
	"dustwright/unit"
)

// chart is one drawing over time: an envelope band, a line with its width, the forecast's fan, limits and
// marks for work. All values are SI; it is drawn in the reader's units.
type chart struct {
	from, to      time.Time
	width, height float64
	unit          unit.Unit
	band          []plant.Bucket
	step          time.Duration // of the band's buckets
	line, other   []point       // other is dashed
	fan           []fanPoint
	limits        []limit
	flags         []flag
	alt           string
}

// point is a value with its standard uncertainty.
type point struct {
	at     time.Time
	v, sd  float64
	begins bool // the line starts anew
}

// fanPoint is the level expected at a time, with its 80 % interval.
type fanPoint struct {
	at            time.Time
	p10, p50, p90 float64
}

// limit is a level with a word.
type limit struct {
	v    float64
	word string
}

// flag marks work done.
type flag struct {
	at         time.Time
	word, says string
	often      bool // happens every few days: a short mark without its word
}

// the margins around the plot
const (
	marginLeft, marginRight, marginTop, marginBottom = 44.0, 8.0, 22.0, 24.0
)

func (c *chart) x(t time.Time) float64 {
	return marginLeft + t.Sub(c.from).Seconds()/c.to.Sub(c.from).Seconds()*(c.width-marginLeft-marginRight)
}

// scale is the range of values drawn, in the reader's unit, with the distance of its grid lines.
func (c *chart) scale() (lo, hi, step float64) {
	see := func(v float64) {
		if v = c.unit.From(v); v == v {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, b := range c.band {
		see(b.Min)
		see(b.Max)
	}
	for _, p := range c.line {
		see(p.v)
	}
	for _, l := range c.limits {
		see(l.v)
	}
	for _, p := range c.other {
		see(p.v)
	}
	for _, p := range c.fan {
		if !p.at.After(c.to) {
			see(math.Min(p.p90, c.fanTop()))
		}
	}
	if hi <= 0 {
		hi = 1
	}
	if lo > -0.03*hi { // the gauge's own zero error needs no room
		lo = 0
	}
	hi += 0.06 * (hi - lo)
	step = nice((hi - lo) / 5)
	return math.Floor(lo/step) * step, hi, step
}

// nice rounds a distance up to 1, 2 or 5 times a power of ten.
func nice(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5, 10} {
		if v <= m*p*1.0001 {
			return m * p
		}
	}
	return 10 * p
}

// svg draws the chart. Gaps in the readings stay open.
func (c *chart) svg() []byte {
	var b strings.Builder
	lo, hi, step := c.scale()
	plotH := c.height - marginTop - marginBottom
	y := func(shown float64) float64 { return marginTop + (hi-shown)/(hi-lo)*plotH }
	yv := func(si float64) float64 { return y(c.unit.From(si)) }
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 %g %g" role="img" aria-label="%s">`, c.width, c.height, template.HTMLEscapeString(c.alt))
	fmt.Fprintf(&b, `<text x="4" y="13" class="u">%s</text>`, template.HTMLEscapeString(c.unit.Symbol))
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	for v := lo; v <= hi; v += step {
		fmt.Fprintf(&b, `<path d="M%g %.1fH%g" class="g"/><text x="%g" y="%.1f" class="e">%.*f</text>`, marginLeft, y(v), c.width-marginRight, marginLeft-6, y(v)+4, decimals, v)
	}
	for _, t := range timeTicks(c.from, c.to, int((c.width-marginLeft)/64)) {
		fmt.Fprintf(&b, `<path d="M%.1f %.1fv5" class="t"/><text x="%.1f" y="%g" class="m">%s</text>`, c.x(t.at), c.height-marginBottom, c.x(t.at), c.height-6, t.word)
	}
	fmt.Fprintf(&b, `<svg x="%g" y="0" width="%g" height="%g" viewBox="%g 0 %g %g">`, marginLeft, c.width-marginLeft-marginRight, c.height, marginLeft, c.width-marginLeft-marginRight, c.height)
	c.drawBand(&b, yv)
	c.drawFan(&b, yv)
	for _, l := range c.limits {
		fmt.Fprintf(&b, `<path d="M%g %.1fH%g" class="l"/><text x="%g" y="%.1f" class="w">%s</text>`, marginLeft, yv(l.v), c.width, marginLeft+4, yv(l.v)-4, template.HTMLEscapeString(l.word))
	}
	drawLine(&b, c.line, "line", c.x, yv)
	drawLine(&b, c.other, "line dash", c.x, yv)
	b.WriteString(`</svg>`)
	c.drawFlags(&b)
	b.WriteString(`</svg>`)
	return []byte(b.String())
}

// drawBand draws the envelope of minima and maxima, broken where readings are missing.
func (c *chart) drawBand(b *strings.Builder, y func(float64) float64) {
	gap := int64(3 * c.step)
	for i := 0; i < len(c.band); {
		j := i + 1
		for j < len(c.band) && c.band[j].From-c.band[j-1].To <= gap {
			j++
		}
		piece := c.band[i:j]
		i = j
		b.WriteString(`<path class="band" d="M`)
		for _, k := range piece {
			fmt.Fprintf(b, "%.1f %.1f %.1f %.1f ", c.x(time.Unix(0, k.From)), y(k.Max), c.x(time.Unix(0, k.To)), y(k.Max))
		}
		for k := len(piece) - 1; k >= 0; k-- {
			// a band of one level still shows: half a pixel on each side
			low := math.Max(y(piece[k].Min), y(piece[k].Max)+1)
			fmt.Fprintf(b, "%.1f %.1f %.1f %.1f ", c.x(time.Unix(0, piece[k].To)), low, c.x(time.Unix(0, piece[k].From)), low)
		}
		b.WriteString(`Z"/>`)
	}
}

// lineGap is the longest distance of two points of the slow line that it joins.
const lineGap = 5 * 24 * time.Hour

// drawLine draws a slow line, open where points are missing.
func drawLine(b *strings.Builder, line []point, class string, x func(time.Time) float64, y func(float64) float64) {
	open := false
	for i, p := range line {
		if i > 0 && !p.begins && p.at.Sub(line[i-1].at) <= lineGap {
			fmt.Fprintf(b, "L%.1f %.1f", x(p.at), y(p.v))
			continue
		}
		if open {
			b.WriteString(`"/>`)
		}
		fmt.Fprintf(b, `<path class="%s" d="M%.1f %.1fh.01`, class, x(p.at), y(p.v))
		open = true
	}
	if open {
		b.WriteString(`"/>`)
	}
}

// fanTop is the limit at which the forecast ends.
func (c *chart) fanTop() float64 {
	if len(c.limits) == 0 {
		return math.Inf(1)
	}
	return c.limits[len(c.limits)-1].v
}

// drawFan draws the forecast: it opens to the right and ends where it meets the limit.
func (c *chart) drawFan(b *strings.Builder, y func(float64) float64) {
	if len(c.fan) < 2 {
		return
	}
	top := c.fanTop()
	b.WriteString(`<path class="fan" d="M`)
	for _, p := range c.fan {
		fmt.Fprintf(b, "%.1f %.1f ", c.x(p.at), y(math.Min(p.p10, top)))
	}
	for i := len(c.fan) - 1; i >= 0; i-- {
		fmt.Fprintf(b, "%.1f %.1f ", c.x(c.fan[i].at), y(math.Min(c.fan[i].p90, top)))
	}
	b.WriteString(`Z"/><path class="mid" d="M`)
	for _, p := range c.fan {
		if p.p50 > top {
			break
		}
		fmt.Fprintf(b, "%.1f %.1f ", c.x(p.at), y(p.p50))
	}
	b.WriteString(`"/>`)
}

// drawFlags draws the marks for work with a word each, where there is room for one.
func (c *chart) drawFlags(b *strings.Builder) {
	free := marginLeft - 1
	for _, f := range c.flags {
		x := c.x(f.at)
		if x < marginLeft || x > c.width-marginRight {
			continue
		}
		if f.often {
			fmt.Fprintf(b, `<g><title>%s</title><path class="f" d="M%.1f %gv-7"/></g>`, template.HTMLEscapeString(f.says), x, c.height-marginBottom)
			continue
		}
		fmt.Fprintf(b, `<g><title>%s</title><path class="f" d="M%.1f %gV%g"/>`, template.HTMLEscapeString(f.says), x, marginTop-6, c.height-marginBottom)
		wide := 6.6 * float64(len(f.word))
		at := math.Min(x, c.width-marginRight-wide)
		if at > free {
			fmt.Fprintf(b, `<text x="%.1f" y="12" class="fl">%s</text>`, at, template.HTMLEscapeString(f.word))
			free = at + wide + 8
		}
		b.WriteString(`</g>`)
	}
}

// tick is a mark on the axis of time.
type tick struct {
	at   time.Time
	word string
}

// timeTicks are at most about n marks on round times between two times.
func timeTicks(from, to time.Time, n int) []tick {
	span := to.Sub(from)
	var out []tick
	for _, d := range []struct {
		step   time.Duration
		layout string
	}{{time.Minute, "15:04"}, {5 * time.Minute, "15:04"}, {15 * time.Minute, "15:04"}, {time.Hour, "15:04"}, {3 * time.Hour, "15:04"}, {6 * time.Hour, "Mon 15:04"}, {12 * time.Hour, "Mon 15:04"}} {
		if int(span/d.step) <= n {
			for t := midnight(from); t.Before(to); t = t.Add(d.step) {
				if !t.Before(from) {
					out = append(out, tick{t, t.Format(d.layout)})
				}
			}
			return out
		}
	}
	for _, days := range []int{1, 2, 7, 14} {
		if int(span/(24*time.Hour))/days <= n {
			for t := midnight(from); t.Before(to); t = t.AddDate(0, 0, days) {
				if !t.Before(from) {
					out = append(out, tick{t, t.Format("2 Jan")})
				}
			}
			return out
		}
	}
	for _, months := range []int{1, 2, 3, 6, 12, 24, 60} {
		if int(span/(30*24*time.Hour))/months <= n {
			for t := time.Date(from.Year(), 1, 1, 0, 0, 0, 0, from.Location()); t.Before(to); t = t.AddDate(0, months, 0) {
				if !t.Before(from) {
					layout := "Jan"
					if t.Month() == time.January {
						layout = "2006"
					}
					out = append(out, tick{t, t.Format(layout)})
				}
			}
			return out
		}
	}
	return nil
}
