package trace

import (
	"math"
	"slices"
)

// Fitting every pattern under every supply costs the square of the trace's length. A quick look first says
// which patterns and changes of level are worth it.

// How many are fitted in full, of each kind.
const (
	mostOnsets  = 32
	mostValves  = 10
	mostChanges = 20
	mostSpells  = 16
)

// likely leaves out the patterns that promise least: what a bleed added to the tight fits given would explain,
// by least squares that leave the supply as it is but for its rate.
func (l *ledger) likely(all []pattern, tightFits []balance) []pattern {
	gain := make([]float64, len(all))
	for i := range gain {
		gain[i] = math.Inf(-1)
	}
	for _, b := range tightFits {
		after, by, upTo := l.sums(b)
		for i, p := range all {
			g := math.Inf(1)
			switch p.kind {
			case forGood:
				g = after[p.onset].gain(after[0].rateOf())
			case holds:
				g = by[p.valve].gain(after[0].rateOf())
			case spell, drawn:
				g = upTo[p.hi].less(upTo[p.lo]).gain(after[0].rateOf())
			}
			gain[i] = math.Max(gain[i], b.score+g)
		}
	}
	breaks := map[int]bool{} // where the level changes most is always worth a look
	for _, j := range l.changes(mostOnsets / 2) {
		breaks[j-1], breaks[j], breaks[j+1] = true, true, true
	}
	falls := l.falls()
	for i, p := range all {
		switch {
		case p.kind == forGood && breaks[p.onset]:
			gain[i] = math.Inf(1)
		case p.kind == midway: // no turn of its own to go by: where the level falls most
			gain[i] = falls[p.onset]
		}
	}
	var out []pattern
	for _, kind := range []struct {
		kind patternKind
		most int
	}{{tight, 1}, {holds, mostValves}, {forGood, mostOnsets}, {spell, mostSpells}, {midway, mostOnsets}, {drawn, mostSpells}} {
		var mine []int
		for i, p := range all {
			if p.kind == kind.kind {
				mine = append(mine, i)
			}
		}
		slices.SortStableFunc(mine, func(a, b int) int { return falling(gain[a], gain[b]) })
		mine = mine[:min(len(mine), kind.most)]
		slices.Sort(mine)
		for _, i := range mine {
			out = append(out, all[i])
		}
	}
	return out
}

// moments are weighted sums over stretches: of the rate's column squared, of the bleed's column squared and
// with the rate's, of the residual with both.
type moments struct{ ff, gg, fg, fr, gr float64 }

// rateOf is the part of the sums that belongs to the rate alone.
func (m moments) rateOf() moments { return moments{ff: m.ff, fr: m.fr} }

// gain is the log-likelihood that a bleed on these stretches adds once the rate may move with it; rate holds the rate's sums over all stretches.
func (m moments) gain(rate moments) float64 {
	left := m.gg
	with := m.gr
	if rate.ff > 0 {
		left -= m.fg * m.fg / rate.ff
		with -= m.fg * rate.fr / rate.ff
	}
	if left <= 1e-12*m.gg || with <= 0 {
		return 0
	}
	return with * with / (2 * left)
}

func (m *moments) add(o moments) {
	m.ff, m.gg, m.fg, m.fr, m.gr = m.ff+o.ff, m.gg+o.gg, m.fg+o.fg, m.fr+o.fr, m.gr+o.gr
}

func (m moments) less(o moments) moments {
	return moments{m.ff - o.ff, m.gg - o.gg, m.fg - o.fg, m.fr - o.fr, m.gr - o.gr}
}

// sums adds up the moments of a tight fit from every turn to the end, by valve, and of all stretches up to each.
func (l *ledger) sums(b balance) (after, by, upTo []moments) {
	after, by, upTo = make([]moments, len(l.turns)+1), make([]moments, l.n), make([]moments, len(l.xs)+1)
	var first moments
	for i, x := range l.xs {
		r, sd := l.residual(b, i, -1)
		w := 1 / (sd*sd + r*r/4)
		f, g := b.supply.share[i], -(l.outLow[i]+l.outHigh[i])/2
		m := moments{ff: w * f * f, gg: w * g * g, fg: w * f * g, fr: w * f * r, gr: w * g * r}
		upTo[i+1] = upTo[i]
		upTo[i+1].add(m)
		if x.turn < 0 {
			first.add(m)
			continue
		}
		after[x.turn].add(m)
		by[l.turns[x.turn].index%l.n].add(m)
	}
	for j := len(l.turns) - 1; j >= 0; j-- {
		after[j].add(after[j+1])
	}
	after[0].ff, after[0].fr = after[0].ff+first.ff, after[0].fr+first.fr
	return after, by, upTo
}

// changes lists the turns around which the level that the header settles to changes most, at most as many as asked for.
func (l *ledger) changes(most int) []int {
	out := make([]int, len(l.turns))
	for j := range out {
		out[j] = j
	}
	if len(out) <= most {
		return out
	}
	falls := l.falls()
	slices.SortStableFunc(out, func(a, b int) int { return falling(math.Abs(falls[a]), math.Abs(falls[b])) })
	out = out[:most]
	slices.Sort(out)
	return out
}

// falling orders large values first.
func falling(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

// falls is by how much the level that the header settles to falls around every turn [Pa]; 0 where that does not show.
func (l *ledger) falls() []float64 {
	late := make([]float64, len(l.turns))
	for j := range late {
		late[j] = math.NaN()
	}
	for _, x := range l.xs {
		if x.part == 2 && x.turn >= 0 {
			late[x.turn] = x.level
		}
	}
	near := func(from, to int) float64 {
		var v []float64
		for j := max(0, from); j <= min(to, len(late)-1); j++ {
			if !math.IsNaN(late[j]) {
				v = append(v, late[j])
			}
		}
		if len(v) == 0 {
			return math.NaN()
		}
		return nth(v, len(v)/2)
	}
	out := make([]float64, len(late))
	for j := range out {
		if d := near(j-4, j-1) - near(j+1, j+4); !math.IsNaN(d) {
			out[j] = d
		}
	}
	return out
}

// nth is the k-th smallest of v, which it rearranges.
func nth(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		mid := v[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for v[i] < mid {
				i++
			}
			for v[j] > mid {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
