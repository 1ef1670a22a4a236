package eartest

import "math"

// Voices is how many ways a pulse can sound.
const Voices = 5

// voice gives the samples of one pulse of a length [s] and a dullness from 0 to 1; a negative length
// gives half a second of it held open.
type voice func(length, dull float64) []float64

// voice draws the voice of a recording.
func (m *maker) voice() voice {
	return []func() voice{m.blast, m.thump, m.jet, m.rattle, m.puff}[m.s.Voice]()
}

const held = 0.5 // [s]

// frame returns room for a pulse and its tail.
func (m *maker) frame(length, tail float64) []float64 {
	if length < 0 {
		return make([]float64, int(held*m.rate))
	}
	return make([]float64, int((length+tail)*m.rate))
}

// blast is white noise with a low knock, falling slowly while open and fast after.
func (m *maker) blast() voice {
	rise, tail, knock := 0.002+0.006*m.r.Float64(), 0.02+0.03*m.r.Float64(), 90+120*m.r.Float64()
	return func(length, dull float64) []float64 {
		x := m.frame(length, 6*tail)
		m.noise(x)
		if dull > 0 {
			lowpass(x, 4000*math.Pow(2, -3*dull)/m.rate)
		}
		if length < 0 {
			return x
		}
		for i := range x {
			t := float64(i) / m.rate
			e := math.Min(1, t/rise) * math.Exp(-t/0.3)
			if t > length {
				e *= math.Exp(-(t - length) / tail)
			}
			x[i] = e * (x[i] + 1.2*math.Sin(2*math.Pi*knock*t)*math.Exp(-t/0.05))
		}
		return x
	}
}

// thump is low only: two damped modes and noise below a few hundred hertz.
func (m *maker) thump() voice {
	f1, f2, top := 70+60*m.r.Float64(), 150+150*m.r.Float64(), 300+400*m.r.Float64()
	return func(length, dull float64) []float64 {
		die := math.Max(0.02, length*0.6)
		x := m.frame(length, 4*die)
		m.noise(x)
		corner := top * math.Pow(2, -1.5*dull) / m.rate
		lowpass(x, corner)
		lowpass(x, corner)
		if length < 0 {
			return x
		}
		up := math.Sqrt(1 / (2 * corner))
		for i := range x {
			t := float64(i) / m.rate
			e := math.Min(1, t/0.004) * math.Exp(-t/die)
			x[i] = e * (1.5*up*x[i] + math.Sin(2*math.Pi*f1*t) + 0.7*(1-dull)*math.Sin(2*math.Pi*f2*t))
		}
		return x
	}
}

// jet is hiss only: noise in a band of the treble under a flat gate with soft edges.
func (m *maker) jet() voice {
	lo, hi := 800+1200*m.r.Float64(), 4000+4000*m.r.Float64()
	edge := 0.008 + 0.02*m.r.Float64()
	return func(length, dull float64) []float64 {
		x := m.frame(length, edge)
		m.noise(x)
		highpass(x, lo/m.rate)
		highpass(x, lo/m.rate)
		lowpass(x, math.Min(0.45, hi*math.Pow(2, -2*dull)/m.rate))
		if length < 0 {
			return x
		}
		for i := range x {
			t := float64(i) / m.rate
			x[i] *= math.Max(0, math.Min(1, math.Min(t/edge, (length+edge-t)/edge)))
		}
		return x
	}
}

// rattle is resonances of the housing driven by noise while open, and a click when it shuts.
func (m *maker) rattle() voice {
	type mode struct{ f, q, g float64 }
	var modes []mode
	for range 6 {
		modes = append(modes, mode{120 * math.Pow(2, 5.5*m.r.Float64()), 4 + 10*m.r.Float64(), 0.4 + m.r.Float64()})
	}
	return func(length, dull float64) []float64 {
		x := m.frame(length, 0.12)
		drive := make([]float64, len(x))
		m.noise(drive)
		if length >= 0 {
			shut := int(length * m.rate)
			for i := range drive {
				if i > shut {
					drive[i] = 0
				}
			}
			for i := shut; i < min(len(drive), shut+int(0.002*m.rate)); i++ {
				drive[i] = 3
			}
		}
		for _, d := range modes {
			w := 2 * math.Pi * d.f / m.rate
			rad := math.Exp(-w / (2 * d.q))
			g := d.g * (1 - rad) * 4
			if dull > 0 && d.f > 700 {
				g *= 1 - dull
			}
			c := 2 * rad * math.Cos(w)
			var y1, y2 float64
			for i, v := range drive {
				y := g*v + c*y1 - rad*rad*y2
				y1, y2 = y, y1
				x[i] += y
			}
		}
		return x
	}
}

// puff is pink noise that swells within tens of milliseconds and dies in two stages.
func (m *maker) puff() voice {
	rise, late := 0.015+0.02*m.r.Float64(), 0.1+0.2*m.r.Float64()
	return func(length, dull float64) []float64 {
		die := math.Max(0.02, 0.5*length)
		x := m.frame(length, 5*die)
		m.coloured(x, 1+0.5*dull)
		if dull > 0 {
			lowpass(x, 1500*math.Pow(2, -2*dull)/m.rate)
		}
		if length < 0 {
			return x
		}
		for i := range x {
			t := float64(i) / m.rate
			x[i] *= (1 - math.Exp(-t/rise)) * (math.Exp(-t/die) + late*math.Exp(-t/(3*die)))
		}
		return x
	}
}
