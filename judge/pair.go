package judge

import (
	"fmt"
	"math"
)

// Pair is two troubles at once that explain what is seen better than either alone.
type Pair struct {
	First  Probability `json:"first"` // each with its number where one stands out, and its belief when taken alone
	Second Probability `json:"second"`
	P      float64     `json:"probability"` // belief in the pair, against every cause alone
}

// says puts the pair into words.
func (p *Pair) says() string {
	a, _ := CauseOf(p.First.Cause)
	b, _ := CauseOf(p.Second.Cause)
	return fmt.Sprintf("two things at once fit better than one (%.0f %%): %s, and %s", 100*p.P, a.Describe(p.First.Number), b.Describe(p.Second.Number))
}

// pairCost is the log of how much rarer a pair is than its first cause alone, and of how many pairs were
// tried for it; pairNamed the belief from which a pair is named. Chosen on the odd seeds of bench/causes
// -from pairs, so that hardly any single cause is taken for two.
const (
	pairCost  = 10.5
	pairNamed = 0.5
)

// pairOf returns the pair of causes that explains the sights best, nil where one cause does as well. Under
// a pair each quantity is explained by the cause that explains it better: its log odds are those of the
// first cause, and of what the second adds to them quantity by quantity, less the cost of a pair.
func pairOf(hyps []hypothesis, seen []sight, each []valveSights) *Pair {
	sums := make([]map[string]float64, len(hyps))
	for i := range hyps {
		sums[i] = hyps[i].groups(seen)
	}
	best, first, second := math.Inf(-1), 0, 0
	for i := 1; i < len(hyps); i++ {
		for j := 1; j < len(hyps); j++ {
			if i == j || hyps[i].log < hyps[j].log || Kin(hyps[i].cause, hyps[j].cause) {
				continue
			}
			log := hyps[i].log - pairCost
			for g, x := range sums[j] {
				log += math.Max(0, math.Min(pairMost, x-sums[i][g]))
			}
			if log > best {
				best, first, second = log, i, j
			}
		}
	}
	top := math.Max(best, 0)
	for _, h := range hyps {
		top = math.Max(top, h.log)
	}
	sum := math.Exp(best - top)
	p := sum
	for _, h := range hyps {
		sum += math.Exp(h.log - top)
	}
	if p /= sum; first == 0 || p < pairNamed {
		return nil
	}
	name := func(h hypothesis) Probability {
		all := numbers(h, each)
		sortCauses(all)
		return all[0]
	}
	return &Pair{name(hyps[first]), name(hyps[second]), p}
}

// pairMost is the most one quantity may add for a second cause, so that none makes a pair by itself.
const pairMost = 3.0

// Kin reports that two causes are never called a pair: where both are there they can't be told from either
// alone, or they exclude each other.
func Kin(a, b Cause) bool { return kinOf(a) == kinOf(b) }

// kinOf numbers the kinds: of the air, of the gauge, of the cleaning, of the dust.
func kinOf(c Cause) int {
	switch c {
	case AirflowHigh, AirflowLow, DuctBlocked, FanWeak, LeakInward:
		return 1
	case GaugeLineBlocked, GaugeLineOff:
		return 2
	case ValveDead, ValveWeak, ValveStuckOpen, HeaderPressureLow, CleaningOff:
		return 3
	case FiltersBlinded, CakeDamp, DustLoadHeavy, BinOverfull:
		return 4
	}
	return 5
}
