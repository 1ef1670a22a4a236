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
	r.Interval = float64(list[len(list)-1].frame-list[0].frame) * s.step / math.Max(1, float64(len(list)-1))
	r.Cycles = float64(len(list)) / float64(n)
	r.Numbered = "the first pulse due in the recording counts as 1"
	steady(list, g)
	centre(list)
	of := make([][]int, n)
	var margins []float64
	for i, b := range list {
		of[i%n] = append(of[i%n], i)
		v := number(spec, i%n)
		r.Slots = append(r.Slots, Slot{At: float64(b.frame) * s.step, Valve: v, Heard: b.heard, Level: b.level, Length: b.length})
		if b.heard {
			m := s.over(b, g)
			margins = append(margins, m)
			r.Pulses = append(r.Pulses, Pulse{float64(b.frame) * s.step, m, v})
			if b.double > 0 {
				r.Pulses = append(r.Pulses, Pulse{float64(b.double) * s.step, m, v})
			}
		}
	}
	r.Margin = quantile(margins, 0.5)
	for i, places := range of {
		// A hiss also shows before the place after it.
		limit := openLimit(list, func(k int) bool { return k%n != i && k%n != (i+1)%n })
		r.Valves = append(r.Valves, s.decide(number(spec, i), evidence{list, places, limit, w.interval, g}))
	}
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
func (s *sound) over(b burst, g *group) float64 {
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
	var level, length, late, tone []float64
	for _, b := range list {
		if b.heard {
			level, length, late, tone = append(level, b.level), append(length, b.length), append(late, b.late), append(tone, b.tone)
		}
	}
	l0, n0, a0, t0 := crowd(level, 1.5), crowd(length, 0.15), crowd(late, 1.5), crowd(tone, 1.5)
	for i := range list {
		list[i].level -= l0
		list[i].length /= math.Max(n0, 1e-9)
		list[i].late -= a0
		list[i].tone -= t0
	}
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

// hissScatter is how much the noise after those places that count usually differs from before [dB].
func hissScatter(list []burst, counts func(i int) bool) float64 {
	var v []float64
	for i, b := range list {
		if !math.IsNaN(b.hiss) && counts(i) {
			v = append(v, math.Abs(b.hiss))
		}
	}
	if len(v) < 2 {
		return 0.3
	}
	slices.Sort(v)
	return math.Max(0.12, v[(len(v)-1)/2]/0.67)
}

// evidence is what one valve is judged on.
type evidence struct {
	list     []burst // the whole row
	places   []int   // of this valve
	limit    float64 // above which a valve stands open, of burst.open [ln]
	interval float64 // [s]
	group    *group
}

// decide says what one valve does, from all the times it was due.
func (s *sound) decide(number int, e evidence) Valve {
	v := Valve{Number: number, Expected: len(e.places), Level: math.NaN(), LevelSigma: math.NaN(), Length: math.NaN(), Tone: math.NaN(), Hiss: math.NaN()}
	var level, sigma, length, late, tone, hiss, open []float64
	kept, lasting := 0.0, 0.0
	for _, i := range e.places {
		b := e.list[i]
		if b.heard {
			v.Count++
			level, sigma, length = append(level, b.level), append(sigma, b.sigma), append(length, b.length)
			late, tone = append(late, b.late), append(tone, b.tone)
		}
		if b.double > 0 {
			v.Double++
		}
		if !math.IsNaN(b.open) {
			hiss, open = append(hiss, b.hiss), append(open, b.shown())
			if b.shown() > kept && s.stays(e.list, i, e.interval) > 0.6*b.hiss {
				kept, lasting = b.shown(), b.hiss
			}
		}
	}
	v.heard = v.Count
	v.Count += v.Double
	if len(hiss) > 0 {
		v.Hiss, v.open = quantile(hiss, 0.5), quantile(open, 0.5)
		if kept > v.open {
			v.Hiss, v.open = lasting, kept
		}
	}
	if v.heard > 0 {
		v.Level, v.LevelSigma = middle(level), middle(sigma)/math.Sqrt(float64(v.heard))
		v.Length, v.Tone = middle(length), middle(tone)
	}
	v.late = quantile(late, 0.5)
	v.faint(e)
	v.judge(e.limit)
	return v
}

// faint looks for a pulse too weak to be heard each time, in the energy of all the times it was due
// together, in the bands that still have some of it: a weak pulse may have lost its treble or its thump.
func (v *Valve) faint(e evidence) {
	if v.Expected == 0 || 2*v.heard >= v.Expected {
		return
	}
	sum, shown := 0.0, 0.0
	for _, i := range e.places {
		sum += math.Min(1, e.list[i].ratio)
		shown += e.list[i].near
	}
	n := float64(v.Expected)
	ratio := sum/n - e.group.floor
	if ratio > faintLeast && shown/n > e.group.near+faintSpread*e.group.nearSpread/math.Sqrt(n) {
		v.pooled = 10 * math.Log10(ratio)
	}
}

// What a pulse not heard each time has to show in the mean to be called weak instead of dead.
const (
	faintSpread = 4.0  // above what is there between pulses, in its spread
	faintLeast  = 0.03 // of the group's energy, for one that has no sharp onset
)

// Limits of the states.
const (
	weakLevel  = -3.1 // [dB] below the group at which a pulse is weak
	weakLength = 0.65 // of the group's, where the second part is missing too
	weakLate   = -4.0 // [dB] of its second part, where it is short
)

// judge sets state, probability and why.
func (v *Valve) judge(limit float64) {
	if v.Expected == 0 {
		v.State, v.Why = Unsure, "it was not due within the recording"
		return
	}
	stuck := 0.0
	if v.open > 0 {
		stuck = logistic(3 * math.Log(v.open/limit))
	}
	missing := 1 - float64(v.heard)/float64(v.Expected)
	weak := 0.0
	if v.heard > 0 {
		weak = logistic((weakLevel - v.Level) / (0.4 + v.LevelSigma))
		if v.Length < weakLength && v.LevelSigma < 1.5 {
			weak = math.Max(weak, logistic(weakLate-v.late))
		}
	}
	switch {
	case stuck > 0.5:
		v.State, v.Probability = StuckOpen, stuck
		v.Why = fmt.Sprintf("after its pulse the noise stays %.0f dB higher: it does not shut", v.Hiss)
	case missing > 0.5 && v.pooled < 0:
		v.State, v.Probability = Weak, logistic((weakLevel-v.pooled)/1.5)
		v.Why = fmt.Sprintf("its pulse is %.0f dB below the others, too faint to be heard each time", -v.pooled)
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
	case v.Length < 0.8 && v.Level > -1:
		return fmt.Sprintf("its pulse is only %.0f %% as long as the others", 100*v.Length)
	case v.Length < 0.8:
		return fmt.Sprintf("its pulse is %.0f dB below the others and %.0f %% as long", -v.Level, 100*v.Length)
	default:
		return fmt.Sprintf("its pulse is %.0f dB below the others", -v.Level)
	}
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
