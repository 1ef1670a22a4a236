package judge

import (
	"fmt"
	"math"
	"sort"

	"dustwright/sense"
	"dustwright/solve"
	"dustwright/unit"
)

// valveSights is what is seen of one valve and its row, and how much likelier each numbered cause of that valve
// makes it than a sound one does.
type valveSights struct {
	valve int // 0 where pulses are only counted
	seen  []sight
	odds  map[Cause]float64 // natural log of the likelihood ratio, by the fitted model
	each  map[Cause][]float64
}

// Scales of what is seen of a valve: what is worth a second look, and below what scatter none is believed
// to lie. Common practice, no source.
const (
	shareScale, shareFloor = 0.15, 0.02
	leftScale, leftFloor   = 0.25, 0.05
	stepScale, stepFloor   = 0.3, 0.1
	pastScale              = 0.1
	missScale              = 0.3
	passedScale            = 0.5
)

// nextToNothing is the ratio to the other valves below which a valve shows none of what they do. Common practice, no
// source.
const nextToNothing = 0.08

// nearlyAll is the share of a valve's lone rows without a drop above which they tell all: below it other valves' drops are read
// in its rows, and that it takes next to nothing on average is told by how far the header falls. Common practice, no source.
const nearlyAll = 0.9

// nearest and widest bound a ratio of what is measured at valves, less one; farRise bounds the leak detector's
// rise in its own uncertainty.
const (
	nearest, widest = -1.5, 1.5
	farRise         = 30.0
)

// among holds what is measured at a valve, a ratio of which 1 is sound, against the other valves and against
// what that valve used to show. Its width counts what the others scatter by as well: no two valves are alike.
type among struct {
	key          key
	now, before  func(*sense.ValveMeasure) sense.Estimate
	scale, floor float64
	says         string // of the valve's name and the ratio in percent
	nothing      string // of the valve, where the ratio is next to nothing
}

var comparisons = [...]among{
	{"share", func(v *sense.ValveMeasure) sense.Estimate { return v.Share }, func(v *sense.ValveMeasure) sense.Estimate { return v.ShareNormal },
		shareScale, shareFloor, "the header falls %[2]s as far when %[1]s fires as when the others do", "the header hardly falls when %s fires"},
	{"left", func(v *sense.ValveMeasure) sense.Estimate { return v.Left }, func(v *sense.ValveMeasure) sense.Estimate { return v.LeftNormal },
		leftScale, leftFloor, "after %[1]s the header stands %[2]s as far below rest as after the others", "after %s the header stands at rest, which it does not after the others"},
}

// facts lists what is seen of each valve, with what the fitted model makes of it.
func facts(f *sense.Features) []valveSights {
	out := make([]valveSights, 0, len(f.Valves))
	usual := usualStep(f.Valves)
	for i := range f.Valves {
		v := valveSights{valve: f.Valves[i].Valve}
		if f.Turns {
			v.valve = 0
		}
		v.seen = silent(f, i, missed(f, i, passedOver(f, i, v.seen)))
		for k := range comparisons {
			v.seen = comparisons[k].see(f, i, v.seen)
		}
		v.seen = rises(f, i, stands(f, i, stepped(f, i, usual, v.seen)))
		if len(v.seen) > 0 {
			out = append(out, v)
		}
	}
	weighAll(out)
	return out
}

// called is how valve i is named: by its number, where the log names valves.
func called(f *sense.Features, i int) string {
	if f.Turns {
		return fmt.Sprintf("one of the %d valves", len(f.Valves))
	}
	return fmt.Sprintf("valve %d", f.Valves[i].Valve)
}

// mostRows is how many rows count as so many: rows of one hour are not independent.
const mostRows = 12

// soundMiss and deadMiss are the chances that the header does not fall when a valve is due alone: of a sound one,
// where the log shows nothing else, and of a dead one.
const soundMiss, deadMiss = 0.004, 0.95

// missed looks at the rows in which a valve was due alone and the header did not fall.
func missed(f *sense.Features, i int, out []sight) []sight {
	v := &f.Valves[i]
	n, k := float64(v.Alone), float64(v.NoDrop)
	if n == 0 {
		return out
	}
	all, due := 0.0, 0.0
	for j := range f.Valves {
		all, due = all+float64(f.Valves[j].NoDrop), due+float64(f.Valves[j].Alone)
	}
	rest := math.Max(soundMiss, (all-k+0.1)/(due-n+1)) // what the others show, where the header is badly read
	rest = math.Min(0.99, math.Max(rest, v.Misses))
	p := math.Max(deadMiss, rest)
	odds := math.Min(1, mostRows/n) * (k*math.Log(p/rest) + (n-k)*math.Log((1-p)/(1-rest)))
	says := func(unit.System) string {
		if v.Alone == 1 && v.NoDrop == 1 {
			return fmt.Sprintf("the header did not drop the one time %s was due alone", called(f, i))
		}
		text := fmt.Sprintf("the header did not drop when %s was due, %d times out of %d", called(f, i), v.NoDrop, v.Alone)
		if !v.Since.IsZero() {
			text += " since " + v.Since.Format("2 January 15:04")
		}
		return text
	}
	return append(out, sight{"missed", odds / culpritScale, says},
		sight{"missed:share", (k/n - rest) / math.Hypot(missScale, 0.5/math.Sqrt(n)), says})
}

// leastFired is how often the other valves must have fired for one to be passed over, and firedBent what is added to both
// numbers, since a pass may end anywhere. Common practice, no source.
const leastFired, firedBent = 4, 3

// passedOver looks at how often a valve fired, by the log, beside the others: a controller whose output or coil has failed may
// leave it out of its record.
func passedOver(f *sense.Features, i int, out []sight) []sight {
	others := ofOthers(f, i, func(v *sense.ValveMeasure) (float64, bool) { return float64(v.Fired), true })
	if len(others) == 0 {
		return out
	}
	sort.Float64s(others)
	usual, n := others[len(others)/2], float64(f.Valves[i].Fired)
	if usual < leastFired {
		return out
	}
	return append(out, sight{"fired", math.Log((n+firedBent)/(usual+firedBent)) / passedScale, func(unit.System) string {
		return fmt.Sprintf("%s fired %d times, the others %.0f times", called(f, i), f.Valves[i].Fired, usual)
	}})
}

// silent looks at how long the header has lacked nothing after a valve, while it did after the others.
func silent(f *sense.Features, i int, out []sight) []sight {
	v := &f.Valves[i]
	if !v.Left.Known() && v.Silent == 0 && v.Still == 0 {
		return out
	}
	says := func(unit.System) string {
		return fmt.Sprintf("since %s the header has stood at rest whenever it was read after %s, and not after the others", v.SilentSince.Format("2 January"), called(f, i))
	}
	return append(out, sight{"silent", v.Silent / culpritScale, says}, sight{"silent/alike", v.Still / culpritScale, says})
}

// see adds what a comparison shows of valve i.
func (c *among) see(f *sense.Features, i int, out []sight) []sight {
	v := &f.Valves[i]
	e := c.now(v)
	if !measured(e) || c.key == "share" && v.Alone > 0 && float64(v.NoDrop) > nearlyAll*float64(v.Alone) { // no drop at all is told elsewhere
		return out
	}
	others := ofOthers(f, i, func(v *sense.ValveMeasure) (float64, bool) {
		x := c.now(v)
		return bounded(x.Value), measured(x)
	})
	x, sigma := within(e)
	says := func(unit.System) string {
		if e.Value < nextToNothing {
			return fmt.Sprintf(c.nothing, called(f, i))
		}
		return fmt.Sprintf(c.says, called(f, i), percent(e.Value))
	}
	out = append(out, sight{c.key, x / math.Hypot(c.scale, sigma), says},
		sight{c.key + sure, x / math.Hypot(math.Hypot(c.floor, spread(others)), sigma) / surely, says},
		sight{c.key + likeOthers, math.Max(0, 1-(math.Abs(x)+sigma)/c.scale), says})
	if b := c.before(v); measured(b) {
		was, wide := within(b)
		out = append(out, sight{c.key + "/past", (x - was) / math.Hypot(pastScale, math.Hypot(sigma, wide)), func(sys unit.System) string {
			return says(sys) + "; before, it was " + percent(b.Value) + " of theirs"
		}})
	}
	return out
}

// likeOthers marks how surely a valve does as the others: next to 1 where it is known to, 0 where it does not or can't be told,
// which are alike in how far it lies off them.
const likeOthers = "/alike"

// ofOthers is what the valves but i show, where they do.
func ofOthers(f *sense.Features, i int, of func(*sense.ValveMeasure) (float64, bool)) []float64 {
	var out []float64
	for j := range f.Valves {
		if x, ok := of(&f.Valves[j]); ok && j != i {
			out = append(out, x)
		}
	}
	return out
}

// measured reports that a value is known and how well.
func measured(e sense.Estimate) bool { return e.Known() && e.Sigma >= 0 && !math.IsInf(e.Sigma, 1) }

// bounded is a ratio less one, within what counts.
func bounded(r float64) float64 { return math.Max(nearest, math.Min(widest, r-1)) }

// within is a ratio less one within what counts, with its width: beyond that both are less in one proportion, since how surely
// it lies off stays as it is.
func within(r sense.Estimate) (x, sigma float64) {
	x = bounded(r.Value)
	if off := r.Value - 1; math.Abs(off) > math.Abs(x) {
		return x, r.Sigma * x / off
	}
	return x, r.Sigma
}

// percent writes a ratio, not below nothing.
func percent(r float64) string { return fmt.Sprintf("%.0f %%", 100*math.Max(0, r)) }

// stepped looks at what a valve's pulse takes off the dP, against what it used to and what is usual of the rows.
func stepped(f *sense.Features, i int, usual float64, out []sight) []sight {
	x, sigma := stepOf(&f.Valves[i])
	if math.IsInf(sigma, 1) || usual != usual {
		return out
	}
	r, w := bounded(x/usual), sigma/usual
	says := func(unit.System) string {
		return fmt.Sprintf("a pulse of %s takes %s of what it used to off the dP, held against the other rows", called(f, i), percent(x/usual))
	}
	return append(out, sight{"step", r / math.Hypot(stepScale, w), says}, sight{"step" + sure, r / math.Hypot(stepFloor, w) / surely, says})
}

// stepOf is what a valve's pulse takes off the dP over what it used to, with its standard uncertainty,
// +Inf where that is not known.
func stepOf(v *sense.ValveMeasure) (x, sigma float64) {
	now, before := v.DPStep, v.DPStepNormal
	if !measured(now) || !measured(before) || !(before.Value > 0) {
		return math.NaN(), math.Inf(1)
	}
	x = now.Value / before.Value
	return x, math.Hypot(now.Sigma, x*before.Sigma) / before.Value
}

// usualStep is the median of stepOf over the valves, at least a fifth; NaN where none is known.
func usualStep(all []sense.ValveMeasure) float64 {
	var x []float64
	for i := range all {
		if s, sigma := stepOf(&all[i]); !math.IsInf(sigma, 1) {
			x = append(x, s)
		}
	}
	if len(x) < 2 {
		return math.NaN()
	}
	sort.Float64s(x)
	return math.Max(0.2, x[len(x)/2])
}

// stands looks at what a valve's pulse takes off the dP in pressure, above the other valves', and what of that is new: where it
// is cleaned all the time the dP hardly moves with a pulse, and a share of what it moved by says nothing.
func stands(f *sense.Features, i int, out []sight) []sight {
	v := &f.Valves[i]
	level := ofOthers(f, i, func(v *sense.ValveMeasure) (float64, bool) { return v.DPStep.Value, measured(v.DPStep) })
	change := ofOthers(f, i, func(v *sense.ValveMeasure) (float64, bool) {
		return v.DPStep.Value - v.DPStepNormal.Value, measured(v.DPStep) && measured(v.DPStepNormal)
	})
	says := func(unit.System) string {
		return fmt.Sprintf("a pulse of %s takes less off the dP than one of the others", called(f, i))
	}
	if measured(v.DPStep) && len(level) >= 2 {
		out = append(out, sight{"step/among", offOthers(v.DPStep.Value, v.DPStep.Sigma, level) / surely, says})
	}
	if measured(v.DPStep) && measured(v.DPStepNormal) && len(change) >= 2 {
		sigma := math.Hypot(v.DPStep.Sigma, v.DPStepNormal.Sigma)
		out = append(out, sight{"step/past", offOthers(v.DPStep.Value-v.DPStepNormal.Value, sigma, change) / surely, func(sys unit.System) string {
			return says(sys) + ", and did not before"
		}})
	}
	return out
}

// offOthers is how far a value lies from the median of the others', in its own uncertainty and what they scatter by.
func offOthers(x, sigma float64, others []float64) float64 {
	s := math.Hypot(sigma, spread(others))
	if !(s > 0) {
		return 0
	}
	return math.Max(-farRise, math.Min(farRise, (x-solve.Median(others))/s))
}

// rises looks at how far the leak detector rises when a valve fires, above the other valves: while it is read
// next, and at the end of the rows in which it fired last; in its own uncertainty, in what the other valves
// scatter by, and over the detector's usual level.
func rises(f *sense.Features, i int, out []sight) []sight {
	says := func(unit.System) string {
		return fmt.Sprintf("the leak detector rises when %s fires", called(f, i))
	}
	level := known(f.Get(sense.EmissionLevel).Now)
	for _, r := range [...]struct {
		key key
		of  func(*sense.ValveMeasure) sense.Estimate
	}{{"rise", func(v *sense.ValveMeasure) sense.Estimate { return v.EmissionRise }}, {"puff", func(v *sense.ValveMeasure) sense.Estimate { return v.Puff }}} {
		e := r.of(&f.Valves[i])
		if !measured(e) || e.Sigma == 0 {
			continue
		}
		others := ofOthers(f, i, func(v *sense.ValveMeasure) (float64, bool) {
			x := r.of(v)
			return x.Value, measured(x)
		})
		z := math.Max(-farRise, math.Min(farRise, e.Value/e.Sigma))
		out = append(out, sight{r.key, z / surely, says})
		if len(others) >= 2 {
			z := math.Max(-farRise, math.Min(farRise, e.Value/math.Hypot(e.Sigma, spread(others))))
			out = append(out, sight{r.key + "/among", z / surely, says})
		}
		if level > 0 {
			out = append(out, sight{r.key + "/level", e.Value / math.Hypot(level, e.Sigma), says})
		}
	}
	return out
}

// spread is the robust standard deviation of what the other valves show; 0 for fewer than two.
func spread(v []float64) float64 {
	if len(v) < 2 {
		return 0
	}
	return solve.MADToSigma * solve.MAD(v)
}
