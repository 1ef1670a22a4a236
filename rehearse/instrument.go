package rehearse

import (
	"math"
	"math/rand/v2"

	"dustwright/unit"
)

// Instrument is how a channel is measured; the zero value is a perfect one.
type Instrument struct {
	Noise   float64      // standard deviation of a reading [SI of the channel]
	Running float64      // further noise while the fan runs: turbulence [SI]
	Gain    float64      // of the reading over the truth, minus 1
	Offset  float64      // [SI]
	Drift   float64      // of the offset [SI per day]
	Step    float64      // readings are multiples of this [SI]; 0 = fine
	Damping unit.Seconds // time constant of the transmitter [s]
	Dropout unit.Share   // of readings that are missing, each on its own
	Outage  unit.Share   // of the time in which the channel is out for hours
}

// usual returns the instruments of a plant. common practice, no source.
func usual() [NumChannels]Instrument {
	const in, psi = unit.InchWater, unit.Psi
	var u [NumChannels]Instrument
	u[DP] = Instrument{Noise: 0.004 * in, Running: 0.025 * in, Step: 0.01 * in, Damping: 4, Dropout: 2e-4}
	u[AfterFilterDP] = Instrument{Noise: 0.004 * in, Running: 0.012 * in, Step: 0.01 * in, Damping: 4, Dropout: 2e-4}
	u[Flow] = Instrument{Running: 0.03, Gain: 0, Step: 0.001, Damping: 5, Dropout: 5e-4}
	u[FlowIndex] = Instrument{Running: 0.6, Step: 0.1, Damping: 5, Dropout: 5e-4}
	u[Header] = Instrument{Noise: 0.12 * psi, Step: 0.1 * psi, Dropout: 2e-4}
	u[HeaderLow] = Instrument{Noise: 0.2 * psi, Step: 0.1 * psi, Dropout: 2e-4}
	u[FanCurrent] = Instrument{Running: 0.06, Step: 0.1, Damping: 2, Dropout: 2e-4}
	u[FanPower] = Instrument{Running: 40, Step: 10, Damping: 2, Dropout: 2e-4}
	u[InletSP] = Instrument{Noise: 0.004 * in, Running: 0.03 * in, Step: 0.01 * in, Damping: 4, Dropout: 2e-4}
	u[Damper] = Instrument{Step: 0.01}
	u[Temperature] = Instrument{Noise: 0.08, Step: 0.05, Dropout: 2e-4}
	u[Humidity] = Instrument{Noise: 0.004, Step: 0.01, Dropout: 2e-4}
	u[Barometer] = Instrument{Noise: 8, Step: 10}
	u[Emission] = Instrument{Noise: 0.15, Running: 0.3, Step: 0.1}
	u[BinLevel] = Instrument{Noise: 0.01, Step: 0.01}
	u[BinMass] = Instrument{Noise: 0.5, Step: 0.5}
	return u
}

// byHand is what a person reads off a gauge: to the nearest half division, once.
func byHand(c Channel) Instrument {
	const in, psi = unit.InchWater, unit.Psi
	switch c {
	case DP, AfterFilterDP, InletSP:
		return Instrument{Running: 0.04 * in, Step: 0.1 * in}
	case Header, HeaderLow:
		return Instrument{Noise: 0.5 * psi, Step: psi}
	}
	return usual()[c]
}

// spread gives instruments the errors that one plant's have: gain and offset. common practice, no source.
func (i *Instrument) spread(s float64, full float64, r *rand.Rand) {
	i.Gain += s * 0.01 * r.NormFloat64()
	i.Offset += s * 0.005 * full * r.NormFloat64()
}

// scales are full scales of the channels' instruments, for their offsets [SI].
func scales() [NumChannels]float64 {
	return [NumChannels]float64{DP: 2500, AfterFilterDP: 1250, Flow: 4, FlowIndex: 100, Header: 7e5, HeaderLow: 0, FanCurrent: 30,
		FanPower: 20000, InletSP: 2500, Temperature: 60, Humidity: 1, Barometer: 3e4}
}

// meter is an Instrument in use.
type meter struct {
	Instrument
	r     *rand.Rand
	value float64 // behind the damping
	since float64 // time of value
	out   float64 // the channel is out until then
	dt    float64 // the last interval, and the share of a step that damping lets through in it
	let   float64
}

// read returns what the instrument shows of a truth at t [s]. NaN truth gives NaN, and the damping starts anew after it.
func (m *meter) read(t, truth float64, running bool) float64 {
	dt := t - m.since
	m.since = t
	if m.Damping > 0 && !math.IsNaN(m.value) {
		if dt != m.dt {
			m.dt, m.let = dt, -math.Expm1(-dt/float64(m.Damping))
		}
		m.value += (truth - m.value) * m.let
	} else {
		m.value = truth
	}
	v := m.value*(1+m.Gain) + m.Offset + m.Drift*t/day
	noise := m.Noise
	if running {
		noise += m.Running
	}
	if noise > 0 {
		v += noise * m.r.NormFloat64()
	}
	if m.missing(t, dt) {
		return math.NaN()
	}
	if m.Step > 0 {
		v = math.Round(v/m.Step) * m.Step
	}
	return v
}

// missing draws whether a reading is lost.
func (m *meter) missing(t, dt float64) bool {
	if t < m.out {
		return true
	}
	const long = 5 * hour // mean length of an outage
	if m.Outage > 0 && m.r.Float64() < float64(m.Outage)*dt/long {
		m.out = t + long*m.r.ExpFloat64()
		return true
	}
	return m.Dropout > 0 && m.r.Float64() < float64(m.Dropout)
}
