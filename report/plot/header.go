package plot

import (
	"fmt"
	"io"
	"math"
	"strings"

	"dustwright/sense/trace"
	"dustwright/unit"
)

// Header draws a cleaning cycle valve by valve: the mean way of the header around each valve's turn in
// ink, over the usual one in the fluid's colour. A word says what a valve is; hue stands only where
// somebody is needed.
func Header(w io.Writer, sys unit.System, title string, r *trace.Result) error {
	const cell, tall, gapX, gapY, across = 232.0, 150.0, 24.0, 58.0, 4
	rows := (len(r.Valves) + across - 1) / across
	var c canvas
	name := "header pressure, valve by valve"
	if title != "" {
		name = title + ": " + name
	}
	height := 92 + float64(rows)*(tall+gapY)
	c.open(wide, height, name, headerWords(r))
	c.text("h", left, 34, name)
	c.text("q", left, 54, fmt.Sprintf("ink: the mean of a valve's turns; blue: the usual turn; from %s before the onset on", seconds(-float64(r.Course.Start))))
	top := 1.1 * headerTop(r)
	for i, v := range r.Valves {
		x := left + float64(i%across)*(cell+gapX)
		y := 92 + float64(i/across)*(tall+gapY)
		drawValve(&c, frame{x: x, y: y, w: cell, h: tall, top: top, sys: sys, span: headerSpan(r)}, v, r.Course)
	}
	_, err := io.WriteString(w, c.close())
	return err
}

// frame is where one valve is drawn.
type frame struct {
	x, y, w, h float64
	top        float64    // of the scale [Pa]
	span       [2]float64 // [s]
	sys        unit.System
}

func (f frame) px(t float64) float64 { return f.x + f.w*(t-f.span[0])/(f.span[1]-f.span[0]) }
func (f frame) py(p float64) float64 { return f.y + f.h*(1-math.Min(math.Max(p/f.top, 0), 1)) }

func drawValve(c *canvas, f frame, v trace.Valve, usual trace.Course) {
	word, class := string(v.State), "q"
	switch {
	case v.State != trace.OK:
		class = "badw"
	case v.Late:
		word, class = "closes late", "badw"
	case v.Doubles > 0:
		word, class = "opens twice", "badw"
	}
	if v.Unsure {
		word += ", not sure"
	}
	c.text("h", f.x, f.y-10, fmt.Sprintf("valve %d", v.Number))
	c.text(class+" e", f.x+f.w, f.y-10, word)
	c.line("grid", f.x, f.y+f.h, f.x+f.w, f.y+f.h)
	for _, p := range levels(f.top, f.sys) {
		c.line("grid", f.x, f.py(p.at), f.x+f.w, f.py(p.at))
		if f.x == left { // the scale stands once a row
			c.text("q e", f.x-4, f.py(p.at)+4, p.word)
		}
	}
	x, y := f.points(usual)
	c.band(x, y, f.y+f.h)
	x, y = f.points(v.Course)
	c.path("ink", x, y)
	if len(y) == 0 {
		c.text("q m", f.x+f.w/2, f.y+f.h/2, "no whole turn in the trace")
	}
	c.text("q", f.x, f.y+f.h+18, valveWords(v, f.sys))
}

func (f frame) points(course trace.Course) (x, y []float64) {
	for i, p := range course.Pressure {
		t := float64(course.Start) + float64(i)*float64(course.Step)
		if t > f.span[1] {
			break
		}
		x, y = append(x, f.px(t)), append(y, f.py(p))
	}
	return x, y
}

// band fills between a curve and a base line.
func (c *canvas) band(x, y []float64, base float64) {
	if len(x) < 2 {
		return
	}
	var d strings.Builder
	d.WriteString("M" + f(x[0]) + " " + f(base))
	for i := range x {
		d.WriteString("L" + f(x[i]) + " " + f(y[i]))
	}
	d.WriteString("L" + f(x[len(x)-1]) + " " + f(base) + "Z")
	fmt.Fprintf(&c.b, `<path class="band" d="%s"/>`+"\n", d.String())
}

// headerTop is the highest pressure drawn.
func headerTop(r *trace.Result) float64 {
	top := float64(r.Level)
	if !math.IsNaN(float64(r.Set)) {
		top = math.Max(top, float64(r.Set))
	}
	for _, v := range r.Valves {
		for _, p := range v.Course.Pressure {
			top = math.Max(top, p)
		}
	}
	return math.Max(top, 1e4)
}

// headerSpan is the time drawn: from before the onset until the usual turn has recovered, at least a third
// of the interval.
func headerSpan(r *trace.Result) [2]float64 {
	end := float64(r.Interval)
	if back := float64(r.Refill.Recovery); !math.IsNaN(back) {
		end = math.Min(end, math.Max(2*back, end/3))
	}
	return [2]float64{-0.6, math.Max(end, 1)}
}

type level struct {
	at   float64
	word string
}

// levels are round pressures on the scale.
func levels(top float64, sys unit.System) []level {
	size, symbol := 6894.757293168, "psi"
	if sys == unit.SI {
		size, symbol = 1e3, "kPa"
	}
	step := 20.0
	if sys == unit.SI {
		step = 100
	}
	for top/size/step > 5 {
		step *= 2
	}
	var out []level
	for v := step; v*size < top; v += step {
		out = append(out, level{v * size, fmt.Sprintf("%.0f", v)})
	}
	if k := len(out) - 1; k >= 0 {
		out[k].word += " " + symbol
	}
	return out
}

func valveWords(v trace.Valve, sys unit.System) string {
	if math.IsNaN(v.Share) {
		return "no turn could be measured"
	}
	size, symbol := 6894.757293168, "psi"
	if sys == unit.SI {
		size, symbol = 1e3, "kPa"
	}
	return fmt.Sprintf("%.1f %s, %.2f of the usual; %d of %d", float64(v.Drop)/size, symbol, v.Share, v.Count, v.Due)
}

func seconds(v float64) string { return fmt.Sprintf("%.1f s", v) }

// headerWords is the text alternative.
func headerWords(r *trace.Result) string {
	var parts []string
	for _, v := range r.Valves {
		text := fmt.Sprintf("valve %d is %s", v.Number, v.State)
		if !math.IsNaN(v.Share) {
			text += fmt.Sprintf(", %.2f of the usual drop", v.Share)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ") + "."
}
