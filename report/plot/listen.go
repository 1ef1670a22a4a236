package plot

import (
	"fmt"
	"io"
	"math"

	"dustwright/sense/ear"
)

// Listen draws the recording's cycle slot by slot: one bar for each moment a pulse was due, as high as the
// pulse was loud against the group, in the order of time; a word says what each valve is.
func Listen(w io.Writer, title string, r *ear.Result) error {
	const tall, top, floor = 220.0, 96.0, -24.0
	var c canvas
	name := "pulses heard, slot by slot"
	if title != "" {
		name = title + ": " + name
	}
	c.open(wide, top+tall+90, name, fmt.Sprintf("%d pulses heard in %d slots", len(r.Pulses), len(r.Slots)))
	c.text("h", left, 34, name)
	c.text("q", left, 54, "level against the group in dB; a slot without a bar was silent; "+r.Numbered)
	span := wide - 2*left
	y := func(db float64) float64 { return top + tall*(1-(math.Min(6, math.Max(floor, db))-floor)/(6-floor)) }
	for db := floor; db <= 6; db += 6 {
		c.line("grid", left, y(db), left+span, y(db))
		c.text("q e", left-4, y(db)+4, fmt.Sprintf("%.0f", db))
	}
	state := map[int]ear.Valve{}
	for _, v := range r.Valves {
		state[v.Number] = v
	}
	step := span / float64(max(1, len(r.Slots)))
	for i, s := range r.Slots {
		x := left + step*(float64(i)+0.5)
		if s.Heard {
			wide := 0.3 * step
			c.band([]float64{x - wide, x + wide}, []float64{y(s.Level), y(s.Level)}, y(floor))
		}
		v := state[s.Valve]
		class := "q m"
		if v.State != ear.OK {
			class = "badw m"
		}
		c.text(class, x, top+tall+20, fmt.Sprint(s.Valve))
		if v.State != ear.OK && i < len(r.Valves) {
			c.text("badw m", x, top+tall+38, string(v.State))
		}
	}
	c.text("q m", left+span/2, top+tall+62, "valve")
	_, err := io.WriteString(w, c.close())
	return err
}
