package draft

import (
	"math"
	"math/rand/v2"
)

// recipe is what a batch does to the collector.
type recipe struct {
	dust   float64 // over the usual
	warm   float64 // [K]
	gate   float64 // resistance of the ducts with the gates this recipe opens
	sticky float64 // grip of its dust over the usual
}

// stint is a stretch in which fan and recipe stay as they are.
type stint struct {
	from, to float64 // [s]
	fan      bool
	recipe
}

// rota is how a plant works.
type rota struct {
	start, shifts, week float64 // hour of the first shift, shifts a day, days a week
	stops               bool    // the fan stops between batches
	batch, pause        float64 // usual lengths [s]
	recipes             []recipe
}

func newRota(r *rand.Rand) rota {
	w := rota{start: float64(5 + r.IntN(4)), shifts: oneOf(r, 1.0, 1, 2, 2, 3), week: oneOf(r, 5.0, 5, 6, 7), stops: r.Float64() < 0.2,
		batch: logBetween(r, 1200, 14400), pause: logBetween(r, 200, 2400)}
	sum := 0.0
	for range 2 + r.IntN(4) {
		w.recipes = append(w.recipes, recipe{logBetween(r, 0.35, 1.9), between(r, -3, 10), between(r, 0.9, 1.15), between(r, 0.92, 1.1)})
		sum += w.recipes[len(w.recipes)-1].dust
	}
	for i := range w.recipes {
		w.recipes[i].dust *= float64(len(w.recipes)) / sum
	}
	return w
}

// stints lays out days of work. The log begins at midnight of a day of the week.
func (w rota) stints(r *rand.Rand, days int, first int, s *story) []stint {
	var out []stint
	last := 0.0
	add := func(to float64, fan bool, c recipe) {
		if to > last {
			out = append(out, stint{last, to, fan, c})
			last = to
		}
	}
	for d := range days + 1 {
		begin := 86400*float64(d) + 3600*w.start + 240*r.Float64()
		shifts, idle := w.shifts, s.during("shutdown", begin)
		if s.during("shift pattern", begin) {
			shifts = s.value
		}
		end := begin + shifts*28800 - 900*r.Float64()
		if shifts == 3 {
			end = 86400*float64(d+1) + 3600*w.start
		}
		if float64((d+first)%7) >= w.week || idle {
			continue
		}
		add(begin, false, recipe{})
		for last < end && last >= begin {
			c := w.recipes[r.IntN(len(w.recipes))]
			if s.during("new product", last) {
				c.dust, c.sticky = c.dust*s.value, 0.95*c.sticky
			}
			if s.during("heavy week", last) {
				c.dust *= s.value
			}
			add(min(end, last+w.batch*between(r, 0.6, 1.5)), true, c)
			rest := c
			rest.dust *= 0.06
			add(min(end, last+w.pause*between(r, 0.5, 2)), !w.stops, rest)
		}
	}
	add(86400*float64(days+2), false, recipe{})
	return out
}

// weather is the air outside, by the hour.
type weather struct{ warm, damp, press []float64 }

func newWeather(r *rand.Rand, p *plant, days int, s *story) *weather {
	w := &weather{}
	base, swing, season := 101325*math.Exp(-p.height/8400), between(r, 2, 6), between(r, -0.12, 0.12)
	slow, low, dampness := 0.0, 0.0, between(r, 0.35, 0.65)
	for h := range 24*days + 72 {
		slow = 0.985*slow + 0.5*r.NormFloat64()
		low = 0.99*low + 90*r.NormFloat64()
		t := p.warm + season*float64(h)/24 + slow + swing*math.Sin(2*math.Pi*float64(h-9)/24)
		rh := dampness - 0.018*(t-p.warm) + 0.02*r.NormFloat64()
		if s.during("hot spell", 3600*float64(h)) {
			t += s.value
		}
		if s.during("damp spell", 3600*float64(h)) {
			rh += 0.25
		}
		w.warm = append(w.warm, t)
		w.damp = append(w.damp, min(max(rh, 0.1), 0.97))
		w.press = append(w.press, base+low)
	}
	return w
}

// story is what happens to a machine without anything being wrong with it.
type story struct {
	name      string
	at, until float64 // [s]
	value     float64
}

// during reports that a story of this name is on.
func (s *story) during(name string, at float64) bool {
	return s.name == name && at >= s.at && at < s.until
}

// stories draws one; what is new about filters or bin is left out where it would mend or hide a trouble.
func stories(r *rand.Rand, days float64, healthy bool) *story {
	end := 86400 * days
	s := &story{at: end * between(r, 0.35, 0.93), until: end + 1e7}
	if r.Float64() < 0.15 || !healthy && r.Float64() < 0.6 {
		s.name = "quiet"
		return s
	}
	names := []string{"heavy week", "set points", "damper trimmed", "hot spell", "damp spell", "gauge drift", "gap", "shift pattern", "shutdown",
		"busy compressor", "new product", "new filters", "new filters and trim", "header set"}
	if !healthy {
		names = names[:11]
	}
	s.name = oneOf(r, names...)
	switch s.name {
	case "heavy week":
		s.value, s.until = between(r, 1.25, 1.7), s.at+86400*between(r, 4, 9)
	case "new product":
		s.value = between(r, 0.7, 1.3)
	case "hot spell":
		s.value, s.until = between(r, 5, 12)*oneOf(r, 1.0, -1), s.at+86400*between(r, 5, 12)
	case "damp spell":
		s.until = s.at + 86400*between(r, 2, 6)
	case "shift pattern":
		s.value = float64(1 + r.IntN(3))
	case "shutdown", "gap":
		s.until = min(s.at+86400*between(r, 3, 14), end-86400)
	case "set points":
		s.value = between(r, 0.1, 0.28) * oneOf(r, 1.0, 1, -0.3)
	case "damper trimmed":
		s.value = between(r, 1.06, 1.2) * oneOf(r, 1, 1, 0.8)
	case "busy compressor":
		s.value, s.until = between(r, 1.3, 2), s.at+86400*between(r, 5, 30)
	case "gauge drift":
		s.value = between(r, 40, 150) * oneOf(r, 1.0, -1)
	case "header set":
		s.value = between(r, 0.9, 1.12)
	}
	return s
}
