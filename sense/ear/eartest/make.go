package eartest

import (
	"math"
	"math/rand/v2"
)

type maker struct {
	s    Scene
	r    *rand.Rand
	n    int
	rate float64
	open float64 // a good pulse lasts [s]
	loud float64 // rms of a good pulse while it lasts
	v    voice
}

// Make makes the recording, samples between -1 and 1.
func (s Scene) Make() ([]float32, Truth) {
	m := &maker{s: s, r: rand.New(rand.NewPCG(s.Seed, 1+uint64(s.Voice))), rate: float64(s.Rate)}
	times := m.times()
	m.n = int((times[len(times)-1] + s.Tail) * m.rate)
	m.open = 0.05 + 0.25*m.r.Float64()*m.r.Float64()
	m.v = m.voice()
	m.loud = rms(m.v(m.open, 0)[:int(m.open*m.rate)])
	out := make([]float64, m.n)
	truth := m.pulses(out, times)
	if s.Echo > 0 {
		m.room(out)
	}
	m.disturb(out)
	if s.Codec {
		highpass(out, 300/m.rate)
		highpass(out, 300/m.rate)
		lowpass(out, 3400/m.rate)
		lowpass(out, 3400/m.rate)
	}
	if s.AGC > 0 {
		m.gain(out)
	}
	return m.capture(out), truth
}

// times lists when pulses are due.
func (m *maker) times() []float64 {
	t := []float64{m.s.Lead}
	at := m.s.Lead
	for k := 1; k < m.s.Due; k++ {
		at += m.s.Interval * (1 + m.s.Drift*(float64(k)/float64(m.s.Due)-0.5))
		t = append(t, at+m.s.Jitter*m.r.NormFloat64())
	}
	return t
}

// own is how one valve differs from the voice.
type own struct {
	gain, length, dull float64
}

// owns draws each valve's ways, and the weak ones' weakness.
func (m *maker) owns() []own {
	r := m.r
	list := make([]own, m.s.Valves)
	for v := range list {
		o := own{db(0.8 * r.NormFloat64()), 1 + 0.04*r.NormFloat64(), 0}
		if m.s.Faults[v] == Weak {
			switch r.IntN(3) {
			case 0:
				o.gain = db(-5 - 8*r.Float64())
			case 1:
				o.gain *= db(-1 - 3*r.Float64())
				o.length *= 0.25 + 0.25*r.Float64()
			default:
				o.gain *= db(-3 - 4*r.Float64())
				o.dull = 0.3 + 0.5*r.Float64()
			}
		}
		list[v] = o
	}
	return list
}

// pulses writes the bursts and the hiss of stuck valves.
func (m *maker) pulses(out []float64, times []float64) Truth {
	var truth Truth
	list := m.owns()
	weaker := db(-1 - 2*m.r.Float64())
	hiss := m.loud * db(-3-7*m.r.Float64())
	leaking := false
	for k, at := range times {
		v := k % m.s.Valves
		f := m.s.Faults[v]
		next := float64(m.n) / m.rate
		if k+1 < len(times) {
			next = times[k+1]
		}
		if f == Stuck && !(leaking && m.s.Form == Stays) {
			m.hiss(out, at, next, hiss)
			leaking = true
		}
		if f == Dead {
			continue
		}
		o := list[v]
		o.gain *= db(0.4 * m.r.NormFloat64())
		if leaking && f != Stuck && m.s.Form == Stays {
			o.gain *= weaker
		}
		m.burst(out, at, o)
		truth.At, truth.Valve = append(truth.At, at), append(truth.Valve, v)
		for _, d := range m.s.Doubles {
			if d == v && f != Stuck {
				again := at + m.open + 0.25 + 0.5*m.r.Float64()
				m.burst(out, again, o)
				truth.At, truth.Valve = append(truth.At, again), append(truth.Valve, v)
			}
		}
	}
	return truth
}

// burst adds one pulse.
func (m *maker) burst(out []float64, at float64, o own) {
	start := int(at * m.rate)
	for i, x := range m.v(m.open*o.length, o.dull) {
		if k := start + i; k >= 0 && k < len(out) {
			out[k] += o.gain * x
		}
	}
}

// hiss adds the sound of a valve that does not shut.
func (m *maker) hiss(out []float64, from, next, level float64) {
	end, die := len(out), math.Inf(1)
	switch m.s.Form {
	case Returns:
		die = math.Max(0.7, 0.3*(next-from))
		end = int(next * m.rate)
	case Until:
		end = int(next * m.rate)
	}
	x := m.v(-1, 0) // a stretch of the voice, open all the time
	scale := level / rms(x)
	first := int(from * m.rate)
	fade := 0.03 * m.rate
	for i := first; i < min(end, len(out)); i++ {
		k := float64(i - first)
		e := math.Min(1, k/fade) * math.Min(1, float64(end-i)/fade)
		if !math.IsInf(die, 1) {
			e *= math.Exp(-k / m.rate / die)
		}
		out[i] += scale * e * x[(i-first)%len(x)]
	}
}

// room is a reverberator of four combs and two all-passes.
func (m *maker) room(x []float64) {
	wet := make([]float64, len(x))
	for _, ms := range []float64{29.7, 37.1, 41.1, 43.7} {
		d := int(ms * (0.8 + 0.4*m.r.Float64()) * m.rate / 1000)
		g := math.Pow(10, -3*float64(d)/m.rate/m.s.Echo)
		line := make([]float64, d)
		for i, v := range x {
			k := i % d
			y := line[k]
			line[k] = v + g*y
			wet[i] += 0.25 * y
		}
	}
	for _, ms := range []float64{5, 1.7} {
		d := int(ms * m.rate / 1000)
		line := make([]float64, d)
		for i, v := range wet {
			k := i % d
			y := line[k]
			line[k] = v + 0.7*y
			wet[i] = y - 0.7*line[k]
		}
	}
	share := 0.2 + 0.6*m.r.Float64()
	for i := range x {
		x[i] += share * wet[i]
	}
}

// gain turns the level down when it is loud and slowly up again, as phones do.
func (m *maker) gain(x []float64) {
	fast, slow := math.Exp(-1/(0.01*m.rate)), math.Exp(-1/(m.s.AGC*m.rate))
	env := 0.3 * m.loud
	power := 0.3 + 0.4*m.r.Float64()
	g := 1.0
	for i, v := range x {
		a := math.Abs(v)
		if a > env {
			env = fast*env + (1-fast)*a
		} else {
			env = slow*env + (1-slow)*a
		}
		if i%16 == 0 {
			g = 1 / math.Pow(0.2*m.loud+env, power)
		}
		x[i] = v * g
	}
}

// capture turns the recorder's gain, clips, scales and quantises to 16 bits.
func (m *maker) capture(x []float64) []float32 {
	if m.s.Turn != 0 {
		g := db(m.s.Turn)
		for i := len(x) / 2; i < len(x); i++ {
			x[i] *= g
		}
	}
	top := 1e-12
	for _, v := range x {
		top = math.Max(top, math.Abs(v))
	}
	if m.s.Clip > 0 {
		top *= m.s.Clip
	}
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = float32(math.Round(math.Max(-1, math.Min(1, 0.9*v/top))*32767) / 32767)
	}
	return out
}

func db(x float64) float64 { return math.Pow(10, x/20) }

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(1, len(x))))
}

// lowpass and highpass run a one-pole filter with its corner at a share of the sampling rate.
func lowpass(x []float64, corner float64) {
	a, y := 1-math.Exp(-2*math.Pi*corner), 0.0
	for i, v := range x {
		y += a * (v - y)
		x[i] = y
	}
}

func highpass(x []float64, corner float64) {
	a, y := 1-math.Exp(-2*math.Pi*corner), 0.0
	for i, v := range x {
		y += a * (v - y)
		x[i] = v - y
	}
}
