package trace

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// A second opening that the noise hides from a look at one wait shows where a valve's mean wait is held against the
// others': what is left is a pulse of the common form, somewhere in the wait.

// again is a second opening found in a valve's mean wait.
type again struct {
	lag  float64 // after the onset [s]
	size float64 // of the usual pulse
}

// waitRow is the course of a turn from its onset over the usual drop there, until the next is due; nil where the
// trace does not show it whole.
func (w *work) waitRow(t turn, length int) []float64 {
	i := w.s.at(t.at)
	if t.hidden || i+length > len(w.s.y) || w.s.at(t.next)-w.s.bins(0.3) < i+length || math.IsNaN(t.before) {
		return nil
	}
	unit := w.centre.drop * w.centre.at(t.before)
	if unit < 0.3*w.centre.drop {
		return nil
	}
	row := make([]float64, length)
	for k := range row {
		row[k] = (w.s.y[i+k] - t.before) / unit
	}
	return row
}

// meanWaits is the mean wait of every valve, the number of turns in it, and the middle of them all.
func (w *work) meanWaits() (mean [][]float64, count []int, usual []float64) {
	length := w.s.bins(math.Min(6, 0.8*w.interval))
	mean, count = make([][]float64, w.n), make([]int, w.n)
	for _, t := range w.turns {
		row, v := w.waitRow(t, length), t.index%w.n
		if row == nil {
			continue
		}
		if count[v]++; mean[v] == nil {
			mean[v] = make([]float64, length)
		}
		for k, y := range row {
			mean[v][k] += (y - mean[v][k]) / float64(count[v])
		}
	}
	usual = make([]float64, length)
	for k := range usual {
		var col []float64
		for _, m := range mean {
			if m != nil {
				col = append(col, m[k])
			}
		}
		if len(col) < 3 {
			return mean, count, nil
		}
		usual[k] = middle(col)
	}
	return mean, count, usual
}

// findAgain looks for second openings in the mean waits and adds them to the turns that show them.
func (w *work) findAgain(out [][]float64) {
	mean, count, usual := w.meanWaits()
	if usual == nil {
		return
	}
	for v := range w.n {
		seen := 0
		for j, t := range w.turns {
			if t.index%w.n == v && len(out[j]) > 0 {
				seen++
			}
		}
		if mean[v] == nil || 2*seen >= count[v] {
			continue
		}
		white := sq(w.s.noise[0]/w.centre.drop) / float64(count[v])
		a, ok := w.secondIn(mean[v], usual, white)
		if !ok {
			continue
		}
		for j, t := range w.turns {
			if t.index%w.n != v || len(out[j]) > 0 {
				continue
			}
			if row := w.waitRow(t, len(usual)); row != nil && w.sizeAt(row, usual, a.lag) > 0.4*a.size {
				out[j] = append(out[j], t.at+a.lag)
			}
		}
	}
}

// secondIn fits level, own pulse and a second one at every lag; white is the variance of the mean wait's noise.
func (w *work) secondIn(mean, usual []float64, white float64) (again, bool) {
	s, h := w.s, w.ownShape()
	from, to := s.bins(math.Max(0.4, h.fall+0.15)), len(usual)-s.bins(0.7)
	before := leftOver(mean, usual, -1)
	n := float64(len(usual))
	best, bestLeft := again{}, before.left
	for k := from; k < to; k++ {
		if f := leftOver(mean, usual, k); f.left < bestLeft && f.second > 0.4 && f.second < 1.6 && f.own > 0.1 {
			best, bestLeft = again{lag: float64(k) * s.dt, size: f.second}, f.left
		}
	}
	gain := before.left - bestLeft
	if best.size == 0 || gain < 36*math.Max(white, bestLeft/n) || gain < 0.7*(before.left-n*white) {
		return best, false
	}
	// Sharp: just before, the wait is not yet low, as it is after a valve that closes late.
	k, m := s.bins(best.lag), max(2, s.bins(0.3))
	early := max(s.bins(h.fall+0.1), k-m)
	if k-early < 2 {
		return best, gain > 0.85*(before.left-n*white)
	}
	f := leftOver(mean, usual, k)
	var low float64
	for i := early; i < k; i++ {
		low += (f.level + f.own*usual[i] - mean[i]) / float64(k-early)
	}
	return best, low < 0.3*best.size+2*math.Sqrt(white/float64(k-early))
}

// sizeAt is the size of a second opening at a lag in one turn's wait.
func (w *work) sizeAt(row, usual []float64, lag float64) float64 {
	return leftOver(row, usual, w.s.bins(lag)).second
}

// threefold is a least-squares fit of a wait: level, own pulse and a second one.
type threefold struct{ level, own, second, left float64 }

// leftOver fits a wait by level, the usual wait, and the usual wait once more from bin k on (not where k is negative).
func leftOver(y, usual []float64, k int) threefold {
	n := float64(len(y))
	my, mu := stat.Mean(y, nil), stat.Mean(usual, nil)
	var mt float64
	if k >= 0 {
		for i := k; i < len(y); i++ {
			mt += usual[i-k] / n
		}
	}
	var yy, uu, tt, yu, yt, ut float64
	for i := range y {
		a, b, t := y[i]-my, usual[i]-mu, 0.0
		if k >= 0 {
			t = -mt
			if i >= k {
				t += usual[i-k]
			}
		}
		yy, uu, tt, yu, yt, ut = yy+a*a, uu+b*b, tt+t*t, yu+a*b, yt+a*t, ut+b*t
	}
	if uu <= 0 {
		return threefold{left: yy}
	}
	f := threefold{own: yu / uu}
	f.left = yy - yu*yu/uu
	if d := tt - ut*ut/uu; k >= 0 && d > 1e-6*tt {
		r := yt - ut*yu/uu
		f.second = r / d
		f.own = (yu - f.second*ut) / uu
		f.left -= r * r / d
	}
	f.level = my - f.own*mu - f.second*mt
	return f
}
