package judge

import (
	_ "embed"
	"math"
	"slices"
	"strings"
	"sync"

	"dustwright/collector"
)

// table holds the model's weights, from what is seen to the log odds of every cause but None. It is written by
// bench/causes -learn and never by hand; METHOD.md says how.
//
//go:embed weights.csv
var table string

// bias is the term that is always 1.
const bias = "1"

// fitted returns the model, read once.
var fitted = sync.OnceValue(func() *Net { return embedded("weights.csv", table) })

// embedded reads a table that is part of the program.
func embedded(name, text string) *Net {
	n, err := ReadNet(text)
	if err != nil {
		panic("judge: " + name + ": " + err.Error()) // embedded at build: a test reads it
	}
	return n
}

// hypothesis is one cause with what speaks for it.
type hypothesis struct {
	cause Cause
	log   float64   // log odds against None
	each  []float64 // what it owes to each sight
	tilt  float64   // and to the plant's own experience
	post  float64
}

// weigh returns None and every cause with its log odds, given what was seen: by the fitted net, with what the valves say of
// a cause and the log of a plant's own rate over the list's on top.
func weigh(in Input, seen []sight) []hypothesis {
	m := fitted()
	all := terms(seen)
	s := m.begin()
	given := map[string]term{} // what the valves say
	for _, t := range all {
		m.add(s, t.name, t.x)
		if strings.HasPrefix(t.name, Culprits) {
			given[t.name] = t
		}
	}
	odds, each := m.explain(s, all, len(seen))
	freed := odds
	if damperTold(in.Features) || atDesign(in.Features) {
		freed = m.without(s, slices.DeleteFunc(slices.Clone(all), func(t term) bool { return !seen[t.from].key.damper() }))
	}
	hyps := make([]hypothesis, 1, len(m.Outputs)+1)
	hyps[0] = hypothesis{cause: None, each: make([]float64, len(seen))}
	for j, c := range m.Outputs {
		if neverPulsed(in) && needsPulses(c) {
			continue
		}
		h := hypothesis{cause: c, log: odds[j], each: each[j]}
		if ofDamper(c) {
			h.log = math.Min(h.log, freed[j])
		}
		if t, says := given[Culprits+string(c)]; says {
			h.log += t.x
			h.each[t.from] += t.x
		}
		entry, _ := CauseOf(c)
		h.tilt = math.Log(in.Experience.times(entry, in.Collector, in.Features))
		h.log += h.tilt
		hyps = append(hyps, h)
	}
	top := 0.0
	for _, h := range hyps {
		top = math.Max(top, h.log)
	}
	sum := 0.0
	for i := range hyps {
		hyps[i].post = math.Exp(hyps[i].log - top)
		sum += hyps[i].post
	}
	for i := range hyps {
		hyps[i].post /= sum
	}
	return hyps
}

// ofDamper reports a cause that is the damper's: where somebody noted to have moved it, or the air it lets pass is that
// of design, where it stands is no finding against it.
func ofDamper(c Cause) bool { return c == AirflowHigh || c == AirflowLow }

// neverPulsed reports that the filters are not cleaned by pulses at all, by the collector's file.
func neverPulsed(in Input) bool { return in.Collector.Cleaning.Mode == collector.None }

// needsPulses reports that a cause can only befall a collector that cleans its filters by pulses.
func needsPulses(c Cause) bool {
	switch c {
	case CleaningOff, HeaderPressureLow, ValveDead, ValveWeak, ValveStuckOpen, BinOverfull:
		return true
	}
	return false
}

// leastNumber is how sure the number of a valve or row must be, given the cause, to be named.
const leastNumber = 0.5

// posterior returns the probabilities, most probable first, summing to one. A numbered cause is split
// over its valves where one of them stands out, and stands once without a number where none does, or
// where the likeliest cause would fall behind another by being split.
func posterior(hyps []hypothesis, all []valveSights) []Probability {
	first, second := 0, 0.0
	for i, h := range hyps[1:] {
		if h.post > hyps[first].post {
			first, second = i+1, hyps[first].post
		} else {
			second = math.Max(second, h.post)
		}
	}
	var out []Probability
	for i, h := range hyps {
		parts := numbers(h, all)
		sortCauses(parts)
		if i == first && parts[0].P < second {
			parts = []Probability{{h.cause, 0, h.post}}
		}
		out = append(out, parts...)
	}
	sortCauses(out)
	return out
}

// numbers splits a cause over its valves.
func numbers(h hypothesis, all []valveSights) []Probability {
	valves, logs := oddsOf(h.cause, all)
	top, sum := math.Inf(-1), 0.0
	for _, l := range logs {
		top = math.Max(top, l)
	}
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	if len(logs) == 0 || 1/sum < leastNumber {
		return []Probability{{h.cause, 0, h.post}}
	}
	out := make([]Probability, len(valves))
	for i, v := range valves {
		out[i] = Probability{h.cause, v, h.post * math.Exp(logs[i]-top) / sum}
	}
	return out
}
