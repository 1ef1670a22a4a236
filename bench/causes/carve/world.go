package carve

import (
	"math"
	"math/rand/v2"
	"slices"
)

const day = 86400.0

// moment is what the process and the weather bring in one row, whatever the machine does.
type moment struct {
	at   int64   // end of the row [unix ns]
	span float64 // since the row before [s]
	on   bool
	work float64 // dust made, over full work
	open float64 // conductance of the open hoods [m3/s/Pa^0.5]
	temp float64 // at the filters [K]
	wet  float64 // relative humidity
	baro float64 // [Pa]
	line float64 // supply pressure [Pa]
}

// times are the hours of the day and the days of the week a calendar works.
func times(calendar string) (from, to float64, days int) {
	switch calendar {
	case "one":
		return 6.5, 15.5, 5
	case "two":
		return 6, 22, 5
	case "three":
		return 0, 24, 5
	}
	return 0, 24, 7
}

// habits are how a plant works from day to day.
type habits struct {
	r        *rand.Rand
	p        *plant
	calendar string
	early    float64 // shift of the hours
	idle     bool    // the fan runs on through nights
	breaks   bool
	burst    [2]float64 // length of a burst of dust and of the pause after it [s]; zero: none
	left     float64    // of the phase that goes on [s]
	dusty    bool
	gates    []bool
	move     float64 // mean time until a gate is moved [s]; zero: never
	base     int     // days from 1970 to the Monday that times count from
	today    int
	level    float64 // of production, this day
	holiday  bool
	overtime bool
	season   float64 // day of the year at the first row
	warm     [3]float64
	front    float64    // weather's wandering
	press    float64    // barometer's
	sag      [3]float64 // hour, length [h], depth [Pa] of the daily sag of the line
	restless float64    // wandering of the line [Pa]
	lineNow  float64
	quiet    float64 // share of dust in quiet hours
}

// newHabits draws them.
func newHabits(r *rand.Rand, p *plant, base int) *habits {
	h := &habits{r: r, p: p, calendar: p.calendar, early: between(r, -1, 1), idle: r.Float64() < 0.18, breaks: r.Float64() < 0.6,
		base: base, today: -1, level: 1, season: 365 * r.Float64(), press: 101325 * math.Exp(-p.height/8430), quiet: between(r, 0.3, 0.9)}
	if r.Float64() < p.batch {
		h.burst = [2]float64{spread(r, 300, 2400), spread(r, 300, 5400)}
	}
	h.gates = make([]bool, len(p.hoods))
	for i := range h.gates {
		h.gates[i] = true
	}
	if len(p.hoods) > 1 && r.Float64() < 0.7 {
		h.move = spread(r, 1200, 20000)
		for range 40 { // the log begins in the middle of it
			h.turn()
		}
	}
	h.warm = [3]float64{between(r, 284, 297), between(r, 2, 11), between(r, 1, 5)}
	if r.Float64() < 0.6 {
		h.sag = [3]float64{between(r, 5, 16), between(r, 0.5, 4), (p.line - p.set) * between(r, 0.3, 1.15)}
	}
	h.restless = (p.line - p.set) * between(r, 0.02, 0.2)
	return h
}

// next is the row that ends at a time [s], which is so long [s].
func (h *habits) next(t, span float64, s *story) moment {
	hour, dayNo := math.Mod(t, day)/3600, int(t/day)+h.base
	if dayNo != h.today {
		h.newDay(dayNo)
	}
	m := moment{span: span}
	calendar := h.calendar
	if s.name == "shift change" && t > s.from {
		calendar = s.calendar
	}
	from, to, days := times(calendar)
	inside := to-from >= 24 || hour >= from+h.early && hour < to+h.early
	working := (dayNo+3)%7 < days && !h.holiday || h.overtime && hour > 7 && hour < 13
	if s.name == "shutdown" && s.in(t) {
		working = false
	}
	shift := working && inside
	m.on = shift || h.idle && working
	dust := h.dust(span)
	if shift {
		m.work = h.level * dust
		if h.breaks && (int(hour*4) == int((from+h.early+4)*4) || calendar != "one" && int(hour*4) == int((from+h.early+12)*4)) {
			m.work *= 0.1
		}
		if to-from >= 24 && (hour < 6 || hour > 22) {
			m.work *= h.quiet
		}
	}
	m.open = h.hoodsOpen(span, shift, s, t)
	h.weather(&m, t, span, s)
	h.supply(&m, hour, span, s, t)
	m.work *= s.times(t, "heavy week")
	return m
}

// newDay draws what holds for a day.
func (h *habits) newDay(n int) {
	h.today = n
	h.level = math.Exp(0.6*math.Log(h.level) + 0.13*h.r.NormFloat64())
	h.holiday = h.r.Float64() < 0.015
	h.overtime = (n+3)%7 == 5 && h.r.Float64() < 0.2
}

// dust is the share of a stretch in which the process makes dust, going on from burst to pause.
func (h *habits) dust(span float64) float64 {
	if h.burst[0] == 0 {
		return math.Exp(0.1 * h.r.NormFloat64())
	}
	sum, left := 0.0, span
	for left > 0 {
		if h.left <= 0 {
			h.dusty = !h.dusty
			h.left = h.burst[1] * between(h.r, 0.5, 1.6)
			if h.dusty {
				h.left = h.burst[0] * between(h.r, 0.7, 1.3)
			}
		}
		d := min(left, h.left)
		if h.dusty {
			sum += d
		}
		h.left -= d
		left -= d
	}
	return sum / span * min(3, 1+0.5*h.burst[1]/h.burst[0])
}

// hoodsOpen moves gates, and gives the open hoods' conductance. Closed gates leak a little. A story
// takes the smallest hood out of use for good.
func (h *habits) hoodsOpen(span float64, shift bool, s *story, t float64) float64 {
	if h.move > 0 && shift && h.r.Float64() < 1-math.Exp(-span/h.move) {
		h.turn()
	}
	sum := 0.0
	for i, g := range h.p.hoods {
		open := 0.06
		if h.gates[i] {
			open = 1
		}
		if s.name == "hood taken out" && t > s.from && len(h.gates) > 2 && g == slices.Min(h.p.hoods) {
			open = 0.02
		}
		sum += open * g
	}
	return sum
}

// turn opens or closes one gate, but three fifths of the hoods stay open, as the duct must keep its air.
func (h *habits) turn() {
	i := h.r.IntN(len(h.gates))
	open, all := 0.0, 0.0
	for k, g := range h.p.hoods {
		all += g
		if h.gates[k] && k != i {
			open += g
		}
	}
	h.gates[i] = !h.gates[i] || open < 0.6*all
}

// weather follows the season, the day and the front.
func (h *habits) weather(m *moment, t, span float64, s *story) {
	keep := math.Exp(-span / (1.5 * day))
	h.front = keep*h.front + math.Sqrt(1-keep*keep)*h.r.NormFloat64()
	year, hour := 2*math.Pi*(h.season+t/day)/365, 2*math.Pi*(t/day-0.4)
	m.temp = h.warm[0] - h.warm[1]*math.Cos(year) + h.warm[2]*math.Sin(hour) + 2*h.front
	if m.on {
		m.temp += h.p.heat
	}
	m.wet = 0.58 + 0.14*math.Cos(year) - 0.02*h.warm[2]*math.Sin(hour) + 0.12*h.front - 0.012*h.p.heat
	if s.name == "humid spell" && s.in(t) {
		m.wet += s.much
	}
	if s.name == "hot days" && s.in(t) {
		m.temp += 40 * s.much
		m.wet -= 0.4 * s.much
	}
	m.wet = min(0.98, max(0.12, m.wet))
	m.baro = h.press - 700*h.front
}

// supply is the pressure of the shared line.
func (h *habits) supply(m *moment, hour, span float64, s *story, t float64) {
	keep := math.Exp(-span / 1800)
	h.lineNow = keep*h.lineNow + math.Sqrt(1-keep*keep)*h.r.NormFloat64()*h.restless
	m.line = h.p.line + h.lineNow
	if h.sag[2] > 0 && hour > h.sag[0] && hour < h.sag[0]+h.sag[1] {
		m.line -= h.sag[2]
	}
	if s.name == "new user on the line" && t > s.from && int(hour/s.hours)%3 == 0 {
		m.line -= (h.p.line - h.p.set) + 0.2*s.much*h.p.set
	}
	m.line = max(m.line, 1.5e5)
}

// story is what happens to a machine without anything being wrong.
type story struct {
	name        string
	from, until float64 // [s]
	much        float64
	hours       float64
	calendar    string
}

// stories are their names.
var stories = []string{"heavy week", "new filters", "set points", "damper trimmed", "humid spell", "hot days", "slow drift", "gap",
	"shift change", "shutdown", "new user on the line", "hood taken out", "other product", "late drum", "hand cleaning", "quiet"}

func (s *story) in(t float64) bool { return t >= s.from && t < s.until }

// times is by how much more dust there is.
func (s *story) times(t float64, name string) float64 {
	if s.name == name && s.in(t) {
		return 1 + s.much
	}
	return 1
}

// newStory draws one over a log of so many days.
func newStory(r *rand.Rand, days float64, calendar string) *story {
	s := &story{name: stories[r.IntN(len(stories))], from: days * day * between(r, 0.3, 0.96), much: between(r, 0.15, 0.45)}
	s.until = s.from + day*between(r, 4, 9)
	s.hours = between(r, 2, 5)
	others := slices.DeleteFunc([]string{"one", "two", "three", "always"}, func(c string) bool { return c == calendar })
	s.calendar = others[r.IntN(len(others))]
	return s
}
