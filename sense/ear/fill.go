package ear

import (
	"fmt"
	"math"
	"slices"
)

// fill sets what is said of each valve.
func (r *Result) fill(s *sound, list []burst, w *row, g *group, spec Spec) {
	n := spec.Valves
	if n == 0 {
		n = len(list)
	}
	r.Interval = usualStep(list) * s.step
	r.Cycles = float64(len(list)) / float64(n)
	r.Numbered = "the first pulse due in the recording counts as 1"
	steady(list, g)
	centre(list)
	leaks := s.leaks(list, g)
	of := make([][]int, n)
	for i := range list {
		of[i%n] = append(of[i%n], i)
	}
	open, from := make([]float64, n), make([]int, n)
	for i := range of {
		open[i], from[i] = leaks.open(of[i])
	}
	if k := leakFrom(list, open, from); k > 0 {
		// Less air is left for the others from then on.
		centre(list[:k])
		centre(list[k:])
	}
	for i, places := range of {
		e := evidence{list, places, open[i], leaks.loud(places, from[i]), g}
		r.Valves = append(r.Valves, hearValve(number(spec, i), e))
	}
	var level, sigma []float64
	for _, v := range r.Valves {
		level, sigma = append(level, v.Level), append(sigma, v.LevelSigma)
	}
	weak, below := along(level, sigma)
	for i := range r.Valves {
		v := &r.Valves[i]
		v.below = below[i]
		v.judge(openLimit(open, i), weak[i])
	}
	var margins []float64
	for i, b := range list {
		v := number(spec, i%n)
		r.Slots = append(r.Slots, Slot{At: float64(b.frame) * s.step, Valve: v, Heard: b.heard, Level: b.whole, Length: b.length})
		if b.heard {
			m := s.margin(b, g)
			margins = append(margins, m)
			r.Pulses = append(r.Pulses, Pulse{float64(b.frame) * s.step, m, v})
			if b.double > 0 {
				r.Pulses = append(r.Pulses, Pulse{float64(b.double) * s.step, m, v})
			}
		}
	}
	r.Margin = quantile(margins, 0.5)
	if len(spec.Order) == n {
		r.Numbered = "in the order of the collector file, the first pulse due in the recording counts as its first"
		slices.SortFunc(r.Valves, func(a, b Valve) int { return a.Number - b.Number })
	}
	if s.clipped > 0.002 {
		r.Notes = append(r.Notes, "the recording is clipped; levels of the loud pulses are held down, lay the phone farther away next time")
	}
}

// number is the valve that fires in a place of the cycle, counted from 0.
func number(spec Spec, place int) int {
	if place < len(spec.Order) {
		return spec.Order[place]
	}
	return place + 1
}

// margin is the loudness of a burst over the noise, in its strongest bands [dB].
func (s *sound) margin(b burst, g *group) float64 {
	best := 1e-3
	for k, w := range g.weight {
		if w > 0 {
			best = math.Max(best, b.energy[k]/(float64(g.n)*b.noise[k]))
		}
	}
	return 10 * math.Log10(best)
}

// steady takes out what the recorder's gain did, where the pulses lie closer together with the change
// of the noise taken off their level than without.
func steady(list []burst, g *group) {
	var raw, less, noise []float64
	for _, b := range list {
		if b.heard {
			n := g.loudness(b)
			raw, noise, less = append(raw, b.level), append(noise, n), append(less, b.level-n)
		}
	}
	if len(raw) < 4 {
		return
	}
	if apart(less) > 0.8*apart(raw) {
		return
	}
	centre := middle(noise)
	for i := range list {
		list[i].level -= g.loudness(list[i]) - centre
		list[i].whole -= g.loudness(list[i]) - centre
	}
}

// apart is the mean distance from the median, each held at 4 dB.
func apart(v []float64) float64 {
	c, sum := middle(v), 0.0
	for _, x := range v {
		sum += math.Min(4, math.Abs(x-c))
	}
	return sum / float64(len(v))
}

// loudness is the noise before a burst in the group's bands [dB].
func (g *group) loudness(b burst) float64 {
	sum, total := 0.0, 0.0
	for k, w := range g.weight {
		sum, total = sum+w*10*math.Log10(b.noise[k]), total+w
	}
	return sum / math.Max(total, 1e-12)
}

// centre takes levels against where most of them lie: weak pulses are the fewer, or the lower.
func centre(list []burst) {
	var level, whole, length, late, tone []float64
	for _, b := range list {
		if b.heard {
			level, whole, length = append(level, b.level), append(whole, b.whole), append(length, b.length)
			late, tone = append(late, b.late), append(tone, b.tone)
		}
	}
	l0, w0, n0, a0, t0 := crowd(level, 1.5), crowd(whole, 1.5), crowd(length, 0.15), crowd(late, 1), crowd(tone, 1.5)
	for i := range list {
		list[i].level -= l0
		list[i].whole -= w0
		list[i].length /= math.Max(n0, 1e-9)
		list[i].late -= a0
		list[i].tone -= t0
	}
}

// leakFrom is the place from which on a valve stands open for good, 0 where none does or it cannot be
// told how loud the pulses are before and after.
func leakFrom(list []burst, open []float64, from []int) int {
	at, top := 0, 2*openLeast
	for i, v := range open {
		if v > top && from[i] >= 0 {
			at, top = from[i], v
		}
	}
	before, after := 0, 0
	for i := range list {
		switch {
		case !list[i].heard:
		case i < at:
			before++
		case i > at:
			after++
		}
	}
	if before < 3 || after < 3 {
		return 0
	}
	return at + 1
}

// crowd returns the middle of the densest part of v, the upper one where two are equal.
func crowd(v []float64, width float64) float64 {
	best, top := 0.0, math.Inf(-1)
	for _, c := range v {
		sum := 0.0
		for _, x := range v {
			d := (x - c) / width
			sum += math.Exp(-d * d / 2)
		}
		sum += 0.05 * math.Min(8, (c-slices.Min(v))/width)
		if sum > top {
			top, best = sum, c
		}
	}
	sum, total := 0.0, 0.0
	for _, x := range v {
		d := (x - best) / width
		w := math.Exp(-d * d / 2)
		sum, total = sum+w*x, total+w
	}
	return sum / math.Max(total, 1e-9)
}

// evidence is what one valve is judged on.
type evidence struct {
	list   []burst // the whole row
	places []int   // of this valve
	open   float64 // how much likelier its noise is with it open than shut [ln]
	hiss   float64 // its noise after over before [dB]
	group  *group
}

// hearValve sets what was heard of a valve all the times it was due.
func hearValve(number int, e evidence) Valve {
	v := Valve{Number: number, Expected: len(e.places), Level: math.NaN(), LevelSigma: math.NaN(), Length: math.NaN(), Tone: math.NaN()}
	v.loudness(e)
	v.open, v.Hiss = e.open, e.hiss
	return v
}

// loudness sets how often a valve was heard and how its pulses compare with the group's. All the times
// it was due are taken together, since a pulse too faint to be heard once may be heard in all of them.
func (v *Valve) loudness(e evidence) {
	var sum, apart, bass [levels]float64
	for _, i := range e.places {
		sum, apart, bass = added(sum, e.list[i].curve), added(apart, e.list[i].apart), added(bass, e.list[i].bass)
	}
	_, v.joint, _ = peak(sum[:])
	v.likely = slices.Max(apart[:])
	beyond := v.likely - e.group.limitOf(len(e.places))
	at := int(math.Round(math.Max(0, math.Min(levels-1, (v.joint-quietest)/levelStep))))
	var whole, sigma, length, late, tone []float64
	for _, i := range e.places {
		b := &e.list[i]
		b.heard = b.heard || audible(beyond, v.joint, &bass) && b.apart[at] > 0
		if b.heard {
			v.heard++
			whole, sigma = append(whole, b.whole), append(sigma, b.sigma)
			length, late, tone = append(length, b.length), append(late, b.late), append(tone, b.tone)
			v.Count++
		}
		if b.heard && b.double > 0 {
			v.Count++
			v.Double++
		}
	}
	if v.heard > 0 {
		v.Level, v.LevelSigma = middle(whole), middle(sigma)/math.Sqrt(float64(v.heard))
		v.Length, v.late, v.Tone = middle(length), middle(late), middle(tone)
	}
}

// How far below the group a pulse is weak [dB].
const (
	weakLate = -2.5 // its second half against its first, where it is short too

	weakLength = 0.8 // of the group's

	weakTone = -5.0 // its treble against its bass, where it is this much
	weakDull = 1.5  // below the run of the row too
)

// judge sets state, probability and why.
func (v *Valve) judge(limit, weak float64) {
	if v.Expected == 0 {
		v.State, v.Why = Unsure, "it was not due within the recording"
		return
	}
	stuck := 0.0
	if v.open > 0 {
		stuck = logistic(3 * math.Log(v.open/limit))
	}
	missing := 1 - float64(v.heard)/float64(v.Expected)
	if v.heard > 0 && v.Tone < weakTone {
		weak = math.Max(weak, logistic((v.below-weakDull)/0.5))
	}
	if v.heard > 0 && v.Length < weakLength {
		weak = math.Max(weak, logistic((weakLate-v.late)/(0.4+0.5*v.LevelSigma)))
	}
	switch {
	case stuck > 0.5:
		v.State, v.Probability = StuckOpen, stuck
		v.Why = fmt.Sprintf("after its pulse the noise stays %.0f dB higher: it does not shut", v.Hiss)
	case missing > 0.5:
		v.State, v.Probability = Dead, 0.5+0.5*missing
		v.Why = fmt.Sprintf("no pulse was heard %d times out of %d when it was due", v.Expected-v.heard, v.Expected)
	case weak > 0.5:
		v.State, v.Probability = Weak, weak
		v.Why = v.weakness()
	default:
		v.State, v.Probability = OK, 1-weak
		v.Why = "sounds like the others"
	}
	if v.Probability < 0.55 {
		v.Why += fmt.Sprintf("; but only %.0f %% sure", 100*v.Probability)
		v.State = Unsure
	}
}

// weakness says what is less than usual in a pulse.
func (v *Valve) weakness() string {
	switch {
	case v.Length < 0.8 && v.below < 1:
		return fmt.Sprintf("its pulse is only %.0f %% as long as the others", 100*v.Length)
	case v.Length < 0.8:
		return fmt.Sprintf("its pulse is %.0f dB below the others and %.0f %% as long", v.below, 100*v.Length)
	default:
		return fmt.Sprintf("its pulse is %.0f dB below the others", v.below)
	}
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
