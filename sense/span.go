package sense

import "math"

// spanLeast is how many readings an hour must have to show how far the dP goes in it, and spanFine what no gauge resolves, as a
// share of the dP. Common practice, no source.
const (
	spanLeast = 4
	spanFine  = 0.01
)

// span is how far the dP goes within the hours through which the fan ran, in the mean of the log: hours of cleaning without end
// below the set point, of a line that is blocked, or without dust are flat between the teeth of others.
func (d *Day) span(hours []Hour) {
	var wide weighted
	for i := range hours {
		if h := &hours[i]; h.through() && h.DP.N >= spanLeast && h.DP.P50 > 0 {
			wide.add(math.Log(spanFine+float64(h.DP.P90-h.DP.P10)/float64(h.DP.P50)), 1)
		}
	}
	mean, se := wide.value()
	v := math.Exp(mean)
	d.set(DPSpan, v, v*se)
}
