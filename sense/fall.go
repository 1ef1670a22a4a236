package sense

import "math"

// A dP falls from fallUpper to fallLower of what it read while the fan ran. A saw-tooth does not go down so far, and a gauge's
// zero does not lie so high; a line that is nearly blocked passes both late: of a lag of first order the fall takes 0.92 time
// constants. Common practice, no source.
const (
	fallUpper = 0.5
	fallLower = 0.2
)

// fall finds how long the dP takes to fall to nothing when the fan stops. Rows that are missing on the way leave that open.
func (w *scratch) fall(ch chunk, hour *Hour, st *State) {
	for i, x := range ch.col[DP] {
		if w.gap[i] > 3*w.step {
			st.FallFrom = 0
		}
		switch {
		case x != x || st.FallLevel <= 0:
		case x >= fallUpper*st.FallLevel:
			st.FallFrom = ch.t[i]
		case x <= fallLower*st.FallLevel && st.FallFrom > 0:
			hour.DP.Fall = float32(ch.t[i]-st.FallFrom) * 1e-9
			st.FallFrom = 0
		}
	}
	if hour.DP.N > 1 && hour.Running > 0.95 {
		st.FallLevel = float64(hour.DP.P50)
	}
}

// Falls are few where a plant hardly stops: fallDays is how far back they are looked for, and fewFalls how many are enough.
const (
	fallDays = 14
	fewFalls = 3
)

// fall is the median of the times in which the dP fell.
func (d *Day) fall(hours []Hour) {
	var v []float64
	step := 0.0
	for i := range hours {
		if x := float64(hours[i].DP.Fall); x > 0 {
			v, step = append(v, x), float64(hours[i].Step)
		}
	}
	if n := len(v); n > 0 {
		mid := medianOf(v)
		d.set(FallTime, mid, math.Max(spreadOf(v), step/math.Sqrt(12))/math.Sqrt(float64(n)))
	}
}

// lastFalls puts the last falls in the place of those of the recent window, which may hold none.
func (v *view) lastFalls(day *Day) {
	from := v.at - fallDays*86400
	hours, n := v.hoursFrom(from), 0
	i := len(hours)
	for i > 0 && n < fewFalls {
		i--
		if hours[i].DP.Fall > 0 {
			n++
		}
	}
	day.fall(hours[i:])
}
