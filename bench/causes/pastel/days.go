package pastel

import "math"

const (
	slotTime = 600.0 // [s]
	perDay   = int(day / slotTime)
	lead     = 4 // days simulated before the log begins, Thursday to Sunday
)

// slot is ten minutes of the plant around the machine. Stories change slots; multiples are of what is usual.
type slot struct {
	run                        bool
	dust, cake, loose          float64 // dust at the hoods; drag of its cake; how well it comes off
	open, line, set            float64 // damper; multiples of shop air and of the regulator's setting
	low, high                  float64 // set points [Pa]
	kelvin, humid, baro        float64
	density, thick             float64 // share of standard air's density; viscosity over that at 20 degC
	downtime                   int     // cleaning cycles after a stop
	renewed, renewedAft, taken bool    // new filters, new after-filter, the bin is emptied whatever is in it
	gap                        bool    // nothing is logged
}

// calendar is the plant's way of working.
type calendar struct {
	from, length         float64 // of the day's work [h]
	weekdays             int
	lunch                bool
	products             [][3]float64 // dust, cake, loose
	batch                float64      // mean length [h]
	warm, swing, humid   float64
	users, rough, faults float64 // sag of the shop air in the day; scatter of the dust; stops a day
}

func newCalendar(l luck) calendar {
	c := calendar{from: math.Round(6*l.in(5, 8)) / 6, length: pick(l, 8.0, 8.5, 9, 10, 16, 16, 22), weekdays: pick(l, 5, 5, 5, 6, 7),
		lunch: l.once(0.25), batch: l.octaves(2, 80), warm: l.in(279, 303), swing: l.in(1, 8), humid: l.in(0.35, 0.65),
		users: l.octaves(0.005, 0.04), rough: l.in(0.05, 0.35), faults: l.in(0, 0.5)}
	if l.once(0.2) {
		c.length, c.weekdays = 24, 7
	}
	for range 1 + l.IntN(4) {
		c.products = append(c.products, [3]float64{l.octaves(0.6, 1.4), l.octaves(0.87, 1.15), l.octaves(0.95, 1.05)})
	}
	return c
}

// works tells whether the plant works in a slot; day 4 is a Monday.
func (c *calendar) works(i int) bool {
	weekday, clock := (i/perDay+3)%7, float64(i%perDay)/6
	if c.length >= 24 {
		return true
	}
	if clock < c.from { // the night shift belongs to the day before
		weekday, clock = (weekday+6)%7, clock+24
	}
	if weekday >= c.weekdays || clock >= c.from+c.length {
		return false
	}
	return !c.lunch || clock < c.from+4 || clock >= c.from+4.5
}

// write lays out the slots of so many days for a machine to which nothing happens.
func (c *calendar) write(l luck, p *plant, days int) []slot {
	out := make([]slot, (lead+days)*perDay)
	product, batch := c.products[0], 0.0
	mood, warm, damp, baro := 0.0, 0.0, 0.0, 0.0
	down := 0
	for i := range out {
		s := &out[i]
		clock := float64(i%perDay) / 6
		if batch -= 1.0 / 6; batch <= 0 {
			product, batch = pick(l, c.products...), c.batch*l.ExpFloat64()
		}
		mood = 0.9*mood + c.rough*0.44*l.NormFloat64()
		warm, damp, baro = 0.998*warm+0.2*l.NormFloat64(), 0.997*damp+0.008*l.NormFloat64(), 0.999*baro+25*l.NormFloat64()
		if down--; down < 0 && l.once(c.faults/float64(perDay)) {
			down = 1 + l.IntN(9)
		}
		works := c.works(i)
		*s = slot{run: works && down <= 0, dust: product[0] * math.Exp(mood), cake: product[1], loose: product[2], open: p.open,
			line: 1, set: 1, low: p.low, high: p.high, downtime: p.downtime}
		if works {
			s.line = 1 - c.users*(1+0.5*l.NormFloat64())
		}
		s.kelvin = c.warm + warm + c.swing*math.Sin(2*math.Pi*(clock-9)/24)
		s.humid = min(0.97, max(0.12, c.humid+damp-0.025*(s.kelvin-c.warm)))
		s.baro = atmosphere*p.air() + baro
		s.density = s.baro / (287.05 * s.kelvin * (1 + 0.003*s.humid)) / standardAir
		s.thick = math.Pow(s.kelvin/293.15, 0.7)
	}
	return out
}

// story is something that happens at a plant without anything being wrong.
type story struct {
	name string
	tell func(l luck, part []slot) // from a time on to the end
}

// during applies a change to slots for some days.
func during(l luck, part []slot, from, to float64, change func(s *slot)) {
	n := min(len(part), int(l.in(from, to)*float64(perDay)))
	for i := range part[:n] {
		change(&part[i])
	}
}

var stories = []story{
	{"heavy week", func(l luck, part []slot) {
		more := l.in(1.3, 2)
		during(l, part, 3, 9, func(s *slot) { s.dust *= more })
	}},
	{"slack weeks", func(l luck, part []slot) {
		less := l.in(0.3, 0.7)
		during(l, part, 5, 20, func(s *slot) { s.dust *= less })
	}},
	{"new filters", func(_ luck, part []slot) { part[0].renewed = true }},
	{"set points moved", func(l luck, part []slot) {
		by := pick(l, -1.0, 1) * l.in(50, 130)
		during(l, part, 400, 401, func(s *slot) { s.low, s.high = s.low+by, s.high+by })
	}},
	{"damper trimmed", func(l luck, part []slot) {
		to := pick(l, 1.0, 1, -1)*l.in(0.02, 0.05) + part[0].open
		during(l, part, 400, 401, func(s *slot) { s.open = to })
	}},
	{"wet weather", func(l luck, part []slot) {
		wet, sticks := l.in(0.1, 0.3), l.in(1, 1.15)
		during(l, part, 2, 8, func(s *slot) { s.humid, s.cake = min(0.97, s.humid+wet), s.cake*sticks })
	}},
	{"cold spell", func(l luck, part []slot) {
		by := pick(l, -1.0, -1, 1) * l.in(5, 11)
		during(l, part, 4, 15, func(s *slot) {
			s.density, s.kelvin = s.density*s.kelvin/(s.kelvin+by), s.kelvin+by
		})
	}},
	{"regulator turned", func(l luck, part []slot) {
		to := pick(l, l.in(0.9, 0.95), l.in(1.05, 1.1))
		during(l, part, 400, 401, func(s *slot) { s.set *= to })
	}},
	{"holiday", func(l luck, part []slot) { during(l, part, 3, 12, func(s *slot) { s.run = false }) }},
	{"overtime", func(l luck, part []slot) { during(l, part, 2, 6, func(s *slot) { s.run = true }) }},
	{"after-filter changed", func(_ luck, part []slot) { part[0].renewedAft = true }},
	{"cleaning after shutdown", func(l luck, part []slot) {
		n := 1 + l.IntN(4)
		during(l, part, 400, 401, func(s *slot) { s.downtime = n })
	}},
	{"thirsty neighbour", func(l luck, part []slot) { // another user on the shop air
		less := l.in(0.92, 0.98)
		during(l, part, 400, 401, func(s *slot) { s.line *= less })
	}},
	{"log outage", func(l luck, part []slot) { during(l, part, 0.1, 5, func(s *slot) { s.gap = true }) }},
	{"bin emptied early", func(_ luck, part []slot) { part[0].taken = true }},
}
