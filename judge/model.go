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
	cause  Cause
	output int       // of the net; -1 of None
	log    float64   // log odds against None
	each   []float64 // what it owes to each sight
	tilt   float64   // and to the plant's own experience
	post   float64
}

// weighing is a record as the fitted net weighs it.
type weighing struct {
	net     *Net
	sums    sums
	terms   []term
	seen    []sight
	given   map[string]term // what the valves say
	trimmed map[Cause]bool  // for which where the damper stands is no finding
	hyps    []hypothesis
}

// weigh holds None and every cause against what was seen, each with its log odds against None: by the fitted net, with what
// the valves say of a cause and the log of a plant's own rate over the list's on top.
func weigh(in Input, seen []sight) *weighing {
	w := &weighing{net: fitted(), terms: terms(seen), seen: seen, given: map[string]term{}, trimmed: map[Cause]bool{}}
	for _, c := range [...]Cause{AirflowHigh, AirflowLow} {
		if trimmed(in.Features, c) {
			w.trimmed[c] = true
		}
	}
	w.sums = w.net.begin()
	for _, t := range w.terms {
		w.net.add(w.sums, t.name, t.x)
		if strings.HasPrefix(t.name, Culprits) {
			w.given[t.name] = t
		}
	}
	_, each := w.net.explain(w.sums, w.terms, len(seen))
	w.hyps = append(make([]hypothesis, 0, len(each)+1), hypothesis{cause: None, output: -1, each: make([]float64, len(seen))})
	for j, c := range w.net.Outputs {
		if neverPulsed(in) && needsPulses(c) {
			continue
		}
		if t, says := w.given[Culprits+string(c)]; says {
			each[j][t.from] += t.x
		}
		entry, _ := CauseOf(c)
		w.hyps = append(w.hyps, hypothesis{cause: c, output: j, each: each[j], tilt: math.Log(in.Experience.times(entry, in.Collector, in.Features))})
	}
	top := 0.0
	for i, l := range w.logs(func(int) bool { return false }) {
		w.hyps[i].log = l
		top = math.Max(top, l)
	}
	sum := 0.0
	for i := range w.hyps {
		w.hyps[i].post = math.Exp(w.hyps[i].log - top)
		sum += w.hyps[i].post
	}
	for i := range w.hyps {
		w.hyps[i].post /= sum
	}
	return w
}

// logs returns the log odds of all hypotheses against None as they would be if some sights stood at 0, where those of a sound
// collector do.
func (w *weighing) logs(sound func(sight int) bool) []float64 {
	gone := slices.DeleteFunc(slices.Clone(w.terms), func(t term) bool { return !sound(t.from) || t.known() })
	odds := w.net.without(w.sums, gone)
	freed := odds
	if len(w.trimmed) > 0 {
		for _, t := range w.terms {
			if w.seen[t.from].key.damper() && (t.known() || !sound(t.from)) {
				gone = append(gone, t)
			}
		}
		freed = w.net.without(w.sums, gone)
	}
	out := make([]float64, len(w.hyps))
	for i := 1; i < len(out); i++ {
		h := &w.hyps[i]
		out[i] = odds[h.output]
		if w.trimmed[h.cause] {
			out[i] = math.Min(out[i], freed[h.output])
		}
		if t, says := w.given[Culprits+string(h.cause)]; says && !sound(t.from) {
			out[i] += t.x
		}
		out[i] += h.tilt
	}
	return out
}

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

// numbers splits a cause over its valves, where they have numbers.
func numbers(h hypothesis, all []valveSights) []Probability {
	valves, logs := oddsOf(h.cause, all)
	top, sum := math.Inf(-1), 0.0
	for _, l := range logs {
		top = math.Max(top, l)
	}
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	if len(logs) == 0 || 1/sum < leastNumber || valves[0] == 0 {
		return []Probability{{h.cause, 0, h.post}}
	}
	out := make([]Probability, len(valves))
	for i, v := range valves {
		out[i] = Probability{h.cause, v, h.post * math.Exp(logs[i]-top) / sum}
	}
	return out
}
