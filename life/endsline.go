package life

// line is a line through the medians of the beginning and of the end of a course.
type line struct{ x, y, slope, rise float64 } // of the end, and by how much it lies above the beginning

// endsLine draws it through readings by rising x. The end is those from an index on, the beginning as many at most before it.
func endsLine(xs, ys []float64, from int) line {
	head := min(from, len(xs)-from)
	x0, y0 := medianOr(xs[:head], 0), medianOr(ys[:head], 0)
	l := line{x: medianOr(xs[from:], 0), y: medianOr(ys[from:], 0)}
	l.rise = l.y - y0
	if l.x > x0 {
		l.slope = l.rise / (l.x - x0)
	}
	return l
}

// at is the line's level.
func (l line) at(x float64) float64 { return l.y + l.slope*(x-l.x) }
