package stencil

import (
	"math"
	"math/rand/v2"
)

// shift is when a shop works.
type shift struct {
	from, hours float64 // hour of the day, and how long
	week        int     // days a week
	lunch       bool    // the fan is stopped for half an hour
	late        float64 // chance of overtime on a Saturday
	forgets     float64 // chance that the fan is left on for the night
}

// newShift draws the hours of a shop.
func newShift(r *rand.Rand) shift {
	h := shift{from: 6 + float64(r.IntN(3)), hours: 8 + 2*r.Float64(), week: 5, lunch: r.Float64() < 0.4,
		late: 0.3 * r.Float64(), forgets: 0.04 * r.Float64()}
	switch u := r.Float64(); {
	case u < 0.3:
		h.from, h.hours = 5.5, 16.5
	case u < 0.42:
		h.from, h.hours, h.lunch = 0, 24, false
	case u < 0.5:
		h.from, h.hours, h.week, h.lunch = 0, 24, 7, false
	case u < 0.6:
		h.week = 6
	}
	return h
}

// perWeek is the running time in a week [h].
func (h shift) perWeek() float64 { return h.hours * float64(h.week) }

// stretch is a time in which the fan runs [s since the start].
type stretch struct{ from, to float64 }

// day is the running of one day; it depends on nothing but the seed and the day. Weekends are days 5 and 6.
func (h shift) day(seed uint64, d int, extra float64) []stretch {
	r := rand.New(rand.NewPCG(seed, uint64(d)+7000))
	weekday := d % 7
	works := weekday < h.week
	from, hours := h.from+0.2*r.NormFloat64(), h.hours+0.4*r.NormFloat64()+extra
	over, night := r.Float64(), r.Float64()
	if !works && weekday == 5 && over < h.late {
		works, hours = true, min(hours, 6)
	}
	if !works {
		return nil
	}
	base := float64(d) * 86400
	if h.hours >= 24 {
		return []stretch{{base, base + 86400}}
	}
	if night < h.forgets {
		hours = 24 - h.from
	}
	from = max(0, from)
	to := min(24, from+max(2, hours))
	if h.lunch {
		noon := from + (to-from)/2
		return []stretch{{base + from*3600, base + noon*3600}, {base + (noon+0.5)*3600, base + to*3600}}
	}
	return []stretch{{base + from*3600, base + to*3600}}
}

// weather is the air of one hour.
type weather struct {
	temperature, humidity, barometer float64 // [K], [0..1], [Pa]
	density                          float64 // [kg/m3]
}

// sky is the weather of a whole log, an hour each.
func (w *world) sky() []weather {
	r := rand.New(rand.NewPCG(w.seed, 41))
	n := int(w.days*24) + 3
	out := make([]weather, n)
	climate := 281 + 12*r.Float64()
	season, swing, indoors := 9+5*r.Float64(), 2+4*r.Float64(), 0.3+0.6*r.Float64()
	wet := 0.45 + 0.25*r.Float64()
	front, rain, glass := 0.0, 0.0, 0.0
	for i := range out {
		t := float64(i) / 24
		front += -front/80 + 0.45*r.NormFloat64()
		rain += -rain/40 + 0.02*r.NormFloat64()
		glass += -glass/100 + 70*r.NormFloat64()
		hot, damp := w.tale.weather(t)
		outside := climate - season*math.Cos(2*math.Pi*(w.yearDay+t-20)/365) - swing*math.Cos(2*math.Pi*(t-0.13)) + front + hot
		inside := outside + indoors*max(0, 291-outside)
		humid := wet + rain + damp - 0.012*(outside-climate) - 0.008*(inside-outside)
		p := 101325*math.Exp(-w.elevation/8430) + glass
		out[i] = weather{inside, min(0.98, max(0.12, humid)), p, p / (287.05 * inside)}
	}
	return out
}
