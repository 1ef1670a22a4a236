package judge

import (
	"fmt"
	"math"
	"sort"

	"dustwright/sense"
)

// fact is one thing seen of one valve or row, with how much likelier each numbered cause of that valve
// makes it than a sound valve does.
type fact struct {
	valve int
	odds  map[Cause]float64 // natural log of the likelihood ratio
	says  func() string
}

// mark is where something measured lies, and how far it scatters beyond its own uncertainty.
type mark struct{ centre, spread float64 }

// lies is where the measured sights of a valve lie under a cause.
type lies struct {
	share   mark    // its header drop over the others', less one
	rowStep mark    // what its pulse takes off the dP over what it used to, against the other rows, less one
	left    mark    // what the header lacks after its pulse over that after the others', less one
	noDrop  float64 // chance that the header does not fall when it is due alone
}

// sound and ailing hold what a sound valve shows, and what each cause does to it. Source: what the cause
// does by its meaning; the scatter from the simulations of bench/causes.
var (
	sound  = lies{mark{0, 0.05}, mark{0, 0.25}, mark{0, 0.12}, 0.004}
	ailing = map[Cause]lies{
		ValveDead:      {mark{-1, 0.12}, mark{-0.8, 0.3}, mark{-0.85, 0.2}, 0.95},
		ValveWeak:      {mark{-0.45, 0.22}, mark{-0.35, 0.3}, mark{-0.4, 0.2}, 0.08},
		ValveStuckOpen: {mark{-0.3, 0.7}, mark{-0.5, 0.5}, mark{-0.3, 0.6}, 0.3},
	}
)

// tellingShare is the uncertainty of a valve's share of the header drop above which the record does not
// tell that valve from the others; tellingStep the same of what its pulse takes off the
// dP, and tellingLeft of what the header lacks after it.
const (
	tellingShare = 0.2
	tellingStep  = 0.35
	tellingLeft  = 0.3
)

// mostRows is how many rows count as so many: rows of one hour are not independent.
const mostRows = 8

// facts lists what is seen of each valve.
func facts(f *sense.Features) []fact {
	var out []fact
	usual := usualStep(f.Valves)
	missed, due := 0.0, 0.0
	for _, v := range f.Valves {
		missed, due = missed+float64(v.NoDrop), due+float64(v.Alone)
	}
	for _, v := range f.Valves {
		n, k := float64(v.Alone), float64(v.NoDrop)
		if n > 0 {
			rest := math.Max(sound.noDrop, (missed-k+0.1)/(due-n+1)) // what the others show, where the header is badly read
			rest = math.Max(rest, v.Misses)
			odds := map[Cause]float64{}
			for c, l := range ailing {
				p := math.Max(l.noDrop, rest)
				odds[c] = math.Min(1/heldBack, mostRows/n) * (k*math.Log(p/rest) + (n-k)*math.Log((1-math.Min(p, 0.99))/(1-math.Min(rest, 0.99))))
			}
			out = append(out, fact{v.Valve, odds, func() string {
				if v.Alone == 1 && v.NoDrop == 1 {
					return fmt.Sprintf("the header did not drop the one time valve %d was due alone", v.Valve)
				}
				says := fmt.Sprintf("the header did not drop when valve %d was due, %d times out of %d", v.Valve, v.NoDrop, v.Alone)
				if !v.Since.IsZero() {
					says += " since " + v.Since.Format("2 January 15:04")
				}
				return says
			}})
		}
		if s := v.Share; s.Known() && s.Sigma < tellingShare && !(n > 0 && k > n/2) {
			out = append(out, fact{v.Valve, ratios(func(l lies) mark { return l.share }, math.Max(-1, math.Min(1, s.Value-1)), math.Hypot(0.03, s.Sigma)), func() string {
				return fmt.Sprintf("the header falls %.0f %% as far when valve %d fires as when the others do", 100*math.Max(0, s.Value), v.Valve)
			}})
		}
		if x, sigma := stepOf(v); sigma/usual < tellingStep {
			out = append(out, fact{v.Valve, ratios(func(l lies) mark { return l.rowStep }, math.Max(-1.5, math.Min(1.5, x/usual-1)), sigma/usual), func() string {
				return fmt.Sprintf("a pulse of valve %d takes %.0f %% of what it used to off the dP, held against the other rows", v.Valve, 100*math.Max(0, x/usual))
			}})
		}
		if l := v.Left; l.Known() && l.Sigma < tellingLeft {
			out = append(out, fact{v.Valve, ratios(func(l lies) mark { return l.left }, math.Max(-1.5, math.Min(1.5, l.Value-1)), l.Sigma), func() string {
				return fmt.Sprintf("after valve %d the header stands %.0f %% as far below rest as after the others", v.Valve, 100*math.Max(0, l.Value))
			}})
		}
		for _, r := range [...]sense.Estimate{v.EmissionRise, v.Puff} {
			if r.Known() && finite(r.Sigma) > 0 {
				out = append(out, fact{v.Valve, map[Cause]float64{FilterLeak: leakOdds(r.Value / r.Sigma)}, func() string {
					return fmt.Sprintf("the leak detector rises when valve %d fires", v.Valve)
				}})
			}
		}
	}
	return out
}

// leakOdds is the log likelihood ratio of a leaking row for the leak detector's rise at its pulse above that at
// the others, z in its own uncertainty: a tight row scatters by half more than that, and one time in a
// hundred by far more; a leaking one lies anywhere above. common practice, no source.
func leakOdds(z float64) float64 {
	z = math.Max(-6, math.Min(20, z))
	normal := func(centre, spread float64) float64 {
		x := (z - centre) / spread
		return math.Exp(-0.5*x*x) / spread
	}
	return math.Log(0.9*normal(8, 6)+0.1*normal(0, 1.5)) - math.Log(0.99*normal(0, 1.5)+0.01*normal(0, 7))
}

// ratios is the log likelihood ratio of something measured, for each cause of a valve.
func ratios(of func(lies) mark, x, sigma float64) map[Cause]float64 {
	out := map[Cause]float64{}
	for c, l := range ailing {
		out[c] = of(l).logLike(x, sigma) - of(sound).logLike(x, sigma)
	}
	return out
}

// stepOf is what a valve's pulse takes off the dP over what it used to, with its standard uncertainty,
// +Inf where that is not known.
func stepOf(v sense.ValveMeasure) (x, sigma float64) {
	now, before := known(v.DPStep), known(v.DPStepNormal)
	if now != now || !(before > 0) {
		return math.NaN(), math.Inf(1)
	}
	x = now / before
	return x, math.Hypot(width(v.DPStep), x*width(v.DPStepNormal)) / before
}

// usualStep is the median of stepOf over the valves, at least a fifth; NaN where none is known.
func usualStep(all []sense.ValveMeasure) float64 {
	var x []float64
	for _, v := range all {
		if s, sigma := stepOf(v); !math.IsInf(sigma, 1) {
			x = append(x, s)
		}
	}
	if len(x) < 2 {
		return math.NaN()
	}
	sort.Float64s(x)
	return math.Max(0.2, x[len(x)/2])
}

// logLike is the log density of a fact: a normal with a broad foot of 4 %, since instruments err now
// and then by far more than their width.
func (m mark) logLike(x, sigma float64) float64 {
	w := math.Hypot(m.spread, sigma)
	z := (x - m.centre) / w
	return math.Log(0.96*math.Exp(-0.5*z*z)/w + 0.04*math.Exp(-0.5*z*z/25)/(5*w) + 1e-9)
}

// heldBack is the exponent by which the facts of one valve are discounted for telling partly the same.
const heldBack = 0.7

// among returns, for a numbered cause, the log of how much better each valve as the culprit explains
// the facts than all being sound; empty where valves can't be told apart.
func among(c Cause, all []fact) map[int]float64 {
	var out map[int]float64
	for _, f := range all {
		if l, ok := f.odds[c]; ok {
			if out == nil {
				out = map[int]float64{}
			}
			out[f.valve] += heldBack * l
		}
	}
	return out
}

// numberedCauses are those that carry the number of a valve or row.
var numberedCauses = [...]Cause{ValveDead, ValveWeak, ValveStuckOpen, FilterLeak}

// Culprits is how the names of the terms begin that say how well a numbered cause explains the valves.
// Their x is a part of a log likelihood ratio, and counts in full for that cause alone; with a sign behind the
// name it is bent and weighed for every cause, as other sights are.
const Culprits = "valves:"

// What the valves say is bounded above by mostOdds, since a log may be wrong as a whole, and below by
// unseen, the chance that a valve failed after it was last seen.
const (
	mostOdds = 20
	unseen   = 0.08
)

// valves adds what the valves say together: for each numbered cause the log of how much better it explains
// them than all being sound, whichever valve it is.
func valves(all []fact, out []sight) []sight {
	for _, c := range numberedCauses {
		logs := among(c, all)
		if len(logs) == 0 {
			continue
		}
		total := 0.0
		for _, l := range logs {
			total += math.Exp(math.Min(30, l)) / float64(len(logs))
		}
		out = append(out, sight{Culprits + key(c), math.Min(mostOdds, math.Log(total+unseen)), best(c, all, logs)})
	}
	return out
}

// best says the fact that speaks most for the likeliest culprit.
func best(c Cause, all []fact, logs map[int]float64) func() string {
	culprit, most := 0, math.Inf(-1)
	for v, l := range logs {
		if l > most || l == most && v < culprit {
			culprit, most = v, l
		}
	}
	var says func() string
	most = math.Inf(-1)
	for _, f := range all {
		if l, ok := f.odds[c]; ok && f.valve == culprit && l > most {
			most, says = l, f.says
		}
	}
	return says
}
