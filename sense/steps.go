package sense

import (
	"math"
	"slices"
)

// step is a lasting change of a level from one point to the next.
type step struct {
	at            int     // first point after it
	from, to      int     // first and last point at which it may lie
	before, after float64 // robust levels on both sides
	score         float64 // size over its own noise
	sharp         float64 // share of the size that falls within half a block around it
}

func (s step) size() float64 { return s.after - s.before }

// stepSearch says what counts as a step.
type stepSearch struct {
	block int     // points averaged (by median) into one block before the search, about a day
	span  int     // blocks looked at on either side
	after int     // least blocks needed after the step
	least float64 // smallest step that counts, in the unit of the level
	score float64 // smallest size over noise
	sharp float64 // smallest share that must fall at once
	sign  int     // -1 falls only, +1 rises only, 0 both
}

// leastBlocks is how many blocks must be there for their scatter to be known.
const leastBlocks = 8

// find returns the lasting steps of z (NaN is passed over), in order. A step must pass the noise that
// the same comparison shows over the whole record, must not come back within three spans, and must
// happen at once.
func (q stepSearch) find(z []float64) []step {
	keep := make([]int, 0, len(z)) // index of each value in z
	v := make([]float64, 0, len(z))
	for i, x := range z {
		if x == x {
			keep, v = append(keep, i), append(v, x)
		}
	}
	blocks := blockMedians(v, q.block)
	if len(blocks) < leastBlocks {
		return nil
	}
	d, noise := q.contrast(blocks)
	limit := max(q.least, q.score*noise)
	var out []step
	for {
		j, ok := q.peak(d, limit)
		if !ok {
			break
		}
		if s, ok := q.refine(v, blocks, j); ok {
			s.score = math.Abs(s.size()) / max(noise, 1e-12)
			s.at, s.from, s.to = keep[s.at], keep[s.from], keep[s.to]
			out = append(out, s)
		}
		for k := max(0, j-q.span+1); k < min(len(d), j+q.span); k++ {
			d[k] = 0
		}
	}
	slices.SortFunc(out, func(a, b step) int { return a.at - b.at })
	return out
}

// blockMedians returns the medians of consecutive blocks; a last block below half its size joins the
// one before.
func blockMedians(v []float64, size int) []float64 {
	var out []float64
	buf := make([]float64, 0, 2*size)
	for i := 0; i < len(v); {
		j := min(i+size, len(v))
		if len(v)-j < (size+1)/2 {
			j = len(v)
		}
		buf = append(buf[:0], v[i:j]...)
		out = append(out, quantileOf(buf, 0.5))
		i = j
	}
	return out
}

// contrast returns, for every block, the median of the blocks from it on less that of those before,
// and the robust scatter of that over the record.
func (q stepSearch) contrast(blocks []float64) (d []float64, noise float64) {
	d = make([]float64, len(blocks))
	var calm []float64
	buf := make([]float64, 0, q.span)
	for j := range blocks {
		if j < 1 || len(blocks)-j < q.after {
			continue
		}
		buf = append(buf[:0], blocks[max(0, j-q.span):j]...)
		before := quantileOf(buf, 0.5)
		buf = append(buf[:0], blocks[j:min(len(blocks), j+q.span)]...)
		d[j] = quantileOf(buf, 0.5) - before
		calm = append(calm, d[j])
	}
	noise = spreadOf(calm)
	if w := wobble(blocks) * math.Sqrt(2*1.57/float64(q.span)); !(noise > w) {
		noise = w
	}
	return d, noise
}

// wobble is the robust scatter of single blocks about their neighbours; 0 for fewer than three.
func wobble(blocks []float64) float64 {
	var c []float64
	for i := 2; i < len(blocks); i++ {
		c = append(c, math.Abs(blocks[i]-2*blocks[i-1]+blocks[i-2]))
	}
	if len(c) == 0 {
		return 0
	}
	return curveToSigma * quantileOf(c, 0.5)
}

// peak returns the block with the largest contrast of the sign looked for, past the limit.
func (q stepSearch) peak(d []float64, limit float64) (at int, ok bool) {
	best := limit
	for j, x := range d {
		size := math.Abs(x)
		if q.sign != 0 {
			size = float64(q.sign) * x
		}
		if size > best {
			best, at, ok = size, j, true
		}
	}
	return at, ok
}

// refine finds the point at which the step of block j lies, and reports whether it lasts and is sharp. It leaves as many
// blocks behind it as are asked for: one stray reading at the end is no lasting step.
func (q stepSearch) refine(v, blocks []float64, j int) (step, bool) {
	reach := q.span/2 + 1 // a median of span blocks does not notice half of them
	lo, hi := max(1, (j-reach)*q.block), min(len(v)-q.after*q.block, (j+reach)*q.block)
	from, to := max(0, lo-2*q.block), min(len(v), hi+2*q.block)
	s := step{at: bestSplit(v[from:to], lo-from, hi-from) + from}
	half := max(1, q.block/2)
	near := func(a, b int) float64 {
		a, b = max(0, a), min(len(v), b)
		if a >= b {
			return math.NaN()
		}
		return medianOf(slices.Clone(v[a:b]))
	}
	wide := q.span * q.block
	s.before, s.after = near(s.at-wide, s.at), near(s.at, s.at+wide)
	s.sharp = (near(s.at, s.at+half+1) - near(s.at-half-1, s.at)) / s.size()
	s.from, s.to = max(0, s.at-1), s.at
	later := near(s.at+wide, s.at+3*wide)
	back := later == later && math.Abs(later-s.before) < 0.4*math.Abs(s.size()) && len(v)-s.at > 2*wide && !q.growing()
	enough := math.Abs(s.size()) >= q.least && (q.sign == 0 || float64(q.sign)*s.size() > 0)
	return s, enough && !back && s.sharp >= q.sharp
}

// growing reports that the level may grow back by itself after a fall: filters load again.
func (q stepSearch) growing() bool { return q.sign < 0 }

// bestSplit returns the split of v, between lo and hi, at which the absolute deviations from the
// medians of both parts are least (Huber's location on both sides, without assuming normal noise).
func bestSplit(v []float64, lo, hi int) int {
	best, at := math.Inf(1), lo
	buf := make([]float64, 0, len(v))
	for i := max(1, lo); i <= min(hi, len(v)-1); i++ {
		cost := 0.0
		for _, part := range [...][]float64{v[:i], v[i:]} {
			buf = append(buf[:0], part...)
			mid := quantileOf(buf, 0.5)
			for _, x := range part {
				cost += math.Abs(x - mid)
			}
		}
		if cost < best {
			best, at = cost, i
		}
	}
	return at
}
