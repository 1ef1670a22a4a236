package sense

import "math"

// bandEnd is the share of hours left out at either end of the band. Common practice, no source.
const bandEnd = 0.1

// band is between what the dP goes up and down, as read, in the hours through which the fan ran: one that cleans without end
// shows no saw-tooth, but how low it gets and how narrow it stays. Hours in which the fan started or stopped are left out, but
// a log kept by hand has single readings, taken while it ran.
func (d *Day) band(hours []Hour) {
	var low, high []float64
	for i := range hours {
		if h := &hours[i]; h.through() {
			low, high = append(low, float64(h.DP.P10)), append(high, float64(h.DP.P90))
		}
	}
	n := math.Sqrt(float64(len(low)))
	if n == 0 {
		return
	}
	sdLow, sdHigh := spreadOf(append([]float64(nil), low...)), spreadOf(append([]float64(nil), high...))
	d.set(DPFloor, quantileOf(low, bandEnd), sdLow/n)
	d.set(DPCeiling, quantileOf(high, 1-bandEnd), sdHigh/n)
}

// through reports that the fan ran all through the hour, or that its only reading is one kept by hand.
func (h *Hour) through() bool {
	return h.DP.N > 0 && h.DP.Still == 0 && (h.Running > 0.95 || h.Rows == 1)
}
