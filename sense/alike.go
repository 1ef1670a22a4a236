package sense

import "math"

// own is a day's standard uncertainty of a quantity without what it shares with the other days of its kind: where cleaning goes
// on without end day after day, the low end of the dP lies as far off what it is just after cleaning on each of them, and a step
// from one to the next is no less sure.
func (d *Day) own(q Quantity) float64 {
	if q != DragAfter {
		return d.Sigma[q]
	}
	return math.Sqrt(max(0, d.Sigma[q]*d.Sigma[q]-d.alike*d.alike))
}

// apart is how unsure a quantity is where it is held against the days before the recent window: what days of a kind share counts
// only as far as those are of the other kind.
func (b *baseline) apart(q Quantity, d *Day) float64 {
	if q != DragAfter {
		return d.Sigma[q]
	}
	other, n := 0.0, 0.0
	for i := range b.days {
		if x := &b.days[i]; x.Start.Before(b.windowFrom) && x.Value[q] == x.Value[q] {
			n++
			if (x.alike > 0) != (d.alike > 0) {
				other++
			}
		}
	}
	if n == 0 {
		return d.Sigma[q]
	}
	return math.Hypot(d.own(q), other/n*longShare*d.Value[q])
}
