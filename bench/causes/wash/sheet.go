package wash

import (
	"math"

	"dustwright/bench/causes/made"
)

// line is one hour of the plant's sheet: what the day brings, whatever the collector does with it.
type line struct {
	work  [6]float64 // dust made in each ten minutes, as a share of what the filters were chosen for
	temp  float64    // of the air drawn in [K]
	dew   float64    // its dew point [K]
	wall  float64    // what the housing stands in [K]
	baro  float64    // [Pa]
	shop  float64    // shop air before the regulator [Pa, gauge]
	round bool       // somebody walks past and looks
	luck  float64    // 0..1, what that somebody feels like
}

// span is a time the fan runs, from and to [s].
type span struct{ on, off float64 }

// sheet is a plant's time, hour by hour.
type sheet struct {
	hours []line
	runs  []span
	shift shifts
}

// shifts are a plant's working hours.
type shifts struct {
	starts, ends []float64 // hours of the day
	days         int       // of a week
	lunch        bool      // the fan stops with the people
	allNight     bool      // never stops but for a morning's maintenance
	choppy       float64   // how much the work comes in fits
}

func newShifts(d made.Dice) shifts {
	s := shifts{days: made.OneOf(d, 5, 5, 5, 6), lunch: d.Chance(0.3), choppy: d.Between(0.05, 0.9)}
	switch u := d.Float64(); {
	case u < 0.3:
		s.starts, s.ends = []float64{d.Between(5.5, 8)}, []float64{d.Between(14.5, 18)}
	case u < 0.62:
		s.starts, s.ends = []float64{6, 14}, []float64{14, d.Between(21.8, 23)}
	case u < 0.8:
		s.starts, s.ends = []float64{0, 6, 14, 22}, []float64{6, 14, 22, 24}
	default:
		s.starts, s.ends, s.days, s.allNight, s.lunch = []float64{0, 6, 14, 22}, []float64{6, 14, 22, 24}, 7, true, false
	}
	return s
}

// newSheet writes the sheet of some days.
func newSheet(d made.Dice, days int, p *plant) *sheet {
	s := &sheet{hours: make([]line, days*24), shift: newShifts(d)}
	for k := range days {
		s.day(d, k)
	}
	s.weather(d, p)
	s.compressor(d)
	return s
}

// day writes when the fan runs on a day and what is made.
func (s *sheet) day(d made.Dice, k int) {
	sh := &s.shift
	if k%7 >= sh.days && !d.Chance(0.04) {
		return
	}
	much := math.Exp(0.16 * d.NormFloat64())
	for i := range sh.starts {
		on, off := sh.starts[i]*hour+d.Between(-300, 500), sh.ends[i]*hour+d.Between(-400, 700)
		if sh.allNight && k%14 == 2 && i == 1 {
			on += d.Between(1.5, 5) * hour
		}
		s.fill(d, k, sh.starts[i], sh.ends[i], much)
		base := float64(k) * day
		if sh.lunch && off-on > 6*hour {
			noon := on + d.Between(3.8, 4.4)*hour
			s.add(base+on, base+noon)
			on = noon + d.Between(0.4, 0.9)*hour
		}
		s.add(base+on, base+off)
		for _, at := range []float64{1, 5} {
			if h := k*24 + int(sh.starts[i]+at); h < len(s.hours) && d.Chance(0.8) {
				s.hours[h].round, s.hours[h].luck = true, d.Float64()
			}
		}
	}
}

// fill writes a shift's work, in fits and starts where the trade is so.
func (s *sheet) fill(d made.Dice, k int, from, to, much float64) {
	busy, idle := true, sq(s.shift.choppy)*0.5
	for h := int(from); h < int(math.Ceil(to)) && k*24+h < len(s.hours); h++ {
		for j := range 6 {
			if d.Chance(0.3) {
				busy = !d.Chance(idle)
			}
			w := much / (1 - idle) * math.Exp(0.35*s.shift.choppy*d.NormFloat64())
			if !busy {
				w *= 0.03
			}
			if float64(h)-from < 0.3 && j == 0 || h == int(from)+4 && j < 3 {
				w *= 0.2 // warming up, a break
			}
			s.hours[k*24+h].work[j] = min(w, 4)
		}
	}
}

// add appends a span, joined to the last where there is no stop between.
func (s *sheet) add(on, off float64) {
	if n := len(s.runs); n > 0 && on < s.runs[n-1].off+900 {
		s.runs[n-1].off = max(s.runs[n-1].off, off)
		return
	}
	s.runs = append(s.runs, span{max(0, on), off})
}

// weather writes the air: a season, fronts that come and go, days and nights, and a dew point that follows the front more
// than the hour.
func (s *sheet) weather(d made.Dice, p *plant) {
	season, swing := d.Between(-4, 22), d.Between(2, 8)
	front, damp, glass := d.NormFloat64(), d.NormFloat64(), d.NormFloat64()
	slide := d.Between(-0.12, 0.12) // a day, the season moves on
	for i := range s.hours {
		front += -front/90 + 0.11*d.NormFloat64()
		damp += -damp/60 + 0.13*d.NormFloat64()
		glass += -glass/110 + 0.09*d.NormFloat64()
		l := &s.hours[i]
		out := season + slide*float64(i)/24 + 4*front + swing*math.Sin(2*math.Pi*(float64(i%24)-9)/24)
		dew := min(out-0.3, season-0.7*swing+3*front+2.5*damp)
		l.wall, l.temp, l.dew = zeroC+out, zeroC+out, zeroC+dew
		if p.indoors {
			l.wall = zeroC + max(out+4, 13+0.25*out)
		}
		if !p.drawsOutside {
			l.temp = zeroC + max(out+3, 14+0.3*out)
			l.dew += 1.5 // people, washing, steam
		}
		busy := min(1.5, (l.work[0]+l.work[3])/2)
		l.temp += p.heat * busy
		l.dew += p.steam * busy
		l.baro = p.baro + 750*glass
	}
}

// compressor writes the shop air: a band, what the shop draws in the day, and weekends for which it is shut off.
func (s *sheet) compressor(d made.Dice) {
	top, draw := d.Between(6.2, 8)*bar, d.Between(0.1, 0.8)*bar
	rests, left := d.Chance(0.3), 0.0
	for i := range s.hours {
		l := &s.hours[i]
		busy := 0.0
		if l.work[2]+l.work[5] > 0 {
			busy = d.Between(0.5, 1)
		}
		if quiet := s.quiet(i); rests && quiet > 3 {
			left = max(left*0.8, 0.02*bar)
		} else {
			left = top
		}
		l.shop = min(left, top) - draw*busy + 0.06*bar*d.NormFloat64()
		l.shop = max(l.shop, 0)
	}
}

// quiet is how many hours around one nothing is made.
func (s *sheet) quiet(i int) int {
	n := 0
	for k := i; k >= 0 && k > i-6 && s.hours[k].work == [6]float64{}; k-- {
		n++
	}
	for k := i + 1; k < len(s.hours) && k < i+3; k++ {
		if s.hours[k].work != [6]float64{} {
			return 0
		}
	}
	return n
}

func sq(x float64) float64 { return x * x }

// vapour is the pressure of saturated vapour (Magnus, from memory) [Pa].
func vapour(kelvin float64) float64 {
	c := kelvin - zeroC
	return 611.2 * math.Exp(17.62*c/(243.12+c))
}
