package life

// defaultTuning returns the numbers the package forecasts with.
func defaultTuning(pulsed bool) tuning {
	t := tuning{scaleDF: 8, temper: 0.36, seasoned: 0.12, plain: 0.05, late: 0.7}
	if pulsed {
		t.seasoned, t.temper = 0.8, 0.65
	}
	t.wanders = []wander{
		{0.03, 0.1, 0.004, 0.25, 0}, {0.1, 0.1, 0.005, 0.25, 0}, {0.1, 0.1, 0.01, 0.03, 0}, {0.1, 0.1, 0.02, 0.015, 0},
		{0.25, 0.1, 0.01, 0.05, -3},
	}
	return t
}
