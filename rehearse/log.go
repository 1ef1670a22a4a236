package rehearse

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/collector"
)

// Row is one row of the log.
type Row struct {
	Unix   int64                // nanoseconds
	Values [NumChannels]float64 // SI; NaN where there is no reading or no such instrument
	Fired  []uint8              // valves told to fire since the row before, in firing order; 1 is the first
}

// Recorder takes a log row by row. The row is used again: it keeps nothing of it.
type Recorder interface {
	Record(*Row) error
}

// logger makes rows out of the machine's states.
type logger struct {
	s      *sim
	list   []Channel
	meters [NumChannels]meter
	every  float64
	next   float64
	end    float64
	hand   *rand.Rand // nil for a logger
	n      int
	row    Row
	low    float64 // lowest header pressure since the last row [Pa]
	series Series
	drifts bool // some channel drifts by an event
}

func newLogger(s *sim) *logger {
	l := &logger{s: s, every: s.o.Sample.Seconds(), end: s.o.Length.Seconds(), low: math.Inf(1)}
	channels := s.o.Channels
	if channels == nil {
		channels = UsualChannels()
	}
	full := scales()
	for c := range NumChannels {
		i := usual()[c]
		if s.o.Hand {
			i = byHand(c)
		}
		if own, ok := s.o.Instruments[c]; ok {
			i = own
		}
		r := stream(s.o.Seed, streamInstruments+int(c))
		i.spread(s.o.Spread, full[c], r)
		l.meters[c] = meter{Instrument: i, r: r, value: math.NaN()}
	}
	for _, c := range channels {
		if !slices.Contains(l.list, c) && has(s.c, s.path, c) {
			l.list = append(l.list, c)
		}
	}
	for _, e := range s.o.Events {
		l.drifts = l.drifts || e.Kind == Drift
	}
	if s.o.Hand {
		l.hand = stream(s.o.Seed, streamInstruments+int(NumChannels)+1)
		l.next = l.jitter()
	}
	l.series.Zone = s.o.Start.Location()
	if l.every > 0 && s.o.Keep {
		rows := int(l.end/l.every) + 1
		l.series.Time = make([]int64, 0, rows)
		for _, c := range l.list {
			l.series.Col[c] = make([]float64, 0, rows)
		}
	}
	for c := range l.row.Values {
		l.row.Values[c] = math.NaN()
	}
	return l
}

// Wired returns those of the channels (nil = UsualChannels) that the collector can have something to show for: an
// after-filter's dP needs an after-filter, motor current a nameplate, and so on. A file that says too little for any
// operating point has none.
func Wired(c *collector.Collector, channels []Channel) []Channel {
	if channels == nil {
		channels = UsualChannels()
	}
	p, err := c.AirPath()
	if err != nil {
		return nil
	}
	var out []Channel
	for _, ch := range channels {
		if has(c, p, ch) {
			out = append(out, ch)
		}
	}
	return out
}

// has reports whether the machine has anything for a channel to show.
func has(c *collector.Collector, p *collector.AirPath, ch Channel) bool {
	power := len(c.Fan.Power) >= 2
	switch ch {
	case AfterFilterDP:
		return c.AfterFilter.Fitted
	case FanCurrent:
		return power && p.Motor().Check() == nil
	case FanPower:
		return power
	case InletSP:
		return c.Duty.InletSP < 0 || len(c.Branches) > 0
	case Damper:
		return p.DamperKnown()
	case BinLevel, BinMass:
		return c.Bin.Volume > 0
	}
	return true
}

func (l *logger) jitter() float64 { return math.Abs(0.6 * hour * l.hand.NormFloat64()) }

// start writes the row of the first moment.
func (l *logger) start() error {
	if l.every == 0 || l.hand != nil {
		return nil
	}
	return l.write(0, l.s.now)
}

// between writes the rows due after from, up to now; the state runs straight from before to now.
func (l *logger) between(from float64, before point) error {
	if l.every == 0 {
		return nil
	}
	s := l.s
	for l.next <= s.t && l.next <= l.end {
		p := s.now
		if dt := s.t - from; dt > 0 && s.running {
			f := (l.next - from) / dt
			p.q += (before.q - p.q) * (1 - f)
			p.dp += (before.dp - p.dp) * (1 - f)
			p.after += (before.after - p.after) * (1 - f)
			p.x += (before.x - p.x) * (1 - f)
			p.gauge += (before.gauge - p.gauge) * (1 - f)
		}
		if err := l.write(l.next, p); err != nil {
			return err
		}
	}
	return nil
}

// comesBack is after how long somebody looks again who found the fan standing still [s]; notAgain the share of the time
// between two readings within which the next that is due is left out. Common practice, no source.
const (
	comesBack = hour
	notAgain  = 0.6
)

// write makes one row and sets the time of the next.
func (l *logger) write(t float64, p point) error {
	s := l.s
	if l.hand != nil && !s.running {
		l.next = t + comesBack
		return nil
	}
	at := durationOf(t)
	if l.hand == nil {
		l.n++
		l.next = float64(l.n) * l.every
	} else {
		l.next = math.Ceil(t/l.every+notAgain)*l.every + l.jitter()
		at = at.Truncate(time.Second)
	}
	if l.gap(t) {
		l.row.Fired, l.low = l.row.Fired[:0], math.Inf(1)
		return nil
	}
	l.fill(t, &p)
	l.row.Unix = s.o.Start.Add(at).UnixNano()
	if s.o.Keep {
		l.keep()
	}
	if s.o.Recorder != nil {
		if err := s.o.Recorder.Record(&l.row); err != nil {
			return err
		}
	}
	l.row.Fired, l.low = l.row.Fired[:0], math.Inf(1)
	s.binTaken = 0
	return nil
}

func (l *logger) gap(t float64) bool {
	for i := range l.s.o.Events {
		if e := &l.s.o.Events[i]; e.Kind == LogGap && e.during(t) {
			return true
		}
	}
	return false
}

func (l *logger) keep() {
	x := &l.series
	if slices.Contains(l.list, Pulse) {
		for _, v := range l.row.Fired {
			x.Pulses = append(x.Pulses, Firing{Row: int32(len(x.Time)), Valve: v})
		}
	}
	x.Time = append(x.Time, l.row.Unix)
	for _, c := range l.list {
		x.Col[c] = append(x.Col[c], l.row.Values[c])
	}
}

// fired notes a pulse for the next row.
func (l *logger) fired(v int, low float64) {
	if l.every == 0 {
		return
	}
	l.row.Fired = append(l.row.Fired, uint8(v+1))
	l.low = min(l.low, low)
}

// fill reads every instrument.
func (l *logger) fill(t float64, p *point) {
	s := l.s
	on := 0.0
	if s.running {
		on = 1
	}
	for _, c := range l.list {
		v := l.truth(c, t, p, on)
		m := &l.meters[c]
		if c == DP && s.fx.blocked > 0 {
			noise := m.Running
			m.Running *= 1 - s.fx.blocked
			v = m.read(t, v, s.running)
			m.Running = noise
		} else if c != Running && c != Cleaning && c != Pulse {
			v = m.read(t, v, s.running)
		}
		if v += l.drift(c, t); v < 0 && (c == BinLevel || c == Emission) {
			v = 0 // these instruments show nothing below their zero
		}
		l.row.Values[c] = v
	}
}

// drift is what Drift events add to a channel.
func (l *logger) drift(c Channel, t float64) float64 {
	d := 0.0
	if !l.drifts {
		return d
	}
	for i := range l.s.o.Events {
		e := &l.s.o.Events[i]
		if e.Kind != Drift || e.Channel != c || t < e.After.Seconds() {
			continue
		}
		until := t
		if e.Until > 0 {
			until = min(t, e.Until.Seconds())
		}
		d += e.Value * (until - e.After.Seconds()) / day
	}
	return d
}

// truth is what a perfect instrument would show.
func (l *logger) truth(c Channel, t float64, p *point, on float64) float64 {
	s := l.s
	switch c {
	case DP:
		return p.gauge
	case AfterFilterDP:
		if s.after.Half == 0 {
			return math.NaN()
		}
		return p.after
	case Flow:
		return p.q
	case FlowIndex:
		return 100 * p.q / s.design
	case Header:
		return s.air.gauge(t)
	case HeaderLow:
		return min(l.low, s.air.gauge(t))
	case FanCurrent:
		return on * s.motor.current(s.shaft(p.x))
	case FanPower:
		return on * s.motor.electric(s.shaft(p.x))
	case InletSP:
		if s.way.duct == 0 {
			return math.NaN()
		}
		return -s.way.duct * s.weather.rho * p.q * p.q
	case Damper:
		return s.side.damper
	case Running:
		return on
	case Cleaning:
		if s.cleaning {
			return 1
		}
		return 0
	case Pulse:
		return float64(len(l.row.Fired))
	case Temperature:
		return float64(s.weather.state.T)
	case Humidity:
		return float64(s.weather.state.RH)
	case Barometer:
		return float64(s.weather.state.P)
	case Emission:
		return l.emission(on)
	case BinLevel:
		return min(1, s.binShare()) // beyond full it backs up where no level sensor sees it
	case BinMass:
		if s.binTaken > 0 {
			return s.binTaken
		}
	}
	return math.NaN()
}

// emission is what a leak detector behind the filters shows, in its own units: 1 for sound filters at the mean load, and
// a holed row by how open it is.
func (l *logger) emission(on float64) float64 {
	s := l.s
	e := 0.3 + 0.7*s.loading*s.fx.feed/float64(s.ph.Loading)
	if r := s.fx.leakRow; r >= 0 {
		share := float64(s.bank.Rows[r].Area) / float64(s.bank.Area())
		e += s.fx.leak * share * s.gap(r) / float64(s.ph.Penetration) * s.loading / float64(s.ph.Loading)
	}
	return on * e
}
