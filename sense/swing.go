package sense

// swingLeast is how many hours through which the fan ran tell how the dP swings. Common practice, no source.
const swingLeast = 6

// swing is how far the dP goes up and down from hour to hour. A cake that is damp for the damp hours of the day, or dust that
// comes with one product, swings a dP that cleaning by the clock had kept level; cleaning that stopped lets a saw-tooth go.
func (d *Day) swing(hours []Hour) {
	var level weighted
	for i := range hours {
		if h := &hours[i]; h.through() && h.DP.P50 > 0 {
			level.add(float64(h.DP.P50), 1)
		}
	}
	if level.n < swingLeast {
		return
	}
	mean, _ := level.value()
	sd, se := level.scatter()
	d.set(DPSwing, sd/mean, se/mean)
}
