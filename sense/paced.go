package sense

import (
	"math"
	"slices"
)

// otherStep is by what factor the time between rows must change for what is caught of a pulse, or how a reading scatters, to be no
// longer the same: who turns a logger up from minutes to seconds sees the header fall deeper, and it did not. Common practice, no
// source.
const otherStep = 2.5

// byStep reports that a quantity goes with the time between rows.
func (q Quantity) byStep() bool {
	switch q {
	case HeaderDrop, HeaderRecovery, HeaderLacks, HeaderLowest, HeaderEmptied, HeaderNoise, ReadingNoise, FrozenShare,
		FallTime, EmissionPeak:
		return true
	}
	return false
}

// usualStep is the usual time between rows of the hours in which the fan runs [s]; 0 where it runs in none.
func usualStep(hours []Hour) float64 {
	var steps []float64
	for i := range hours {
		if h := &hours[i]; h.Running > 0 && h.Step > 0 {
			steps = append(steps, float64(h.Step))
		}
	}
	if len(steps) == 0 {
		return 0
	}
	return medianOf(steps)
}

// paced returns days without what goes with the time between rows where that was another than now [s].
func paced(days []Day, now float64) []Day {
	other := func(d Day) bool { return now > 0 && d.step > 0 && (d.step > otherStep*now || now > otherStep*d.step) }
	if !slices.ContainsFunc(days, other) {
		return days
	}
	days = slices.Clone(days)
	for i := range days {
		if !other(days[i]) {
			continue
		}
		for q := range NumQuantities {
			if q.byStep() {
				days[i].Value[q], days[i].Sigma[q] = math.NaN(), math.NaN()
			}
		}
	}
	return days
}
