package plot

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// canvas collects the elements of one drawing.
type canvas struct{ b strings.Builder }

// style holds the look's colours, for light paper and dark.
const style = `<style>
.pl{--paper:#fffdf8;--ink:#1d2326;--quiet:#5a6468;--line:#d9d4c7;--fluid:#3b6f8f;--hands:#a8380f}
@media (prefers-color-scheme:dark){.pl{--paper:#1c2225;--ink:#eceae4;--quiet:#a3adb0;--line:#333b3f;--fluid:#79b4d6;--hands:#ff9a70}}
.pl text{font:13px "Inter","Segoe UI",system-ui,sans-serif;fill:var(--ink);font-variant-numeric:tabular-nums}
.pl .q{fill:var(--quiet)}.pl .h{font-weight:650;font-size:15px}.pl .e{text-anchor:end}.pl .m{text-anchor:middle}
.pl .grid{stroke:var(--line)}.pl .tick{stroke:var(--ink)}.pl .band{fill:var(--fluid);fill-opacity:.55}
.pl .ink{fill:none;stroke:var(--ink);stroke-width:1.8}.pl .bar{fill:var(--quiet);fill-opacity:.6}
.pl .flag{stroke:var(--quiet)}.pl .bad{stroke:var(--hands)}.pl .badw{fill:var(--hands);font-weight:650}
</style>`

func (c *canvas) open(w, h float64, title, desc string) {
	fmt.Fprintf(&c.b, `<svg xmlns="http://www.w3.org/2000/svg" class="pl" viewBox="0 0 %s %s" role="img" aria-labelledby="t d">`+"\n", f(w), f(h))
	fmt.Fprintf(&c.b, `<title id="t">%s</title><desc id="d">%s</desc>`+"\n%s\n", escape(title), escape(desc), style)
	fmt.Fprintf(&c.b, `<rect width="%s" height="%s" style="fill:var(--paper)"/>`+"\n", f(w), f(h))
}

func (c *canvas) close() string {
	c.b.WriteString("</svg>\n")
	return c.b.String()
}

func (c *canvas) line(class string, x1, y1, x2, y2 float64) {
	fmt.Fprintf(&c.b, `<line class="%s" x1="%s" y1="%s" x2="%s" y2="%s"/>`+"\n", class, f(x1), f(y1), f(x2), f(y2))
}

func (c *canvas) text(class string, x, y float64, s string) {
	fmt.Fprintf(&c.b, `<text class="%s" x="%s" y="%s">%s</text>`+"\n", class, f(x), f(y), escape(s))
}

// path writes a path of points; a NaN breaks it.
func (c *canvas) path(class string, x, y []float64) {
	var d strings.Builder
	pen := false
	for i := range x {
		if math.IsNaN(y[i]) {
			pen = false
			continue
		}
		if pen {
			d.WriteString("L" + f(x[i]) + " " + f(y[i]))
		} else {
			d.WriteString("M" + f(x[i]) + " " + f(y[i]))
		}
		pen = true
	}
	if d.Len() > 0 {
		fmt.Fprintf(&c.b, `<path class="%s" d="%s"/>`+"\n", class, d.String())
	}
}

// f prints a coordinate to a tenth of a pixel.
func f(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(s)
}

// marks are round places on a time axis with their words.
func marks(from, to time.Time) (at []time.Time, word []string) {
	span := to.Sub(from)
	step := func(t time.Time) time.Time { return t.AddDate(0, 1, 0) }
	t := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, from.Location())
	layout := "Jan 2006"
	switch {
	case span < 3*24*time.Hour:
		step, layout = func(t time.Time) time.Time { return t.Add(6 * time.Hour) }, "2 Jan 15:04"
		t = time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
	case span < 45*24*time.Hour:
		step, layout = func(t time.Time) time.Time { return t.AddDate(0, 0, 7) }, "2 Jan"
		t = time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, from.Location())
	case span > 900*24*time.Hour:
		step, layout = func(t time.Time) time.Time { return t.AddDate(1, 0, 0) }, "2006"
		t = time.Date(from.Year(), 1, 1, 0, 0, 0, 0, from.Location())
	case span > 300*24*time.Hour:
		step = func(t time.Time) time.Time { return t.AddDate(0, 2, 0) }
	}
	for ; !t.After(to); t = step(t) {
		if !t.Before(from) {
			at, word = append(at, t), append(word, t.Format(layout))
		}
	}
	return at, word
}
