package sense

import (
	"math"
	"sort"
	"time"
)

// Stretch holds the last days of a quantity against the days before them.
type Stretch struct {
	Now    Estimate // median of the last days; its width is what days like those before them leave
	Before Estimate // what the days before them carry on to their middle: along their slope where the quantity ages
}

// Bounds of a stretch: how many days must lie before it, over how many days a slope is told, and the lengths of the two
// fixed ones. What is subtle shows over weeks and not in a day. Common practice, no source.
const (
	stretchLeast = 5
	week         = 7 * 24 * time.Hour
	weeks        = 21 * 24 * time.Hour
)

// stretches holds the last week, the last three and the days since the turn against those before.
func (b *baseline) stretches(q Quantity, m *Measure, turn time.Time) {
	tr := traitsOf(q)
	from := 0
	if tr.renews {
		from = b.lifeFrom
	}
	if q.moves() && b.movedFrom > from {
		from = b.movedFrom
	}
	none := Stretch{Unknown("too few days"), Unknown("too few days")}
	m.Week, m.Weeks, m.SinceTurn = none, none, none
	d := series(b.days, q, from)
	if len(d.x) <= stretchLeast {
		return
	}
	end := d.w[len(d.w)-1].Add(24 * time.Hour)
	d.x = tamed(d.x)
	for _, s := range [...]struct {
		at  time.Time
		out *Stretch
	}{{end.Add(-week), &m.Week}, {end.Add(-weeks), &m.Weeks}, {turn, &m.SinceTurn}} {
		k := sort.Search(len(d.w), func(i int) bool { return !d.w[i].Before(s.at) })
		if !s.at.IsZero() && k >= stretchLeast && k < len(d.x) {
			*s.out = d.stretch(k, tr.ages)
		}
	}
}

// stretch holds the days from k on against at most normalDays before them.
func (d daily) stretch(k int, ages bool) Stretch {
	first := max(0, k-normalDays)
	t, x := d.t[first:k], d.x[first:k]
	n := float64(len(x))
	var st, sx, stt, stx float64
	for i := range x {
		st += t[i] / n
		sx += x[i] / n
	}
	for i := range x {
		stt += (t[i] - st) * (t[i] - st)
		stx += (t[i] - st) * (x[i] - sx)
	}
	slope, free := 0.0, n-1
	if ages && len(x) >= slopeDays && stt > 0 {
		slope, free = stx/stt, n-2
	}
	var rss float64
	for i := range x {
		e := x[i] - sx - slope*(t[i]-st)
		rss += e * e
	}
	sd := math.Sqrt(rss / free)
	if own := medianOf(append([]float64(nil), d.s[first:k]...)); own > sd && !math.IsInf(own, 0) {
		sd = own
	}
	ahead := medianOf(append([]float64(nil), d.t[k:]...)) - st
	share := thinning(x)
	width := 1 / (n * share)
	if slope != 0 {
		width += ahead * ahead / (stt * share)
	}
	after := float64(len(d.x) - k)
	return Stretch{
		Now:    Estimate{Value: medianOf(append([]float64(nil), d.x[k:]...)), Sigma: 1.25 * sd / math.Sqrt(math.Max(1, after*share)), N: len(d.x) - k},
		Before: Estimate{Value: sx + slope*ahead, Sigma: sd * math.Sqrt(width), N: len(x)},
	}
}

// turn is the day on which the record changed most: the onset best told of all that the machine, and not the weather or
// somebody's hand, moves; zero for none. score is its log likelihood ratio.
func turn(f *Features) (at time.Time, score float64) {
	for q := range NumQuantities {
		switch q {
		case TemperatureMean, HumidityLevel, RunningHours, BinFill, DamperOpen:
			continue
		}
		if o := f.Of[q].Onset; o.Found && o.Score > score {
			at, score = o.At, o.Score
		}
	}
	return at, score
}
