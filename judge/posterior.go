package judge

import "math"

// hypothesis is one cause, on one valve or row where the record can tell them apart.
type hypothesis struct {
	cause  Cause
	number int
	prior  float64
	log    float64   // log likelihood of all sights against those of a healthy collector
	each   []float64 // the same, sight by sight, at the likeliest severity
	post   float64
}

// horizon is the stretch over which a cause may have come up unseen [years]: the priors are the
// rates of the list over it. Somebody looks at the collector at least this often.
const horizon = 1.0 / 4

// hypotheses lists None and every cause with its prior. A cause with a number stands once for each
// valve when valves can be told apart, else once without a number.
func hypotheses(in Input, seen []sight) []hypothesis {
	valves := map[Cause][]int{}
	for _, s := range seen {
		if s.valve == 0 {
			continue
		}
		if s.key == "emission-row" {
			valves[FilterLeak] = append(valves[FilterLeak], s.valve)
		} else if s.key == "valve-share" {
			for _, c := range []Cause{ValveDead, ValveWeak, ValveStuckOpen} {
				valves[c] = append(valves[c], s.valve)
			}
		}
	}
	var out []hypothesis
	healthy := 1.0
	for _, e := range Causes() {
		if e.Name == None {
			continue
		}
		rate, ok := in.Rates[e.Name]
		if !ok {
			rate = e.Rate
		}
		prior := 1 - math.Exp(-rate*horizon)
		healthy *= 1 - prior
		numbers := valves[e.Name]
		if len(numbers) == 0 {
			numbers = []int{0}
		}
		for _, n := range numbers {
			out = append(out, hypothesis{cause: e.Name, number: n, prior: prior / float64(len(numbers))})
		}
	}
	return append([]hypothesis{{cause: None, prior: healthy}}, out...)
}

// weigh computes each hypothesis' likelihood relative to a healthy collector. Sights are not
// independent (drag, dP and pulses a cycle move together), so each counts with dependence as its
// exponent.
func weigh(hyps []hypothesis, seen []sight) {
	base := make([]float64, len(seen))
	for i, s := range seen {
		base[i] = logLike(s.x, 0, s.sigma, 0)
	}
	for h := range hyps {
		hyp := &hyps[h]
		hyp.each = make([]float64, len(seen))
		if hyp.cause == None {
			continue
		}
		best, total := math.Inf(-1), 0.0
		each := make([]float64, len(seen))
		for _, sev := range severities {
			sum := 0.0
			for i, s := range seen {
				each[i] = 0
				if m, ok := markOf(hyp, s); ok {
					each[i] = dependence * (logLike(s.x, sev.s*m.shift, s.sigma, math.Min(sev.s, 1)*m.spread) - base[i])
				}
				sum += each[i]
			}
			total += sev.p * math.Exp(math.Min(sum, 300))
			if sum > best {
				best = sum
				copy(hyp.each, each)
			}
		}
		hyp.log = math.Log(total)
	}
}

// dependence is the exponent by which the sights are discounted for telling partly the same.
const dependence = 0.6

// markOf returns what a hypothesis does to a sight. A sight of one valve is moved only by the
// hypothesis of that valve.
func markOf(h *hypothesis, s sight) (mark, bool) {
	if s.valve != 0 && s.valve != h.number {
		return mark{}, false
	}
	m, ok := signatures[h.cause][s.key]
	return m, ok
}

// logLike is the log density of x around centre with the two widths together: a normal with a
// broad foot of 4 %, since instruments err now and then by far more than their width.
func logLike(x, centre, sigma, spread float64) float64 {
	w := math.Hypot(sigma, spread)
	z := (x - centre) / w
	wide := 5 * w
	zw := (x - centre) / wide
	return math.Log(0.96*math.Exp(-0.5*z*z)/w + 0.04*math.Exp(-0.5*zw*zw)/wide + 1e-12)
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
