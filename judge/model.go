package judge

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"dustwright/collector"
)

// table holds the model's weights: a line for each term, a column for each cause but None. It is written
// by bench/causes -learn and never by hand; METHOD.md says how.
//
//go:embed weights.csv
var table string

// model is the fitted weights.
type model struct {
	causes []Cause
	weight map[string][]float64 // by term, in the order of causes; by With, what a circumstance adds to it
	mu     sync.Mutex
	sets   map[int]map[string][]float64 // what with has worked out
}

// with returns what the terms weigh under a set of circumstances.
func (m *model) with(set int) map[string][]float64 {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.sets[set] == nil {
		out := map[string][]float64{}
		for name, w := range m.weight {
			if strings.Contains(name, "@") {
				continue
			}
			w = slices.Clone(w)
			for i, c := range circumstances {
				if set>>i&1 == 0 {
					continue
				}
				for j, v := range m.weight[With(name, c.name)] {
					w[j] += v
				}
			}
			out[name] = w
		}
		m.sets[set] = out
	}
	return m.sets[set]
}

// bias is the term that is always 1.
const bias = "1"

// fitted returns the model, read once.
var fitted = sync.OnceValue(func() *model {
	m, err := readModel(table)
	if err != nil {
		panic("judge: weights.csv: " + err.Error()) // embedded at build: a test reads it
	}
	return m
})

// readModel reads the table of weights.
func readModel(text string) (*model, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	m := &model{weight: map[string][]float64{}, sets: map[int]map[string][]float64{}}
	for i, row := range rows {
		if i == 0 {
			for _, name := range row[1:] {
				m.causes = append(m.causes, Cause(name))
			}
			continue
		}
		w := make([]float64, len(row)-1)
		for j, cell := range row[1:] {
			if w[j], err = strconv.ParseFloat(cell, 64); err != nil {
				return nil, fmt.Errorf("term %s: %w", row[0], err)
			}
		}
		m.weight[row[0]] = w
	}
	return m, nil
}

// ReadWeights reads a table of weights as bench/causes -learn writes it: the causes but None, and for each
// term a weight for each of them.
func ReadWeights(text string) ([]Cause, map[string][]float64, error) {
	m, err := readModel(text)
	if err != nil {
		return nil, nil, err
	}
	return m.causes, m.weight, nil
}

// hypothesis is one cause with what speaks for it.
type hypothesis struct {
	cause Cause
	log   float64   // log odds against None
	each  []float64 // the part of each sight in it, whether it was seen at all left out
	post  float64
}

// weigh returns None and every cause with its log odds, given what was seen: the sum of the weights of
// the terms, and of the log of a plant's own rate over the list's.
func weigh(in Input, seen []sight) []hypothesis {
	m := fitted()
	hyps := make([]hypothesis, 1, len(m.causes)+1)
	hyps[0] = hypothesis{cause: None, each: make([]float64, len(seen))}
	all := terms(seen)
	set := 0
	for _, t := range all {
		set |= Shows(t.name)
	}
	weights := m.with(set)
	told := damperTold(in.Features)
	for j, c := range m.causes {
		if neverPulsed(in) && needsPulses(c) {
			continue
		}
		h := hypothesis{cause: c, each: make([]float64, len(seen))}
		if w, ok := weights[bias]; ok {
			h.log += w[j]
		}
		for _, t := range all {
			w, ok := weights[t.name]
			if t.name == Culprits+string(c) {
				h.log += t.x
				h.each[t.from] += t.x
			}
			if !ok || told && ofDamper(c) && seen[t.from].key.damper() {
				continue
			}
			h.log += w[j] * t.x
			if !strings.HasSuffix(t.name, "?") {
				h.each[t.from] += w[j] * t.x
			}
		}
		if rate, ok := in.Rates[c]; ok {
			e, _ := CauseOf(c)
			h.log += math.Log(rate / e.Rate)
		}
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

// ofDamper reports a cause that is the damper's: where somebody noted to have moved it, where it stands is no finding
// against it, and what came of it shows in the air.
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
