package life

// The record of an earlier life that nobody says to begin with new filters may begin in mid-life, and what was seen of it is not how
// long those filters lasted. What is missing of their age is told by the line through the record, carried back to the dP of new
// filters.

// seasonedMost is how many times the dP of new filters the first readings must show for the filters not to have been new: seasoning
// makes less of it. Judgement.
const seasonedMost = 1.6

// clearRise is how many times the scatter of single readings the record must rise by for its line to be carried back. Judgement.
const clearRise = 4

// mostMissing is how many times its own length a record lacks at most. Judgement.
const mostMissing = 4

// missingDoubt is the relative error of what is missing. Judgement.
const missingDoubt = 0.4

// missingAge is the age that the filters had when a track begins; 0 where they were new, or it can't be told.
func missingAge(t track) float64 {
	n := len(t.samples)
	if t.whole || n < 2*leastBeside || !(t.clean > 0) {
		return 0
	}
	var xs, ys []float64
	for _, p := range t.samples {
		xs, ys = append(xs, p.x), append(ys, p.y)
	}
	course, first := endsLine(xs, ys, n-n/3), xs[0]
	if scatter := kinkNoise(n, func(i int) (float64, float64) { return t.samples[i].x, t.samples[i].y }, nil); !(course.rise > clearRise*scatter) {
		return 0
	}
	if begin := course.at(first); course.slope > 0 && begin > seasonedMost*t.clean {
		return max(0, min((begin-t.clean)/course.slope-first, mostMissing*(t.samples[n-1].x-first)))
	}
	return 0
}

// aged is a track with an age added to all of its own.
func aged(t track, by float64) track {
	if by == 0 {
		return t
	}
	out := t
	out.samples = make([]sample, len(t.samples))
	for i, s := range t.samples {
		s.x += by
		out.samples[i] = s
	}
	return out
}
