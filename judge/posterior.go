package judge

import (
	"math"

	"dustwright/collector"
)

// hypothesis is one cause, on one valve or row where the record can tell them apart.
type hypothesis struct {
	cause  Cause
	number int
	prior  float64
	log    float64   // log likelihood of all sights against those of a healthy collector
	each   []float64 // the same, sight by sight
	post   float64
}

// horizon is the stretch over which a cause may have come up unseen [years]: the priors are the
// rates of the list over it. Somebody looks at the collector at least this often.
const horizon = 1.0 / 8

// hypotheses lists None and every cause with its prior. A cause with a number stands once for each
// valve when valves can be told apart, else once without a number.
func hypotheses(in Input, seen []sight) []hypothesis {
	byHeader, byEmission := false, false
	for _, s := range seen {
		byHeader = byHeader || s.key == "valve-share" || s.key == "no-drop"
		byEmission = byEmission || s.key == "emission-row"
	}
	var all []int
	for _, v := range in.Features.Valves {
		all = append(all, v.Valve)
	}
	var out []hypothesis
	healthy := 1.0
	for _, e := range Causes() {
		if e.Name == None || neverPulsed(in) && needsPulses(e.Name) {
			continue
		}
		rate, ok := in.Rates[e.Name]
		if !ok {
			rate = e.Rate
		}
		prior := 1 - math.Exp(-rate*horizon)
		healthy *= 1 - prior
		numbers := []int{0}
		if e.Numbered && len(all) > 0 && (e.Name == FilterLeak && byEmission || e.Name != FilterLeak && byHeader) {
			numbers = all
		}
		for _, n := range numbers {
			out = append(out, hypothesis{cause: e.Name, number: n, prior: prior / float64(len(numbers))})
		}
	}
	return append([]hypothesis{{cause: None, prior: healthy}}, out...)
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

// weigh computes each hypothesis' likelihood relative to a healthy collector. Sights are not
// independent (drag, dP and pulses a cycle move together), so each counts with dependence as its
// exponent.
func weigh(hyps []hypothesis, seen []sight) {
	for h := range hyps {
		hyp := &hyps[h]
		hyp.each = make([]float64, len(seen))
		if hyp.cause == None {
			continue
		}
		for i, s := range seen {
			if m, ok := markOf(hyp, s); ok {
				hyp.each[i] = dependence * (m.logLike(s) - healthy[s.key].logLike(s))
			}
			hyp.log += hyp.each[i]
		}
	}
}

// dependence is the exponent by which the sights are discounted for telling partly the same; set by
// the calibration in bench/causes.
const dependence = 0.7

// own is the share of a sight's own uncertainty that comes on top of the scatter between collectors,
// which holds the rest already.
const own = 0.5

// markOf returns where a hypothesis puts a sight. A sight of one valve is moved only by the
// hypothesis of that valve.
func markOf(h *hypothesis, s sight) (mark, bool) {
	if s.valve != 0 && s.valve != h.number {
		return mark{}, false
	}
	m, ok := signatures[h.cause][s.key]
	return m, ok
}

// logLike is the log density of a sight: a normal with a broad foot of 7 %, since instruments err now
// and then by far more than their width.
func (m mark) logLike(s sight) float64 {
	w := math.Hypot(m.spread, own*s.sigma)
	z := (s.x - m.centre) / w
	return math.Log(0.93*math.Exp(-0.5*z*z)/w + 0.07*math.Exp(-0.5*z*z/25)/(5*w) + 1e-9)
}

// posterior returns the probabilities, most probable first, summing to one.
func posterior(hyps []hypothesis) []Probability {
	top := math.Inf(-1)
	for _, h := range hyps {
		top = math.Max(top, math.Log(h.prior)+h.log)
	}
	sum := 0.0
	for i := range hyps {
		hyps[i].post = math.Exp(math.Log(hyps[i].prior) + hyps[i].log - top)
		sum += hyps[i].post
	}
	out := make([]Probability, len(hyps))
	for i := range hyps {
		hyps[i].post /= sum
		out[i] = Probability{hyps[i].cause, hyps[i].number, hyps[i].post}
	}
	sortCauses(out)
	return out
}
