package eartest

import (
	"math"
	"math/rand/v2"
)

// Song makes music: chords, a bass drum and a hi-hat, at 100 to 140 beats a minute.
func Song(seed uint64, rate int, seconds float64) []float32 {
	r := rand.New(rand.NewPCG(seed, 5))
	m := &maker{r: r, rate: float64(rate), n: int(seconds * float64(rate))}
	x := make([]float64, m.n)
	beat := 60 / (100 + 40*r.Float64())
	chord := []float64{110, 138.6, 164.8, 220}
	for k := 0; float64(k)*beat < seconds; k++ {
		at := int(float64(k) * beat * m.rate)
		if k%4 == 0 {
			up := math.Pow(2, float64(r.IntN(7))/12)
			for i := range chord {
				chord[i] = []float64{110, 138.6, 164.8, 220}[i] * up
			}
		}
		for i := 0; i < int(beat*m.rate) && at+i < len(x); i++ {
			t := float64(i) / m.rate
			v := 0.8 * math.Sin(2*math.Pi*(50*t+3*(1-math.Exp(-t/0.03)))) * math.Exp(-t/0.12)
			for _, f := range chord {
				v += 0.15 * math.Exp(-t/0.6) * math.Sin(2*math.Pi*f*float64(at+i)/m.rate)
			}
			half := math.Mod(t, beat/2)
			v += 0.25 * math.Exp(-half/0.03) * (2*r.Float64() - 1)
			if k%2 == 1 {
				v += 0.5 * math.Exp(-t/0.08) * (2*r.Float64() - 1)
			}
			x[at+i] += v
		}
	}
	return m.capture(x)
}
