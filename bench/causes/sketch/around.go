package sketch

import (
	"math"
	"math/rand/v2"
)

// weather is the air by the hour.
type weather struct {
	temperature []float64 // [degC]
	humidity    []float64 // [0..1]
	barometer   []float64 // share of the usual
}

func drawWeather(r *rand.Rand, c clock, tale story) *weather {
	n := int(c.length()*24) + 2
	w := &weather{}
	mean, wave, phase := uniform(r, 8, 24), uniform(r, 1, 7), uniform(r, 13, 17)
	damp := uniform(r, 0.3, 0.65)
	var front, pressure float64
	for h := range n {
		day := float64(h) / 24
		hour := float64(c.start.Hour()) + float64(h)
		front += -front/60 + 0.5*r.NormFloat64()
		pressure += -pressure/80 + 0.0015*r.NormFloat64()
		sun := math.Cos(2 * math.Pi * (hour - phase) / 24)
		t, rh := mean+wave*sun+front, damp-0.12*sun-0.015*front
		if tale.during(day) {
			t += tale.warmer
			rh += tale.damper
		}
		w.temperature = append(w.temperature, t)
		w.humidity = append(w.humidity, min(max(rh, 0.08), 0.97))
		w.barometer = append(w.barometer, 1+pressure)
	}
	return w
}

// at gives the hour's air.
func (w *weather) at(c clock, i int) (t, rh, baro float64) {
	h := int(c.days(i) * 24)
	return w.temperature[h], w.humidity[h], w.barometer[h]
}

// shifts say step by step whether the fan runs and how much dust comes, as a share of the usual.
type shifts struct {
	on   []bool
	dust []float32
}

func drawShifts(r *rand.Rand, m *machine, c clock, tale story) *shifts {
	s := &shifts{on: make([]bool, c.steps), dust: make([]float32, c.steps)}
	wander, burst, burstTo, stopTo := 0.3*r.NormFloat64(), 0.0, -1, -1
	size := uniform(r, 0.1, 0.35)
	idle := uniform(r, 0, 0.3) // dust while the fan runs and nobody works
	today, from, to, weekday := -1, 0.0, 0.0, 0
	keep := math.Exp(-c.step / 7200)
	for i := range s.on {
		at := float64(c.start.Hour()) + float64(c.start.Minute())/60 + c.days(i)*24
		if d := int(at / 24); d != today {
			today, weekday = d, (int(c.start.Weekday())+d)%7
			from = m.from + 0.2*r.NormFloat64()
			to = from + []float64{0, 8.5, 16.2, 24, 24}[m.shifts] + 0.2*r.NormFloat64()
			if tale.during(c.days(i)) {
				to += tale.longer
			}
		}
		hour := at - 24*float64(today)
		wander = wander*keep + size*math.Sqrt(1-keep*keep)*r.NormFloat64()
		if i > burstTo && r.Float64() < c.step/(5*3600) {
			burstTo, burst = i+int(uniform(r, 300, 1500)/c.step), uniform(r, 0.5, 2)
		}
		if i > stopTo && r.Float64() < c.step/(40*3600) {
			stopTo = i + int(uniform(r, 300, 4000)/c.step)
		}
		works := m.works(hour, from, to, weekday)
		lunch := m.shifts < 4 && hour > from+4 && hour < from+4.5
		if tale.during(c.days(i)) && tale.shut {
			works = false
		}
		s.on[i] = works && i > stopTo && !(lunch && m.lunch)
		if s.on[i] {
			d := math.Exp(wander)
			if i <= burstTo {
				d *= 1 + burst
			}
			if lunch {
				d *= idle
			}
			if tale.during(c.days(i)) {
				d *= tale.heavier
			}
			s.dust[i] = float32(d)
		}
	}
	return s
}

// works tells whether a shift is on at this hour.
func (m *machine) works(hour, from, to float64, weekday int) bool {
	if m.shifts == 4 {
		return true
	}
	open := hour >= from && hour < to || hour < to-24
	if m.shifts == 3 {
		open = weekday != 1 || hour >= from // from Monday's first shift on
	}
	switch weekday {
	case 0:
		return false
	case 6:
		return open && m.saturday && hour < from+5 || m.shifts == 3 && hour < from
	}
	return open
}
