package rehearse

import (
	"math"
	"math/rand/v2"

	"dustwright/air"
	"dustwright/collector"
	"dustwright/unit"
)

const (
	hour = 3600.0
	day  = 86400.0
	week = 7 * day
	year = 365.25 * day
)

// weather is the air at the collector hour by hour: a year, a day and a memory. Made up, common practice.
type weather struct {
	r                *rand.Rand
	moves            float64 // how much everything but the mean counts
	mean             float64 // temperature [K]
	site             float64 // pressure at the elevation [Pa]
	yearDay, dayHour float64 // of the start
	hour             int     // the next hour to draw
	tNoise, hNoise   float64
	pNoise           float64

	state   air.State
	rho, mu float64 // of the air over those of the site's reference air
	refRho  float64
	refMu   float64
}

func newWeather(r *rand.Rand, c *collector.Collector, ph *Physics, yearDay, dayHour float64) *weather {
	ref := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	w := &weather{r: r, moves: float64(ph.Weather), mean: float64(ph.Air), site: float64(ref.P), yearDay: yearDay, dayHour: dayHour,
		refRho: float64(ref.Density()), refMu: float64(ref.Viscosity())}
	w.tNoise, w.hNoise, w.pNoise = 1.5*r.NormFloat64(), 0.08*r.NormFloat64(), 600*r.NormFloat64()
	return w
}

// step goes on to the hour that begins at t [s after the start], warm [K] and damp [share] added by events.
func (w *weather) step(t, warm, damp float64) {
	const keepT, keepH, keepP = 0.9, 0.93, 0.985 // memory from hour to hour
	if w.hour > 0 {
		w.tNoise = keepT*w.tNoise + math.Sqrt(1-keepT*keepT)*1.5*w.r.NormFloat64()
		w.hNoise = keepH*w.hNoise + math.Sqrt(1-keepH*keepH)*0.08*w.r.NormFloat64()
		w.pNoise = keepP*w.pNoise + math.Sqrt(1-keepP*keepP)*700*w.r.NormFloat64()
	}
	w.hour++
	d := w.yearDay + t/day
	annual := -math.Cos(2 * math.Pi * (d - 15) / 365.25)
	h := math.Mod(w.dayHour+t/hour, 24)
	daily := math.Cos(2 * math.Pi * (h - 15) / 24)
	temp := w.mean + w.moves*(4*annual+2.5*daily+w.tNoise) + warm
	rh := 0.45 + w.moves*(0.08*annual-0.07*daily+w.hNoise) + damp
	w.state = air.State{T: unit.Temperature(temp), P: unit.AbsPressure(w.site + w.moves*w.pNoise), RH: unit.Share(min(0.99, max(0.1, rh)))}
	w.rho = float64(w.state.Density()) / w.refRho
	w.mu = float64(w.state.Viscosity()) / w.refMu
}
