package ear

import (
	"math"
	"slices"

	"dustwright/solve"
)

// Where a hiss that does not stop is listened for [frames].
const (
	hissFrom  = 50  // after a place, from here
	hissLeast = 150 // for so long at least
	hissMost  = 350 // and at most
	hissGap   = 8   // before a place, until here
)

// hisses sets, for every place, how much louder the noise is well after it than before it, against
// what is usual in the row, and how far an automatic gain was turned down.
func (s *sound) hisses(list []burst, interval float64) {
	t := int(interval / s.step)
	long := hissLong(t)
	until := min(hissFrom+long, t-hissGap-10)
	from := min(hissFrom, until*2/5)
	steps := make([][bands]float64, len(list))
	var use []int
	for i, b := range list {
		after := b.frame
		if b.double > 0 {
			after = b.double
		}
		until := min(until, s.frames-after)
		if b.frame < 25 || until < 60 {
			list[i].hiss = math.NaN()
			continue
		}
		for k := range bands {
			steps[i][k] = s.lower(k, after+min(from, until*2/5), after+until) - s.lower(k, b.frame-min(long, t/2), b.frame-hissGap)
		}
		use = append(use, i)
	}
	for k := range bands {
		var v []float64
		for _, i := range use {
			v = append(v, steps[i][k])
		}
		// Echo leaves noise after every pulse, an automatic gain takes some away. The noise before a
		// place may be the hiss of the one before it, so the centre lies low and is held from below unless
		// most places agree.
		slices.Sort(v)
		centre := 0.0
		if len(v) > 0 {
			centre = math.Max(math.Min(-1.5, v[(len(v)-1)*7/10]), v[(len(v)-1)*2/5])
		}
		for _, i := range use {
			steps[i][k] -= centre * math.Sqrt(math.Max(0, math.Min(1, list[i].ratio)))
		}
	}
	for _, i := range use {
		v := steps[i]
		list[i].steps = v
		// A hiss may lie in half of the bands only; one band alone is a tone or a voice.
		list[i].hiss = 0.5*quantile(v[:], 0.5) + 0.5*quantile(v[:], 0.8)
	}
}

// hissLong is how long the noise is listened to where pulses come every t frames [frames].
func hissLong(t int) int { return max(hissLeast, min(hissMost, t*2/5)) }

// lower is the mean of the lower part of a band's power over frames [dB]; words and blows lie above it.
func (s *sound) lower(b, from, to int) float64 {
	from, to = max(0, from), min(s.frames, to)
	buf := make([]float64, 0, to-from+1)
	buf = append(buf, s.power[b][from:to]...)
	if len(buf) == 0 {
		return 0
	}
	n := max(1, len(buf)*lowerPart/100)
	solve.Pick(buf, n-1)
	return 10 * math.Log10(mean(buf[:n]))
}

// lowerPart is how much of the frames counts [%].
const lowerPart = 55

// stays says whether the noise is still louder after the next place than it was before this one [dB].
func (s *sound) stays(list []burst, i int, interval float64) float64 {
	t := int(interval / s.step)
	b := list[i]
	from := b.frame + t + t/4
	if from+t/2 > s.frames {
		return math.NaN()
	}
	v := make([]float64, bands)
	for k := range bands {
		v[k] = s.lower(k, from, from+t/2) - s.lower(k, b.frame-min(hissLong(t), t/2), b.frame-hissGap)
	}
	return 0.5*quantile(v, 0.5) + 0.5*quantile(v, 0.8)
}
