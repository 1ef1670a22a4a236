package judge

import (
	"math"

	"dustwright/collector"
)

// Pair is two troubles at once that explain what is seen better than either alone.
type Pair struct {
	First  Probability `json:"first"` // each with its number where one stands out, and its belief when taken alone
	Second Probability `json:"second"`
	P      float64     `json:"probability"` // belief in the pair, against every cause alone
}

// says puts the pair into words.
func (p *Pair) says() collector.Text {
	a, _ := CauseOf(p.First.Cause)
	b, _ := CauseOf(p.Second.Cause)
	return collector.Say("two things at once fit better than one (%.0f %%): %s, and %s", 100*p.P, a.Describe(p.First.Number), b.Describe(p.Second.Number))
}

// explains is what a cause must owe to a quantity to explain it; pairCost the log of how much rarer a pair is than its
// causes alone, and of how many pairs were tried for it; pairNamed the belief from which a pair is named. Chosen on odd seeds
// of bench/causes -from pairs and of single troubles, so that of these about one in a hundred is taken for two.
const (
	explains  = 0.75
	pairCost  = 1.2
	pairNamed = 0.5
)

// explained returns for each cause the log odds of all hypotheses, as they would be if every quantity that it explains were
// sound.
func (w *weighing) explained() [][]float64 {
	out := make([][]float64, len(w.hyps))
	for i := 1; i < len(out); i++ {
		owes := w.hyps[i].groups(w.seen)
		out[i] = w.logs(func(k int) bool { return owes[w.seen[k].key.group()] > explains })
	}
	return out
}

// pairOf returns the pair of causes that explains what is seen best, nil where one cause does as well. Its log odds are those
// of one cause, and of the other by what the first leaves unexplained: the mean of both orders, less the cost of a pair. Where
// nothing is cleaned the dP and the air soon go where no other trouble brings them: that is never called one of two.
func pairOf(hyps []hypothesis, rest [][]float64, each []valveSights) *Pair {
	best, first, second := math.Inf(-1), 0, 0
	for i := 1; i < len(hyps); i++ {
		for j := 1; j < len(hyps); j++ {
			a, b := hyps[i].cause, hyps[j].cause
			if i == j || hyps[i].log < hyps[j].log || Kin(a, b) || a == CleaningOff || b == CleaningOff {
				continue
			}
			if log := (hyps[i].log+rest[i][j]+hyps[j].log+rest[j][i])/2 - pairCost; log > best {
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
