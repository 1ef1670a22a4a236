package plot

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// Rehearsal is one run to draw.
type Rehearsal struct {
	Name      string // what tells this run from the other; "" for a single one
	Collector *collector.Collector
	Result    *rehearse.Result
	Envelope  *Envelope
}

const (
	wide                   = 1080.0
	left, right            = 64.0, 1016.0
	panel, strip, headroom = 330.0, 60.0, 62.0
)

// Rehearsals draws runs below each other on one time axis and one scale of dP.
func Rehearsals(w io.Writer, sys unit.System, runs []Rehearsal) error {
	var c canvas
	each := headroom + panel + strip + 46
	first := runs[0]
	title := first.Collector.Tag + ": dP across the filters, rehearsed"
	c.open(wide, each*float64(len(runs)), title, describe(sys, runs))
	top := 0.0
	for _, r := range runs {
		top = max(top, r.top())
	}
	for i, r := range runs {
		d := &drawing{c: &c, r: r, sys: sys, y0: each*float64(i) + headroom, top: top}
		d.draw()
	}
	_, err := io.WriteString(w, c.close())
	return err
}

// top is the upper end of the scale [Pa]: the alarm or the highest dP, and some paper above.
func (r Rehearsal) top() float64 {
	t := float64(r.Collector.SetPoints.Alarm)
	if !(t > 0) {
		t = 4 * unit.InchWater
	}
	for _, v := range r.Envelope.high {
		if v > t {
			t = v
		}
	}
	return 1.08 * t
}

// describe is the text alternative.
func describe(sys unit.System, runs []Rehearsal) string {
	var b strings.Builder
	for _, r := range runs {
		if r.Name != "" {
			b.WriteString(r.Name + ": ")
		}
		d := r.Result.Truth.Daily
		lo, hi := math.NaN(), math.NaN()
		for _, x := range d {
			if x.Ran > 3600 {
				if math.IsNaN(lo) {
					lo = float64(x.AfterClean)
				}
				hi = float64(x.AfterClean)
			}
		}
		fmt.Fprintf(&b, "%s to %s; just after cleaning, at design flow, the filters stand at %s on the first day and %s on the last. ",
			r.Result.Truth.Start.Format("2 January 2006"), r.end().Format("2 January 2006"), unit.Pressure(lo).In(sys), unit.Pressure(hi).In(sys))
	}
	return strings.TrimSpace(b.String())
}

func (r Rehearsal) end() time.Time {
	return time.Unix(0, r.Envelope.to).In(r.Result.Truth.Start.Location())
}

// drawing is one run on the canvas.
type drawing struct {
	c       *canvas
	r       Rehearsal
	sys     unit.System
	y0, top float64
}

func (d *drawing) x(t time.Time) float64 {
	e := d.r.Envelope
	return left + (right-left)*float64(t.UnixNano()-e.from)/float64(e.to-e.from)
}

func (d *drawing) y(dp float64) float64 { return d.y0 + panel*(1-min(max(dp/d.top, 0), 1)) }

func (d *drawing) draw() {
	head := d.r.Collector.Tag + ": dP across the filters"
	if d.r.Name != "" {
		head += ", " + d.r.Name
	}
	d.c.text("h", left, d.y0-40, head)
	d.axes()
	d.band()
	d.afterCleaning()
	d.pulses()
	d.flags()
}

// axes are the scale of dP, the set points as ticks on the right as on the manometer, and the time.
func (d *drawing) axes() {
	_, symbol, _ := unit.Shown(unit.KindPressure, d.top, d.sys)
	step := stepOf(d.top, d.sys)
	for v := 0.0; v <= d.top; v += step {
		d.c.line("grid", left, d.y(v), right, d.y(v))
		shown, _, _ := unit.Shown(unit.KindPressure, v, d.sys)
		d.c.text("q e", left-8, d.y(v)+4, fmt.Sprintf("%g", math.Round(shown*100)/100))
	}
	d.c.text("q", left-56, d.y0-14, symbol)
	s := d.r.Collector.SetPoints
	for _, m := range []struct {
		v    unit.Pressure
		word string
		long float64
	}{{s.Low, "low", 9}, {s.High, "high", 9}, {s.Alarm, "alarm", 18}} {
		if v := float64(m.v); v > 0 && v < d.top {
			d.c.line("tick", right, d.y(v), right+m.long, d.y(v))
			d.c.text("q", right+m.long+4, d.y(v)+4, m.word)
		}
	}
	at, words := marks(d.r.Result.Truth.Start, d.r.end())
	if len(at) == 0 || d.x(at[0]) > left+70 {
		at, words = append(at, d.r.Result.Truth.Start), append(words, d.r.Result.Truth.Start.Format("2 Jan"))
	}
	base := d.y0 + panel + strip + 12
	for i, t := range at {
		x := d.x(t)
		d.c.line("grid", x, d.y0, x, base)
		if x < right-30 {
			d.c.text("q", x+3, base+14, words[i])
		}
	}
}

// stepOf is a round distance between lines of the dP scale [Pa].
func stepOf(top float64, sys unit.System) float64 {
	in := 1.0
	if sys == unit.US {
		in = unit.InchWater
	}
	for _, s := range []float64{0.25, 0.5, 1, 2, 5, 10, 25, 50, 100, 250, 500, 1000, 2500} {
		if top/(s*in) <= 8 {
			return s * in
		}
	}
	return top / 4
}

// band is the envelope, column by column; columns without running stay open.
func (d *drawing) band() {
	e := d.r.Envelope
	w := (right - left) / float64(len(e.low))
	for i := 0; i < len(e.low); i++ {
		if math.IsNaN(e.low[i]) {
			continue
		}
		y1, y2 := d.y(e.high[i]), d.y(e.low[i])
		fmt.Fprintf(&d.c.b, `<rect class="band" x="%s" y="%s" width="%s" height="%s"/>`+"\n", f(left+w*float64(i)), f(y1), f(w), f(max(1, y2-y1)))
	}
}

// afterCleaning is the filters' dP at design flow just after cleaning, in ink.
func (d *drawing) afterCleaning() {
	var x, y []float64
	for _, day := range d.r.Result.Truth.Daily {
		if day.Ran < 3600 || day.Date.UnixNano() > d.r.Envelope.to {
			continue
		}
		if n := len(x); n > 0 && d.x(day.Date)-x[n-1] > d.x(day.Date)-d.x(day.Date.AddDate(0, 0, -5)) {
			x, y = append(x, x[n-1]), append(y, math.NaN())
		}
		x, y = append(x, min(d.x(day.Date.Add(12*time.Hour)), right)), append(y, d.y(float64(day.AfterClean)))
	}
	d.c.path("ink", x, y)
}

// pulses is a strip of the pulses a day.
func (d *drawing) pulses() {
	most := 1
	for _, day := range d.r.Result.Truth.Daily {
		if day.Date.UnixNano() < d.r.Envelope.to {
			most = max(most, day.Pulses)
		}
	}
	base := d.y0 + panel + strip + 12
	for _, day := range d.r.Result.Truth.Daily {
		if day.Pulses == 0 || day.Date.UnixNano() >= d.r.Envelope.to {
			continue
		}
		x, w := d.x(day.Date), d.x(day.Date.AddDate(0, 0, 1))-d.x(day.Date)
		h := (strip - 6) * float64(day.Pulses) / float64(most)
		fmt.Fprintf(&d.c.b, `<rect class="bar" x="%s" y="%s" width="%s" height="%s"/>`+"\n", f(x), f(base-h), f(max(0.5, 0.85*w)), f(h))
	}
	d.c.line("grid", left, base, right, base)
	d.c.text("q e", left-8, base-strip+16, fmt.Sprint(most))
	d.c.text("q", right+6, base-strip+16, "pulses")
	d.c.text("q", right+6, base-strip+32, "a day")
}

// flags are what hands did and what went wrong, each with a word; words that would lie on one another step down.
func (d *drawing) flags() {
	type flag struct {
		t    time.Time
		word string
		bad  bool
	}
	var all []flag
	for _, w := range d.r.Result.Truth.Work {
		switch w.What {
		case rehearse.MoveDamper:
			all = append(all, flag{w.At, "damper " + w.Value.In(d.sys), false})
		case rehearse.ChangeFilters:
			all = append(all, flag{w.At, "new filters", false})
		case rehearse.SetPoints:
			all = append(all, flag{w.At, "set points", false})
		}
	}
	for _, x := range d.r.Result.Truth.Faults {
		word := x.Cause
		if x.Number > 0 {
			word += fmt.Sprintf(" %d", x.Number)
		}
		all = append(all, flag{x.From, word, true})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].t.Before(all[j].t) })
	var ends [3]float64
	for _, g := range all {
		if g.t.UnixNano() > d.r.Envelope.to {
			continue
		}
		x := d.x(g.t)
		row := 0
		for row < 2 && x < ends[row]+6 {
			row++
		}
		y := d.y0 - 18 + 14*float64(row)
		class, word := "flag", "q"
		if g.bad {
			class, word = "bad", "badw"
		}
		d.c.line(class, x, y-8, x, d.y0+panel)
		long := 7.2 * float64(len(g.word))
		switch {
		case x <= ends[row]: // no room left: the line stands without its word
		case x+3+long > wide:
			d.c.text(word+" e", x-3, y, g.word)
			ends[row] = x
		default:
			d.c.text(word, x+3, y, g.word)
			ends[row] = x + 3 + long
		}
	}
}
