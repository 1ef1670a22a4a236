package judge

import (
	"math"
	"strings"
	"time"

	"dustwright/sense"
)

// What goes for an onset. Chosen on odd seeds of the simulators of bench/causes, which prints how far off it is.
const (
	owedLeast  = 0.7            // log odds that the cause must owe to a quantity before its onset counts,
	owedShare  = 0.4            // and share of what it owes to the quantity to which it owes most
	slideTrust = 0.6            // a slide that ended counts by that
	stepEarly  = 12 * time.Hour // a step shows in daily values later than the trouble began: its interval begins earlier by this,
	stepShare  = 0.15           // and by this share of the time since
	freshOwed  = 1              // log odds owed to the last hours of running that tell of a trouble too young for a step
	freshMost  = 60 * time.Hour // how long ago such a trouble began at most,
	freshUsual = 18 * time.Hour // and most likely
)

// begun is when something began, with its 90 % interval.
type begun struct{ at, from, to time.Time }

// since returns when the trouble began; zero where none, or not known. It is the onset found in the quantity to which the
// likeliest cause owes most; where none of those that count has one and the last hours alone tell of it, it is young. What a
// named valve shows bounds it.
func since(f *sense.Features, top hypothesis, seen []sight, number int) (at, from, to time.Time) {
	if top.cause == None {
		return
	}
	owed := top.groups(seen)
	if v, told := byValve(f, number); told {
		b, ok := byQuantity(f, owed, owedLeast)
		b = v.narrowed(b, ok)
		return b.at, b.from, b.to
	}
	least := owedLeast
	for _, w := range owed {
		least = math.Max(least, owedShare*w)
	}
	b, ok := byQuantity(f, owed, least)
	if !ok && top.owesFresh(seen) >= freshOwed {
		b = begun{f.At.Add(-freshUsual), f.At.Add(-freshMost), f.At}
	}
	return b.at, b.from, b.to
}

// byValve is the time between the last drop of the header that a valve made and the first row in which it failed to.
func byValve(f *sense.Features, number int) (begun, bool) {
	for _, v := range f.Valves {
		if number == 0 || v.Valve != number || v.Since.IsZero() {
			continue
		}
		b := begun{v.Since, v.Since, v.Since}
		if !v.LastDrop.IsZero() && v.LastDrop.Before(v.Since) {
			b.from = v.LastDrop
		}
		return b, true
	}
	return begun{}, false
}

// narrowed is a valve's interval, narrowed by the onset of a quantity that lies within it.
func (b begun) narrowed(by begun, known bool) begun {
	if !known || by.at.Before(b.from) || by.at.After(b.to) {
		return b
	}
	out := b
	out.at = by.at
	if by.from.After(b.from) {
		out.from = by.from
	}
	if by.to.Before(b.to) {
		out.to = by.to
	}
	return out
}

// byQuantity is the onset found in the quantity to which the cause owes most, and at least so much.
func byQuantity(f *sense.Features, owed map[string]float64, least float64) (b begun, ok bool) {
	most := 0.0
	for i := range quantities {
		k := &quantities[i]
		o, w := f.Get(k.q).Onset, owed[string(k.key)]
		if !o.Found || w < least {
			continue
		}
		if o.Kind == "slide" {
			w *= slideTrust
		}
		if w > most {
			most, b, ok = w, begun{o.At, o.From, o.To}, true
			if o.Kind == "step" {
				b.from = b.from.Add(-stepEarly - time.Duration(stepShare*float64(max(0, f.At.Sub(o.At)))))
			}
			if b.to.After(f.At) {
				b.to = f.At
			}
		}
	}
	return b, ok
}

// owesFresh is what the cause owes to the last hours of running alone.
func (h *hypothesis) owesFresh(seen []sight) (sum float64) {
	for i, s := range seen {
		if strings.HasSuffix(string(s.key), fresh) {
			sum += h.each[i]
		}
	}
	return sum
}
