package judge

import "math"

// Next returns the check with the greatest expected gain per minute, given the probabilities of the
// causes, most probable first, or nil where none would tell anything. Gain is the expected fall of the entropy of the
// causes [bit] over the minutes the check takes: the myopic value of information of Heckerman,
// Breese and Rommelse (1995), with time as the only cost. Checks already answered are left out. Where a cause is as good
// as sure, a check that shows it by itself comes before any that only rules out the rest, however sure: nobody takes a part off for a number.
func Next(causes []Probability, checks []CheckEntry, done []Answer) *Check {
	if len(causes) > 0 && causes[0].Cause != None && causes[0].P >= asGoodAsSure {
		top := causes[0]
		showing := func(c CheckEntry, number int) bool { return c.Chance(top.Cause, top.Number, number)-c.Else >= shows }
		if c := most(causes, checks, done, showing, 0); c != nil {
			return c
		}
	}
	return most(causes, checks, done, func(CheckEntry, int) bool { return true }, leastGain)
}

// leastGain is the gain that a check must have to be worth while [bit/min]. Common practice, no source.
const leastGain = 1e-3

// asGoodAsSure is the belief in a cause from which it only wants to be seen; a check shows it whose finding is likelier
// by as much with it than with others. Common practice, no source.
const (
	asGoodAsSure = 0.9
	shows        = 0.5
)

// most returns the check with the most gain per minute, more than least, among those that may be.
func most(causes []Probability, checks []CheckEntry, done []Answer, may func(c CheckEntry, number int) bool, least float64) *Check {
	var best *Check
	for _, c := range checks {
		for _, number := range numbersFor(c, causes) {
			if answered(done, c.ID, number) || !may(c, number) {
				continue
			}
			gain := expectedGain(causes, c, number) / c.Minutes
			if gain > least && (best == nil || gain > best.Gain) {
				best = &Check{c.ID, number, c.Do(number), c.Finds(number),
					c.Minutes, c.Tools, Caution(c.Caution), gain}
			}
		}
	}
	return best
}

// Update returns the causes after an answer, by Bayes' rule with the check's chances.
func Update(causes []Probability, c CheckEntry, a Answer) []Probability {
	out := make([]Probability, len(causes))
	sum := 0.0
	for i, p := range causes {
		like := c.Chance(p.Cause, p.Number, a.Number)
		if !a.Yes {
			like = 1 - like
		}
		out[i] = p
		out[i].P *= like
		sum += out[i].P
	}
	if sum > 0 {
		for i := range out {
			out[i].P /= sum
		}
	}
	sortCauses(out)
	return out
}

// numbersFor lists the valves or rows a check could be done on: those of the likely causes it
// separates, or 0 for a check of the whole machine.
func numbersFor(c CheckEntry, causes []Probability) []int {
	if !c.Numbered() {
		return []int{0}
	}
	var out []int
	seen := map[int]bool{}
	for _, p := range causes {
		if _, ok := c.Yes[p.Cause]; ok && p.Number > 0 && p.P > 0.02 && !seen[p.Number] {
			seen[p.Number] = true
			out = append(out, p.Number)
		}
	}
	return out
}

func answered(done []Answer, id string, number int) bool {
	for _, a := range done {
		if a.Check == id && a.Number == number {
			return true
		}
	}
	return false
}

// expectedGain returns the expected fall of entropy from doing check c on number [bit].
func expectedGain(causes []Probability, c CheckEntry, number int) float64 {
	var yes float64
	for _, p := range causes {
		yes += p.P * c.Chance(p.Cause, p.Number, number)
	}
	var before, afterYes, afterNo float64
	for _, p := range causes {
		chance := c.Chance(p.Cause, p.Number, number)
		before += plogp(p.P)
		if yes > 0 {
			afterYes += plogp(p.P * chance / yes)
		}
		if yes < 1 {
			afterNo += plogp(p.P * (1 - chance) / (1 - yes))
		}
	}
	return before - yes*afterYes - (1-yes)*afterNo
}

// plogp returns -p log2 p, 0 at p = 0.
func plogp(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return -p * math.Log2(p)
}
