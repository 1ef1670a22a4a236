package main

import (
	"math"
	"slices"
)

// age is how long something has been wrong: less than a number of days.
type age struct {
	name string
	days float64
}

// ages are told apart; the last is from the first reading on, when the record holds nothing to compare with.
var ages = [...]age{{"under a day", 1}, {"a week", 7}, {"longer", math.Inf(1)}, {"from the first reading", 0}}

// ageOf is which of ages a trial with something wrong belongs to.
func ageOf(t *trial) int {
	if span := float64(t.at.UnixNano()-t.series.Time[0]) / 86400e9; t.old >= 0.99*span {
		return len(ages) - 1
	}
	return slices.IndexFunc(ages[:], func(a age) bool { return t.old < a.days })
}
