package main

// ages are how long something has been wrong, up to a number of days; the last is from the first reading on, when the record
// holds nothing to compare with.
var ages = [...]struct {
	name string
	days float64
}{{"under a day", 1}, {"a week", 7}, {"longer", 0}, {"from the first reading", 0}}

// ageOf is which of ages a trial with something wrong belongs to.
func ageOf(t *trial) int {
	const last = len(ages) - 1
	if span := float64(t.at.UnixNano()-t.series.Time[0]) / 86400e9; t.old >= 0.99*span {
		return last
	}
	for i, a := range ages[:last-1] {
		if t.old < a.days {
			return i
		}
	}
	return last - 1
}
