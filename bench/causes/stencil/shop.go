package stencil

import (
	"math"
	"math/rand/v2"
)

// trade is a kind of work and the dust it makes.
type trade struct {
	service, dust string
	loading       [2]float64 // dust in the air at design flow [g/m3]
	face          [2]float64 // filtration velocity at design flow [m/s]
	bulk          [2]float64 // of the dust in the bin [kg/m3]
	power         [2]float64 // exponent of the cake's drag over its load
	hygro         float64    // how much damp air acts on the cake, 0 to 1
	fine          float64    // penetration through bare media
	hoods         [2]int
}

// trades are those of small and middling shops.
var trades = []trade{
	{"Welding bays", "welding fume", [2]float64{0.05, 0.25}, [2]float64{0.0062, 0.0098}, [2]float64{350, 700}, [2]float64{0.7, 0.95}, 0.35, 0.012, [2]int{3, 9}},
	{"Sanding tables", "wood sanding dust", [2]float64{0.3, 1.2}, [2]float64{0.010, 0.018}, [2]float64{180, 320}, [2]float64{0.8, 1.1}, 0.7, 0.004, [2]int{2, 8}},
	{"Cutting table", "steel cutting fume", [2]float64{0.2, 0.8}, [2]float64{0.0065, 0.0099}, [2]float64{700, 1300}, [2]float64{0.75, 1}, 0.25, 0.008, [2]int{2, 5}},
	{"Blast cabinets", "blasting grit and rust", [2]float64{0.6, 2.5}, [2]float64{0.012, 0.019}, [2]float64{1100, 1900}, [2]float64{0.9, 1.25}, 0.15, 0.003, [2]int{1, 4}},
	{"Feed intake", "feed meal", [2]float64{0.8, 3}, [2]float64{0.012, 0.019}, [2]float64{420, 640}, [2]float64{0.85, 1.2}, 1, 0.003, [2]int{2, 6}},
	{"Powder weighing", "mineral powder", [2]float64{0.3, 1.6}, [2]float64{0.009, 0.015}, [2]float64{500, 1000}, [2]float64{0.7, 1.1}, 0.5, 0.005, [2]int{2, 6}},
}

// root3 is the square root of three, for the power of three phases.
const root3 = 1.7320508

// drive is how the fan is driven.
type drive int

const (
	belt     drive = iota
	speed          // a frequency converter at a held speed
	pressure       // a frequency converter that holds the static pressure at the collector's inlet
)

// shop is one machine as it stands, with everything that does not change by itself.
type shop struct {
	trade
	design, area float64 // [m3/s], [m2]
	rows, per    int
	elevation    float64 // [m]
	gram         float64 // dust at design flow [g/m3]
	heap         float64 // bulk density [kg/m3]

	media             float64 // drag of new media [Pa s/m]
	tired             float64 // drag that old media have beyond it at the log's first row
	root              float64 // permanent drag after the dust of one year
	year              float64 // dust of one year on a square metre [g]
	fed               float64 // dust fed to a square metre before the log's first row [g]
	coef, n, squeeze  float64 // of the cake's drag: over its load to the power n, and over the dP
	grip              float64 // share of patches that a full pulse bares, at most
	back              float64 // share of what falls that goes back on the cloth
	drive             drive
	knee, rest, curve float64 // fan: flow at no pressure [m3/s], pressure at no flow [Pa], exponent
	watt, bend, idle  float64 // shaft power at design flow [W], and the shape of its curve
	suction           float64 // at the inlet at design flow [Pa]
	main              float64 // share of that taken by the main duct, the rest by the branches
	open              int     // hoods open at design
	shut              float64 // share of a hood's conductance that a closed gate leaves
	wide, slope       float64 // loss of the open damper at design flow [Pa], and how it grows as it closes
	trim              float64 // its position at the log's first row
	after             float64 // clean after-filter at design flow [Pa], 0 for none
	afterOld          float64 // what it has gathered at the first row [Pa]
	volts, full, magn float64 // motor [V], full-load and magnetising current [A]
	rated             float64 // motor power [W]

	tank, set, line  float64 // header [m3], regulator and shop line [Pa gauge]
	refill, bleed    float64 // time constant of the hose [s], own leaks [1/s]
	dip              float64 // share of the absolute header pressure a pulse takes
	onTime, interval float64 // [s]
	sag              float64 // how much the shop takes off its line by day [Pa]
	nightOff         bool    // the compressor is switched off after the shift

	mode      string
	low, high float64 // set points [Pa]
	most      float64 // max dP of the filters [Pa]
	stops     int     // downtime cycles
	bin       float64 // [m3]
	every     float64 // days between emptyings
	hours     shift
	days      float64
}

// between draws evenly between two figures.
func between(r *rand.Rand, b [2]float64) float64 { return b[0] + (b[1]-b[0])*r.Float64() }

// pick draws one of some.
func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// newShop draws a machine whose parts suit one another.
func newShop(r *rand.Rand, days float64) *shop {
	s := &shop{trade: trades[r.IntN(len(trades))], days: days, rows: 2 + r.IntN(9), per: pick(r, 1, 1, 1, 2, 2, 3)}
	s.design = 0.4 * math.Exp(2.3*r.Float64())
	s.elevation = pick(r, 20.0, 90, 210, 380, 620, 900) + 80*r.Float64()
	face := between(r, s.face)
	s.area = s.design / face
	s.rows = max(min(s.rows, int(s.area/8)), 2, int(s.area/65)+1) // a valve cleans 8 to 65 m2
	s.gram, s.heap = between(r, s.loading), between(r, s.bulk)
	s.hours = newShift(r)
	s.cloth(r, face)
	s.wind(r)
	s.bottle(r)
	s.keeping(r, face)
	return s
}

// cloth draws filters: plain, nano, or old ones with a high base from the start.
func (s *shop) cloth(r *rand.Rand, face float64) {
	s.media = (100 + 110*r.Float64()) / face
	s.year = s.gram * face * s.hours.perWeek() * 3600 * 52 * 0.6
	rise := 180 + 320*r.Float64()
	age := 1.3 * r.Float64() * r.Float64()
	s.grip = 0.5 + 0.35*r.Float64()
	switch u := r.Float64(); {
	case u < 0.3: // nano layer: less goes in, more lets go
		s.media *= 1.15
		rise *= 0.45
		s.grip = min(0.9, s.grip+0.12)
	case u < 0.5: // old media
		s.tired = (120 + 380*r.Float64()) / face
		age += 0.8
	case u < 0.68: // commissioning
		age = 0
	}
	s.root, s.fed = rise/face, age*s.year
	s.n = between(r, s.power)
	s.squeeze = 0.15 + 0.4*r.Float64()
	hours := 0.6 * math.Exp(2.6*r.Float64())
	s.coef = 300 / (face * math.Pow(s.gram*face*3600*hours*0.6, s.n))
	s.back = 0.05 + 0.2*r.Float64()
}

// wind draws fan, ducts, damper and motor: with the damper open the fan holds design flow up to the filters' max dP.
func (s *shop) wind(r *rand.Rand) {
	s.drive = pick(r, belt, belt, belt, speed, speed, pressure)
	s.most = pick(r, 1250.0, 1500, 1500, 1500, 1750)
	s.suction, s.main = 450+600*r.Float64(), 0.25+0.4*r.Float64()
	s.wide = 60 + 110*r.Float64()
	if r.Float64() < 0.45 {
		s.after = 140 + 110*r.Float64()
		s.afterOld = 120 * r.Float64()
	}
	need := (s.suction + s.most + s.wide + 2.2*s.after) * (1.04 + 0.2*r.Float64())
	x := 0.48 + 0.14*r.Float64()
	s.curve = 1.9 + 0.8*r.Float64()
	s.knee = s.design / x
	s.rest = need / (1 - math.Pow(x, s.curve))
	s.watt = s.design * need / (0.56 + 0.12*r.Float64())
	s.idle, s.bend = 0.3+0.2*r.Float64(), 0.15+0.15*r.Float64()
	s.rated = ladder(1.12*s.power100(), 1100, 1500, 2200, 3000, 4000, 5500, 7500, 11000, 15000, 18500, 22000, 30000, 37000, 45000, 55000)
	s.volts = pick(r, 400.0, 400, 460, 480)
	s.full = s.rated / (root3 * s.volts * 0.84 * 0.9)
	s.magn = (0.25 + 0.15*r.Float64()) * s.full
	hoods := s.hoods[0] + r.IntN(s.hoods[1]-s.hoods[0]+1)
	s.hoods = [2]int{hoods, hoods}
	s.open = max(1, int(math.Round(float64(hoods)*(0.6+0.4*r.Float64()))))
	s.shut = 0.02 + 0.08*r.Float64()
}

// power100 is the most shaft power on the fan's curve [W].
func (s *shop) power100() float64 {
	most := 0.0
	for x := 0.0; x <= 1; x += 0.05 {
		most = max(most, s.shaft(x*s.knee))
	}
	return most
}

// shaft is the shaft power at a flow, at full speed and usual density [W].
func (s *shop) shaft(q float64) float64 {
	k := q / s.design
	return s.watt * (s.idle + (1-s.idle+s.bend)*k - s.bend*k*k)
}

// ladder is the least size on offer that is enough.
func ladder(need float64, sizes ...float64) float64 {
	for _, v := range sizes {
		if v >= need {
			return v
		}
	}
	return math.Ceil(need)
}

// bottle draws header, hose and the shop's compressor.
func (s *shop) bottle(r *rand.Rand) {
	s.set = pick(r, 4.5, 5, 5, 5.5, 6, 6.2) * 1e5
	s.line = s.set + (0.7+1.3*r.Float64())*1e5
	s.dip = 0.07 + 0.17*r.Float64()
	s.onTime = pick(r, 0.1, 0.12, 0.15, 0.15, 0.2)
	s.interval = pick(r, 8.0, 10, 10, 12, 15, 20, 30)
	s.tank = s.area / float64(s.rows) * (0.0011 + 0.001*r.Float64())
	take := s.dip * (s.set + 1e5)
	s.refill = (s.line - s.set + take/2) * s.interval / (take * (1.15 + 1.1*r.Float64()))
	s.bleed = 1 / (3600 * (3 + 40*r.Float64()))
	s.sag = 0.7 * (s.line - s.set) * r.Float64() * r.Float64()
	s.nightOff = r.Float64() < 0.25
}

// keeping draws set points, bin and the way it is cleaned.
func (s *shop) keeping(r *rand.Rand, face float64) {
	s.mode = "on-demand"
	switch u := r.Float64(); {
	case u < 0.1:
		s.mode, s.interval = "timed", pick(r, 40.0, 60, 90, 120)
	case u < 0.14:
		s.mode, s.interval = "continuous", pick(r, 20.0, 30, 45)
	}
	end := s.media + s.tired + s.root*math.Sqrt((s.fed+s.days/365*s.year)/s.year)
	s.low = math.Round((end*face*(1.1+0.25*r.Float64())+70+120*r.Float64())/10) * 10
	s.high = s.low + math.Round((130+330*r.Float64()*r.Float64())/10)*10
	s.stops = pick(r, 0, 0, 1, 2, 3, 5)
	s.every = pick(r, 2.0, 3, 5, 7, 7, 10, 14)
	daily := s.gram * s.design * s.hours.perWeek() / 7 * 3600 * 0.6 / 1000 / s.heap
	s.bin = max(0.03, s.every*daily/(0.25+0.3*r.Float64()))
}
