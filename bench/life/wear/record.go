package wear

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// gauge is the dP gauge that controller and logger go by.
type gauge struct {
	gain  float64
	drift float64 // of the gain in a second
	zero  float64 // [Pa]
	creep float64 // of the zero in a second [Pa/s]
}

func drawGauge(d made.Dice) gauge {
	const year = 365 * day
	return gauge{gain: 1 + 0.01*d.NormFloat64(), drift: 0.01 * d.NormFloat64() / year, zero: 4 * d.NormFloat64(), creep: 6 * d.NormFloat64() / year}
}

// reads is what it shows of a dP, truth the dP at which it shows so much [Pa].
func (g *gauge) reads(dp, t float64) float64 { return (g.gain+g.drift*t)*dp + g.zero + g.creep*t }

func (g *gauge) truth(shown, t float64) float64 {
	return (shown - g.zero - g.creep*t) / (g.gain + g.drift*t)
}

// logger writes the log.
type logger struct {
	made.Dice
	p       *plant
	step    float64 // of the simulation, and of the rows where no hand writes them [s]
	byHand  bool    // one reading a shift
	resting bool    // rows while the fan stands too
	means   bool    // rows are means over the step
	noise   float64 // [Pa]
	grain   float64 // resolution [Pa]
	has     [sense.NumChannels]bool
	flowBy  float64    // gain of the flow meter
	index   float64    // of the flow index, for design flow
	hidden  [2]float64 // the logger is down [s]
	gaps    float64    // chance of one a day
}

func newLogger(d made.Dice, p *plant) *logger {
	l := &logger{Dice: d, p: p, byHand: d.Chance(0.12), resting: d.Chance(0.7), means: d.Chance(0.3)}
	l.noise = d.Spread(1.5, 15)
	l.grain = made.OneOf(d, 1, 1, 2.5, 5, 0.05*inWater, 0.1*inWater)
	l.flowBy, l.index = 1+0.03*d.NormFloat64(), d.Between(3, 900)
	total := p.span * float64(1+p.earlier) * 1.25
	written := total
	if !l.resting {
		written *= p.hours.share()
	}
	steps := []float64{60, 120, 180, 300, 300, 600, 600, 900}
	l.step = steps[d.IntN(len(steps))]
	for _, s := range []float64{120, 180, 300, 600, 900, 1200, 1800} {
		if written/l.step > 0.8*rowsMost {
			l.step = max(l.step, s)
		}
	}
	if l.byHand {
		l.step, l.means = 600, false
		l.grain = made.OneOf(d, 10, 25, 0.1*inWater)
	}
	if d.Chance(0.6) {
		l.gaps = d.Spread(0.01, 0.2)
	}
	if d.Chance(0.3) {
		at := d.Between(0.1, 1) * p.span * float64(1+p.earlier)
		l.hidden = [2]float64{at, at + d.Between(3, 11)*day}
	}
	l.channels()
	return l
}

// channels draws what the log has.
func (l *logger) channels() {
	p := l.p
	l.has[sense.DP] = true
	if p.after > 0 && l.Chance(0.65) {
		l.has[sense.AfterfilterDP] = true
	}
	if l.byHand {
		l.has[sense.Damper] = p.tending == trimmed && l.Chance(0.5)
		return
	}
	share := made.OneOf(l.Dice, 0, 0.3, 0.3, 0.6, 1)
	for _, c := range []sense.Channel{sense.Flow, sense.FlowIndex, sense.Header, sense.HeaderLow, sense.FanCurrent, sense.FanPower, sense.InletSP, sense.Damper,
		sense.Running, sense.Cleaning, sense.Pulse, sense.Temperature, sense.Humidity} {
		l.has[c] = l.Chance(share)
	}
	if l.has[sense.Flow] && l.Chance(0.7) {
		l.has[sense.FlowIndex] = false
	}
	if share > 0 && l.Chance(0.5) {
		l.has[sense.Running] = true
	}
	if p.tending == held {
		l.has[sense.Damper] = false
	}
	if p.tending == leftAlone && share < 1 {
		l.has[sense.Damper] = l.has[sense.Damper] && l.Chance(0.5)
	}
}

// series writes the log of a run, up to the end of the last life.
func (l *logger) series(r *run) *sense.Series {
	s := &sense.Series{Zone: l.p.epoch.Location(), Source: "wear"}
	for c := range sense.NumChannels {
		if l.has[c] {
			s.Col[c] = []float64{}
		}
	}
	if late := r.end - 0.1*(r.end-r.start); l.hidden[1] > late { // the record has to reach near the end
		l.hidden = [2]float64{}
	}
	next, away, pulses := 0.0, -1.0, 0.0
	for i := range r.now {
		m, t := &r.now[i], float64(i+1)*l.step
		if t > r.end {
			break
		}
		pulses += float64(m.pulses)
		if l.Chance(l.gaps * l.step / day) {
			away = t + l.Spread(0.3, 30)*hour
		}
		switch {
		case t < away || t >= l.hidden[0] && t < l.hidden[1]:
			pulses = 0 // lost with the rows
			continue
		case !m.running && !l.resting:
			continue
		case l.byHand && (!m.running || t < next):
			continue
		}
		next = t + 7.2*hour + l.Exp(0.5*hour)
		jitter := 0.0
		if l.byHand {
			jitter = math.Floor(l.Between(-9, 0)) * 60
		}
		s.Time = append(s.Time, l.p.when(t+jitter).UnixNano())
		l.row(s, m, t, pulses)
		pulses = 0
	}
	return s
}

// Exp is an exponential draw of a mean.
func (l *logger) Exp(mean float64) float64 { return mean * l.ExpFloat64() }

// row writes one row.
func (l *logger) row(s *sense.Series, m *moment, t, pulses float64) {
	p := l.p
	x := float64(m.flow)
	put := func(c sense.Channel, v, grain float64) {
		if !l.has[c] {
			return
		}
		if l.Chance(0.0005) && !l.byHand {
			v = math.NaN()
		}
		s.Col[c] = append(s.Col[c], math.Round(v/grain)*grain)
	}
	dp := float64(m.across)
	if l.means {
		dp = float64(m.mean)
	}
	if m.cleaning > 0.5 && !l.means { // between pulses, and now and then in the middle of one
		dp *= 1 + p.strength/float64(p.rows)*l.Between(-0.3, 0.3)
	}
	if l.Chance(0.0002) { // somebody blows the tubes out
		dp = 0
	}
	put(sense.DP, max(-25, p.gauge.reads(dp, t)+(l.noise+0.006*dp)*l.NormFloat64()*b2f(m.running)+0.5*l.NormFloat64()), l.grain)
	put(sense.AfterfilterDP, max(-10, float64(m.after)*x*(1+0.012*l.NormFloat64())+2*l.NormFloat64()), max(2.5, l.grain))
	put(sense.Flow, max(0, l.flowBy*p.flow*x*(1+0.012*l.NormFloat64())), p.flow/500)
	put(sense.FlowIndex, max(0, l.index*x*(1+0.015*l.NormFloat64())), l.index/400)
	low := p.header * (1 - p.headerDrop*b2f(pulses > 0)*l.Between(0.95, 1.05))
	put(sense.Header, p.header*(1+0.01*l.NormFloat64()), 1000)
	put(sense.HeaderLow, low*(1+0.01*l.NormFloat64()), 1000)
	a := airAt(float64(m.warm))
	watts := p.brake(x) * a.dense * b2f(m.running)
	put(sense.FanCurrent, p.amps(watts)*b2f(m.running)*(1+0.007*l.NormFloat64()), 0.1)
	put(sense.FanPower, watts/motorEff*(1+0.007*l.NormFloat64()), 50)
	put(sense.InletSP, -p.duct*math.Pow(x, p.ductExp)*a.dense*(1+0.01*l.NormFloat64())+3*l.NormFloat64(), 5)
	put(sense.Damper, float64(m.open), 0.01)
	put(sense.Running, b2f(m.running), 1)
	put(sense.Cleaning, b2f(m.cleaning > 0 && l.Float64() < float64(m.cleaning)), 1)
	put(sense.Pulse, pulses, 1)
	put(sense.Temperature, 273.15+float64(m.warm)+0.3*l.NormFloat64(), 0.1)
	put(sense.Humidity, float64(m.wet)+0.01*l.NormFloat64(), 0.01)
}
