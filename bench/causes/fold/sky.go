package fold

import (
	"math"
	"math/rand/v2"
)

// sky is weather and hall.
type sky struct {
	mean, season, daily float64 // outdoor temperature [K], its yearly and daily swing
	phase               float64 // of the year [s]
	dew                 float64 // how far the dew point lies below the night's temperature [K]
	indoor, heat        float64 // the hall [K]; what production warms the air by
	hall                float64 // how much of the weather comes in
	elevation           float64 // [m]
	baro                float64
}

func drawSky(g *rand.Rand) sky {
	w := sky{mean: between(g, 280, 296), season: between(g, 2, 12), daily: between(g, 2, 7), phase: between(g, 0, 365*day), dew: between(g, -1, 7)}
	w.indoor, w.heat, w.hall = between(g, 289, 298), scaled(g, 1.5, 25), between(g, 0.2, 0.8)
	w.elevation = to(math.Max(0, between(g, -200, 900)), 10)
	w.baro = 101325 * math.Exp(-w.elevation/8400)
	return w
}

// air is the air at the collector: temperature [K], relative humidity, ambient pressure [Pa].
func (w *sky) air(seed uint64, t float64, k *knobs, load float64) (warm, humid, baro float64) {
	front := wander(seed, 61, t, 2.6*day)
	out := w.mean + w.season*math.Sin(2*math.Pi*(t+w.phase)/(365*day)) + 3.5*front
	dew := out - w.daily - w.dew + 2*wander(seed, 62, t, 1.7*day)
	out += w.daily * math.Sin(2*math.Pi*(t/day-0.37))
	hall := w.indoor + w.hall*(out-w.indoor) + k.hot
	warm = hall + w.heat*math.Min(1.5, load)
	humid = clamp(vapour(math.Min(dew, out))/vapour(warm)*(1+0.03*wander(seed, 63, t, 5000))+k.humid, 0.04, 0.99)
	baro = w.baro - 600*front + 500*wander(seed, 64, t, 4*day)
	return warm, humid, baro
}

// vapour is the pressure of saturated water vapour [Pa] by the usual exponential fit.
func vapour(kelvin float64) float64 {
	c := kelvin - 273.15
	return 611 * math.Exp(17.6*c/(243+c))
}
