package stencil

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// tale is what happens to a machine without anything being wrong with it.
type tale struct {
	name        string
	at, until   float64 // [days since the start]
	value       float64
	second      float64
	tinker      []touch
	gaps        []stretch // in which nothing was logged [days]
	dirtiesFlow float64   // share of the pitot's reading lost in ten days
}

// touch is something an operator did on his own.
type touch struct {
	at   float64 // [days]
	what int     // 0 interval, 1 damper, 2 shake by hand
	by   float64
}

// newTale draws a story, or quiet times; the small habits of a shop come on top.
func newTale(r *rand.Rand, days float64, wants bool) tale {
	t := tale{name: "quiet", at: days * (0.35 + 0.6*r.Float64())}
	t.until = t.at + 4 + 8*r.Float64()
	u, v := r.Float64(), r.NormFloat64()
	which := r.IntN(13)
	for range r.IntN(4) {
		t.tinker = append(t.tinker, touch{days * r.Float64(), r.IntN(3), r.Float64()})
	}
	slices.SortFunc(t.tinker, func(a, b touch) int { return cmp.Compare(a.at, b.at) })
	for range r.IntN(3) {
		from := days * r.Float64()
		t.gaps = append(t.gaps, stretch{from, from + 0.05 + 1.2*r.Float64()*r.Float64()})
	}
	if r.Float64() < 0.5 {
		t.dirtiesFlow = 0.02 * r.Float64()
	}
	if !wants {
		return t
	}
	t.name = []string{"heavy week", "new filters", "set points", "damper trimmed", "hot weather", "damp weather", "drift", "gap",
		"more shifts", "shutdown", "shared compressor", "other hoods", "interval"}[which]
	switch t.name {
	case "heavy week":
		t.value = 1.25 + 0.55*u
	case "set points":
		t.value, t.second = 40+110*u, 60+90*u
		if v < 0 {
			t.value, t.second = -0.5*t.value, -0.4*t.second
		}
	case "damper trimmed":
		t.value = 0.05 + 0.09*u
		if v < 0 {
			t.value = -0.7 * t.value
		}
	case "hot weather":
		t.value = 9 * v
	case "damp weather":
		t.value = 0.12 + 0.2*u
	case "drift":
		t.value = 60 * v
	case "gap":
		t.gaps = append(t.gaps, stretch{t.at, t.at + 1 + 3*u})
	case "more shifts":
		t.value, t.until = 2+4*u, days
	case "shared compressor":
		t.value, t.until = 0.25+0.45*u, days
	case "other hoods":
		t.value, t.until = 0.1+0.25*u, days
		if v < 0 {
			t.value = -t.value
		}
	}
	return t
}

// within reports that the story of that name goes on.
func (t *tale) within(name string, day float64) bool {
	return t.name == name && day >= t.at && day < t.until
}

// weather is what a story adds to temperature [K] and humidity.
func (t *tale) weather(day float64) (hot, wet float64) {
	if t.within("hot weather", day) {
		hot = t.value
	}
	if t.within("damp weather", day) {
		wet = t.value
	}
	return hot, wet
}

// shared is how much of the spare line pressure others take more than before.
func (t *tale) shared(day float64) float64 {
	if t.within("shared compressor", day) {
		return t.value
	}
	return 0
}

// act does what is due on the machine.
func (w *world) act(day float64) {
	t := &w.tale
	for len(t.tinker) > 0 && t.tinker[0].at <= day {
		x := t.tinker[0]
		t.tinker = t.tinker[1:]
		switch x.what {
		case 0:
			w.gap *= 0.75 + 0.6*x.by
		case 1:
			w.damper = min(1, max(0.15, w.damper+0.05*(x.by-0.5)))
		case 2:
			for i := range w.cloth {
				w.falls += w.puff(&w.cloth[i], 1.5, 0)
			}
		}
	}
	if w.uneasy && w.manned && w.gauge.sees > w.most && day > w.shaken+0.8 { // they see the needle in the red, and shake
		w.shaken = day
		for i := range w.cloth {
			w.falls += w.puff(&w.cloth[i], 0.5, 0)
		}
	}
	if w.told || day < t.at {
		return
	}
	w.told = true
	switch t.name {
	case "new filters":
		w.renew()
	case "set points":
		w.lo, w.hi = max(80, w.lo+t.value), w.hi+t.value+t.second
	case "damper trimmed":
		w.damper = min(1, max(0.15, w.damper+t.value))
		w.held *= 1 + t.value
	case "interval":
		w.gap *= []float64{0.6, 0.7, 1.5, 1.8}[int(w.seed%4)]
	}
}
