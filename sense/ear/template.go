package ear

import (
	"math"
	"slices"
)

// template is a usual pulse of the group as it grows and dies, band by band, in a few stretches of time
// (cells), beside what the same cells hold between pulses.
type template struct {
	cells  [][2]int         // from the onset [frames]
	half   int              // bands below are its bass
	power  [bands][]float64 // of a usual pulse, noise taken off
	null   [bands][]float64 // usual of a quiet cell over the noise before it [ln]
	spread [bands][]float64 // and its spread [ln]
	gain   [bands][]float64 // how much a usual pulse raises the cell [ln]
	weight [bands][]float64 // of the cell in the match; they make 1 of a usual pulse
}

// cellEdges are where cells begin and end, from the onset [frames].
var cellEdges = [...]int{0, 3, 7, 13, 22, 36}

// Spreads held at least, and how far a cell may count.
const (
	cellSpread  = 0.10 // of a quiet cell [ln]
	pulseSpread = 0.30 // of one pulse's cell against the group's [ln]
)

// template draws the pulses at the strong places together. n is how many frames a pulse fills.
func (s *sound) template(strong, quiet []burst, n int) *template {
	t := &template{}
	for i := 1; i < len(cellEdges) && cellEdges[i-1] < n; i++ {
		t.cells = append(t.cells, [2]int{cellEdges[i-1], cellEdges[i]})
	}
	total := 0.0
	var byBand [bands]float64
	for k := range bands {
		for c := range t.cells {
			null, spread, power, gain := s.cell(t, k, c, strong, quiet)
			t.null[k], t.spread[k] = append(t.null[k], null), append(t.spread[k], spread)
			t.power[k], t.gain[k] = append(t.power[k], power), append(t.gain[k], gain)
			w := 0.0
			if gain > 0.5*spread {
				w = gain / (spread*spread + pulseSpread*pulseSpread)
			}
			t.weight[k] = append(t.weight[k], w)
			total += w * gain
			byBand[k] += w * gain
		}
	}
	if total <= 0 {
		return nil
	}
	for k := range bands {
		for c := range t.cells {
			t.weight[k][c] /= total
		}
	}
	sum := 0.0
	for k, e := range byBand {
		if sum += e; sum >= 0.5*total && t.half == 0 {
			t.half = k + 1
		}
	}
	return t
}

// cell sets one cell of a template.
func (s *sound) cell(t *template, k, c int, strong, quiet []burst) (null, spread, power, gain float64) {
	var q, p, g []float64
	for i := range quiet {
		q = append(q, s.over(t, &quiet[i], 0, k, c))
	}
	null, spread = 0, 0.3
	if len(q) > 2 {
		null = quantile(q, 0.5)
		spread = math.Max(cellSpread, 1.4826*mad(q, null))
	}
	base := math.Exp(null)
	for i := range strong {
		x := s.over(t, &strong[i], 0, k, c)
		p = append(p, (math.Exp(x)-base)*strong[i].noise[k])
		g = append(g, x-null)
	}
	return null, spread, math.Max(0, quantile(p, 0.5)), quantile(g, 0.5)
}

// over is how far a cell of a place, moved by some frames, lies over the noise before the place [ln].
func (s *sound) over(t *template, b *burst, by, k, c int) float64 {
	f := b.frame + by
	return math.Log(s.mean(k, f+t.cells[c][0], f+t.cells[c][1]) / b.noise[k])
}

// match is how much a place, moved by some frames, is like a usual pulse: 1 of one, 0 of none.
func (s *sound) match(t *template, b *burst, by int) float64 {
	sum := 0.0
	for k := range bands {
		for c, w := range t.weight[k] {
			if w > 0 {
				x := s.over(t, b, by, k, c) - t.null[k][c]
				sum += w * math.Max(-2*t.spread[k][c], math.Min(t.gain[k][c]+pulseSpread, x))
			}
		}
	}
	return sum
}

// likeness is match for every frame, over a noise that is known roughly; its median is taken off.
func (s *sound) likeness(t *template) []float64 {
	floor := s.floors()
	out := make([]float64, s.frames)
	for k := range bands {
		for c, w := range t.weight[k] {
			if w <= 0 {
				continue
			}
			cell, low, high := t.cells[c], t.null[k][c]-2*t.spread[k][c], t.null[k][c]+t.gain[k][c]+pulseSpread
			for f := range out {
				x := math.Log(s.mean(k, f+cell[0], f+cell[1]) / floor[k][max(0, f-noiseBefore/2)/floorBlock])
				out[f] += w * math.Max(low, math.Min(high, x))
			}
		}
	}
	centre := middle(out)
	for f := range out {
		out[f] -= centre
	}
	return out
}

// floorBlock is how many frames share one level of noise.
const floorBlock = 40

// floors is the noise of each band, block by block.
func (s *sound) floors() (floor [bands][]float64) {
	buf := make([]float64, 0, floorBlock)
	for k := range bands {
		for f := 0; f < s.frames; f += floorBlock {
			buf = append(buf[:0], s.power[k][f:min(f+floorBlock, s.frames)]...)
			floor[k] = append(floor[k], quantile(buf, 0.5))
		}
	}
	return floor
}

// settle moves a place to where within reach it is most like a usual pulse; a pulse comes late rather than early.
func (s *sound) settle(t *template, b *burst, early, late int) {
	best, top := 0, math.Inf(-1)
	for d := max(-early, -b.frame); d <= min(late, s.frames-1-b.frame); d++ {
		if m := s.match(t, b, d) - 0.002*math.Abs(float64(d)); m > top {
			best, top = d, m
		}
	}
	b.frame += best
	b.match = top
}

// faintest is the least level of a pulse that counts as one [dB].
const faintest = -14.5

// Levels tried of a pulse against the group [dB].
const (
	quietest  = -25.5
	levelStep = 1.5
	levels    = 22
)

// fit finds the level at which a usual pulse explains the cells of a place best, and how much better
// it does than no pulse; then the mean level of its parts, the bass and the treble of each stretch, so that a
// pulse that is cut short or dull counts as less. A part that tells little is taken to be as loud as the whole.
func (s *sound) fit(t *template, b *burst) { s.fitFrom(t, b, 0) }

// fitFrom is fit without the cells before the one given.
func (s *sound) fitFrom(t *template, b *burst, first int) {
	parts := make([][levels]float64, 2*len(t.cells))
	b.curve, b.apart = [levels]float64{}, [levels]float64{}
	for k := range bands {
		for c := first; c < len(t.cells); c++ {
			if t.weight[k][c] == 0 {
				continue
			}
			part := &parts[2*c]
			if k >= t.half {
				part = &parts[2*c+1]
			}
			x, null, spread := s.over(t, b, 0, k, c), t.null[k][c], t.spread[k][c]
			none := surprise(x-null, spread)
			base, e := math.Exp(null), t.power[k][c]/b.noise[k]
			for i := range part {
				a := e * loudnesses[i]
				share := base / (base + a)
				wide := math.Hypot(share*spread, (1-share)*pulseSpread)
				part[i] += none - surprise(x-math.Log(base+a), wide)
			}
		}
	}
	for i := range parts {
		b.curve, b.apart = added(b.curve, parts[i]), added(b.apart, about(&parts[i]))
	}
	for i := range b.curve {
		b.curve[i] -= unlikely[i]
		b.apart[i] -= unlikely[i]
	}
	b.alike, b.level, b.sigma = peak(b.curve[:])
	b.bass = [levels]float64{}
	for i := range t.cells {
		b.bass = added(b.bass, parts[2*i])
	}
	b.likely = slices.Max(b.apart[:])
	b.late = late(parts, b.level)
	sum, total := 0.0, 0.0
	for part := range parts {
		_, level, sigma := peak(drawn(parts[part], b.level))
		w := 1 / (sigma*sigma + 1)
		sum, total = sum+w*math.Max(level, b.level+partLeast), total+w
	}
	b.whole = sum / total
}

// about is the curve of a part by the level of the whole, its own level lying about that.
func about(part *[levels]float64) (curve [levels]float64) {
	for i := range curve {
		curve[i] = part[i]
		for j, v := range part {
			d := levelStep * float64(i-j) / partSpread
			curve[i] = math.Max(curve[i], v-d*d/2)
		}
	}
	return curve
}

func added(a, b [levels]float64) [levels]float64 {
	for i := range a {
		a[i] += b[i]
	}
	return a
}

// late is the level of the second half of a pulse over its first [dB], from the curves of its parts.
func late(parts [][levels]float64, level float64) float64 {
	var sum, total [2]float64
	for c := range len(parts) / 2 {
		curve := parts[2*c]
		for i := range curve {
			curve[i] += parts[2*c+1][i]
		}
		_, l, sigma := peak(drawn(curve, level))
		half, w := c*4/len(parts), 1/(sigma*sigma+1)
		sum[half], total[half] = sum[half]+w*math.Max(l, level+partLeast), total[half]+w
	}
	if total[0] == 0 || total[1] < lateLeast {
		return 0
	}
	return sum[1]/total[1] - sum[0]/total[0]
}

// drawn draws a part's curve towards a level.
func drawn(curve [levels]float64, level float64) []float64 {
	for i := range curve {
		d := (quietest + levelStep*float64(i) - level) / partSpread
		curve[i] -= d * d / 2
	}
	return curve[:]
}

// How the parts of a pulse count.
const (
	partSpread = 5   // of a part's level about the whole's [dB]
	partLeast  = -10 // how far below the whole a missing part counts at most [dB]
	lateLeast  = 0.2 // weight the second half has to have to be told from the first
)

// loudnesses are the levels tried, as power.
var loudnesses = func() (v [levels]float64) {
	for i := range v {
		v[i] = math.Pow(10, (quietest+levelStep*float64(i))/10)
	}
	return v
}()

// unlikely is how unlikely a level is before anything was heard: pulses that faint hardly occur [ln].
var unlikely = func() (v [levels]float64) {
	for i := range v {
		d := math.Max(0, -12-quietest-levelStep*float64(i)) / 2
		v[i] = d * d / 2
	}
	return v
}()

// surprise is minus the logarithm of how likely a distance is, with long tails.
func surprise(d, spread float64) float64 {
	z := d / spread
	return 2.5*math.Log1p(z*z/5) + math.Log(spread)
}

// peak returns the top of a curve over the levels, the level it is at and how far that may be off [dB].
func peak(curve []float64) (top, level, sigma float64) {
	arg := 0
	for i, v := range curve {
		if v > curve[arg] {
			arg = i
		}
	}
	top, level = curve[arg], quietest+levelStep*float64(arg)
	if arg > 0 && arg < len(curve)-1 {
		l, r := curve[arg-1], curve[arg+1]
		if bend := l - 2*top + r; bend < 0 {
			level += levelStep * 0.5 * (l - r) / bend
		}
	}
	// Cells are not free of one another: the width is that of a curve a quarter as steep.
	lo, hi := arg, arg
	for lo > 0 && curve[lo] > top-2 {
		lo--
	}
	for hi < len(curve)-1 && curve[hi] > top-2 {
		hi++
	}
	return top, level, math.Max(0.3, levelStep*float64(hi-lo)/2-0.75)
}
