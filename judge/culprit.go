package judge

import (
	_ "embed"
	"math"
	"sync"

	"dustwright/unit"
)

// valveTable holds the weights of what is seen of single valves, from there to the log likelihood ratio of each numbered
// cause. It is written by bench/causes -learn and never by hand; METHOD.md says how.
//
//go:embed valves.csv
var valveTable string

// fittedValves returns the model of single valves, read once.
var fittedValves = sync.OnceValue(func() *Net { return embedded("valves.csv", valveTable) })

// numberedCauses are those that carry the number of a valve or row.
var numberedCauses = [...]Cause{ValveDead, ValveWeak, ValveStuckOpen, FilterLeak}

// NumberedCauses returns the causes that carry the number of a valve or row.
func NumberedCauses() []Cause { return append([]Cause(nil), numberedCauses[:]...) }

// OfAll is how the names of the terms begin that a valve is held against: the means of the terms over all valves seen.
const OfAll = "all/"

// weighAll works out how much likelier each numbered cause of each valve makes what is seen than a sound valve does, each
// beside what is seen of all of them.
func weighAll(valves []valveSights) {
	m := fittedValves()
	of := make([][]term, len(valves))
	common := m.begin()
	for i := range valves {
		of[i] = terms(valves[i].seen)
		for _, t := range of[i] {
			m.add(common, OfAll+t.name, t.x/float64(len(valves)))
		}
	}
	for i := range valves {
		v, s := &valves[i], common.clone()
		for _, t := range of[i] {
			m.add(s, t.name, t.x)
		}
		v.odds, v.each = map[Cause]float64{}, map[Cause][]float64{}
		odds, each := m.explain(s, of[i], len(v.seen))
		for j, c := range m.Outputs {
			v.odds[c], v.each[c] = odds[j], each[j]
		}
	}
}

// oddsOf returns, for a numbered cause, the valves seen and the log of how much better each as the culprit
// explains what is seen than all being sound; empty where valves can't be told apart.
func oddsOf(c Cause, all []valveSights) (valves []int, logs []float64) {
	for i := range all {
		if l, ok := all[i].odds[c]; ok {
			valves, logs = append(valves, all[i].valve), append(logs, l)
		}
	}
	return valves, logs
}

// Culprits is how the names of the terms begin that say how well a numbered cause explains the valves.
// Their x is a part of a log likelihood ratio, and counts in full for that cause alone; with a sign behind the
// name it is bent and weighed for every cause, as other sights are.
const Culprits = "valves:"

// mostOdds bounds what the valves say together, since a log may be wrong as a whole.
const mostOdds = 20

// Together is the log of how much better a numbered cause explains the valves than all being sound,
// whichever of them it is: the mean over the valves, of which there must be one, of the likelihood ratio.
func Together(logs []float64) float64 {
	top := math.Inf(-1)
	for _, l := range logs {
		top = math.Max(top, l)
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return math.Max(-mostOdds, math.Min(mostOdds, top+math.Log(sum/float64(len(logs)))))
}

// ValveSights returns what is seen of each valve, by valve and name, for those who fit or check the model of single valves;
// nothing where pulses are only counted.
func ValveSights(in Input) map[int]map[string]float64 {
	out := map[int]map[string]float64{}
	for _, v := range facts(in.Features) {
		if v.valve == 0 {
			continue
		}
		out[v.valve] = byName(v.seen)
	}
	return out
}

// valves adds what the valves say together: for each numbered cause the log of how much better it explains
// them than all being sound, whichever valve it is.
func valves(all []valveSights, out []sight) []sight {
	for _, c := range numberedCauses {
		if _, logs := oddsOf(c, all); len(logs) > 0 {
			out = append(out, sight{Culprits + key(c), Together(logs), best(c, all)})
		}
	}
	return out
}

// best says what speaks most for the likeliest culprit.
func best(c Cause, all []valveSights) func(unit.System) string {
	at := 0
	for i := range all {
		if all[i].odds[c] > all[at].odds[c] {
			at = i
		}
	}
	v, most := &all[at], 0
	for i, w := range v.each[c] {
		if w > v.each[c][most] {
			most = i
		}
	}
	return v.seen[most].says
}
