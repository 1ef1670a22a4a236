package ink

import (
	"math"
	"slices"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// Ways of keeping a log.
const (
	poll      = iota // a row every so often
	exception        // a row when something has moved, and a heartbeat
	gateway          // means of some minutes
)

// maxRows is how many rows a record may have.
const maxRows = 38000

// logger writes the log.
type logger struct {
	d                 made.Dice
	kind              int
	spacing, scan     float64
	gauges            [sense.NumChannels]*gauge
	named, counted    bool // pulses by valve, or a count
	sparse            bool // what has not moved stays empty
	own               bool // pulses make rows of their own
	boxcar            bool // the value before a move is written as well
	awake             bool // only rows while the fan runs
	mins              bool // a gateway that also keeps the lowest
	beat, gap         float64
	cardLate, cardBad float64 // s the card's clock is off; share of pulses it loses
	zeroTime          int64
	scale             float64 // of the leak detector
	worse             float64

	s        *sense.Series
	row      [sense.NumChannels]float64
	reported [sense.NumChannels]float64
	before   [sense.NumChannels]float64
	beforeAt float64
	lastAt   float64
	nextBeat float64
	thinned  float64                // when a band was widened last
	reports  [sense.NumChannels]int // since then
	queue    []shot
	badHour  int
	bad      bool
	onSince  bool
}

// newLogger draws what is measured and how it is kept.
func newLogger(d made.Dice, p *plant, days float64) *logger {
	l := &logger{d: d, kind: made.OneOf(d, poll, poll, exception, exception, exception, gateway), s: &sense.Series{Source: "ink"}, badHour: -1, lastAt: math.Inf(-1)}
	l.zeroTime = int64(p.zero) * day
	l.worse = d.Between(0.2, 2) * d.Float64()
	l.scale = d.Spread(0.8, 6)
	l.fit(p)
	for ch, odds := range [sense.NumChannels]float64{sense.DP: 1, sense.AfterfilterDP: 0.85 * boolean(p.after > 0), sense.Flow: 0.3, sense.FlowIndex: 0.15,
		sense.Header: 0.9, sense.HeaderLow: 0.7, sense.FanCurrent: 0.85, sense.FanPower: 0.25, sense.InletSP: 0.78, sense.Damper: 0.65 * boolean(p.drive < driveFixed),
		sense.Running: 0.9, sense.Cleaning: 0.85, sense.Temperature: 0.5, sense.Humidity: 0.4, sense.Barometer: 0.2, sense.Emission: 0.62, sense.BinLevel: 0.5,
		sense.BinMass: 0.4 * boolean(!p.rotary)} {
		if !d.Chance(odds) {
			l.gauges[ch] = nil
		}
	}
	u := d.Float64()
	l.named, l.counted = u < 0.8, u > 0.89
	if l.kind == gateway {
		l.named, l.counted = u < 0.3, u > 0.5
	}
	l.space(p, days)
	return l
}

// space draws how often it is written.
func (l *logger) space(p *plant, days float64) {
	d := l.d
	switch l.kind {
	case poll:
		l.spacing = made.OneOf(d, 10.0, 15, 20, 30, 30, 60, 60, 60, 120, 300, 600, 900)
		share := 1.0
		if p.shifts < 3 && d.Chance(0.3) {
			l.awake, share = true, 0.3*float64(p.shifts)
		}
		for l.spacing*maxRows < share*days*day {
			l.spacing *= 2
		}
		l.scan = l.spacing
	case gateway:
		l.spacing = made.OneOf(d, 60.0, 60, 120, 300)
		for l.spacing*maxRows < days*day {
			l.spacing *= 2
		}
		l.mins = d.Chance(0.6)
		l.scan = l.spacing
	default:
		l.scan = max(made.OneOf(d, 5.0, 10, 20), days*day/110000)
		l.spacing = l.scan
		l.sparse, l.boxcar, l.own = d.Chance(0.5), d.Chance(0.3), d.Chance(0.4)
		l.beat, l.gap = made.OneOf(d, 300.0, 600, 900, 900, 3600), made.OneOf(d, 1.0, 1, 5, 10)
		share := map[int]float64{1: 0.3, 2: 0.5, 3: 0.75, 7: 1}[p.shifts]
		if l.boxcar {
			share *= 1.8
		}
		l.gap = max(l.gap, share*days*day/maxRows) // what the archive was laid out for
	}
	l.cardLate = 2 * d.NormFloat64()
	if d.Chance(0.1) {
		l.cardLate *= 10
	}
	l.cardBad = made.OneOf(d, 0, 0, 0.002, 0.01, 0.03)
}

// keep goes through the days and writes the log; along is told of every look at the machine.
func (l *logger) keep(m *machine, along func()) {
	end := m.cal.end
	if l.kind == gateway {
		m.fill(m.t)
		m.sums = &sums{area: m.tank.area}
	}
	m.tank.low, m.shots = m.tank.p, m.shots[:0]
	swapped := false
	for t := l.spacing * l.d.Float64(); t <= end; {
		m.advance(t)
		if along != nil {
			along()
		}
		if !swapped && t > m.cal.swap {
			swapped = true
			l.replace(m.p)
		}
		l.look(m)
		next := t + l.scan
		if l.kind == exception { // a task among others
			next += 0.04 * l.scan * l.d.NormFloat64()
		}
		if l.kind == exception && m.pulseAt+1 < next && m.p.mode == "on-demand" {
			next = max(t+1, m.pulseAt+1)
		}
		t = next
	}
	for ch := range sense.NumChannels {
		if l.gauges[ch] == nil {
			l.s.Col[ch] = nil
		}
	}
}

// look is one look at the machine: a row, or none.
func (l *logger) look(m *machine) {
	l.card(m)
	if m.t > m.cal.gapFrom && m.t < m.cal.gapTo {
		l.queue = l.queue[:0]
		return
	}
	if l.awake && !m.runs {
		if !l.onSince {
			return
		}
		l.onSince = m.runs
	}
	l.onSince = l.onSince || m.runs
	l.readAll(m)
	if l.kind == exception {
		l.report(m)
		return
	}
	if l.d.Chance(0.0006 * l.worse) { // not stored
		return
	}
	l.write(m, m.t, &l.row)
}

// readAll reads all instruments, or the means since the last row.
func (l *logger) readAll(m *machine) {
	var is [sense.NumChannels]float64
	days, mean := m.t/day, 1.0
	m.show(&is)
	if s := m.sums; s != nil && s.took > 0 {
		low := is[sense.HeaderLow]
		cleaning := is[sense.Cleaning]
		for c := range s.of {
			is[c] = s.of[c] / s.took
		}
		is[sense.HeaderLow], is[sense.Cleaning] = low, cleaning
		if l.mins {
			is[sense.Emission] = s.peak
		}
		mean = max(0.2, math.Sqrt(5/s.took))
		*s = sums{area: s.area}
	}
	for ch := range sense.NumChannels {
		if l.gauges[ch] == nil || ch == sense.BinMass || ch == sense.Pulse {
			continue
		}
		l.row[ch] = l.read(ch, is[ch], days, m.runs, mean)
	}
	if l.gauges[sense.BinMass] != nil {
		l.row[sense.BinMass] = math.NaN()
		if m.taken > 0 {
			l.row[sense.BinMass] = math.Round(m.taken*(1+0.03*l.d.NormFloat64())*2) / 2
		}
	}
}

// card takes the pulses over from the valve card, which loses some.
func (l *logger) card(m *machine) {
	if h := int(m.t / hour); h != l.badHour {
		l.badHour = h
		l.bad = l.d.Chance(0.2 * l.cardBad)
	}
	for _, s := range m.shots {
		dead := m.p.cardKnows && m.e.valve[s.position] < 0.2 && m.tr.way%2 == 0
		if l.bad || dead || l.d.Chance(l.cardBad) {
			continue
		}
		s.at += l.cardLate
		l.queue = append(l.queue, s)
	}
	m.shots = m.shots[:0]
}

// report writes a row of what has moved beyond its band, of all that is known at a late heartbeat, and where pulses make
// rows, of those.
func (l *logger) report(m *machine) {
	var out [sense.NumChannels]float64
	any, state := false, false
	beat := m.t >= l.nextBeat
	for ch := range sense.NumChannels {
		out[ch] = math.NaN()
		g := l.gauges[ch]
		if g == nil || ch == sense.Pulse {
			continue
		}
		v := l.row[ch]
		moved := beat || math.Abs(v-l.reported[ch]) > g.band || ch == sense.BinMass && v > 0
		if moved && !math.IsNaN(v) {
			l.reports[ch]++
			out[ch] = v
			any = true
			state = state || g.step == 0
		}
	}
	any = any || l.own && len(l.queue) > 0
	if !any || !state && !beat && m.t-l.lastAt < l.gap {
		l.before, l.beforeAt = l.row, m.t
		return
	}
	if l.boxcar && l.beforeAt > l.lastAt+1 && l.beforeAt < m.t-1 && !beat {
		var old [sense.NumChannels]float64
		for ch := range old {
			old[ch] = math.NaN()
			if !math.IsNaN(out[ch]) && sense.Channel(ch) != sense.BinMass {
				old[ch] = l.before[ch]
			}
		}
		l.write(m, l.beforeAt, &old)
	}
	for ch := range out {
		if !math.IsNaN(out[ch]) {
			l.reported[ch] = out[ch]
		} else if !l.sparse && sense.Channel(ch) != sense.BinMass {
			out[ch] = l.reported[ch]
		}
	}
	l.before, l.beforeAt = l.row, m.t
	if beat {
		l.nextBeat = m.t + l.beat*(1+0.3*l.d.ExpFloat64())
	}
	l.write(m, m.t, &out)
	l.thin(m)
}

// thin widens the band of what reports most where the archive would run over, and where that is not enough lengthens the
// least time between two rows: whoever looks after it does so now and then.
func (l *logger) thin(m *machine) {
	if float64(l.s.Len()) < maxRows*m.t/m.cal.end+2500 || m.t < l.thinned+hour/2 {
		return
	}
	l.thinned, l.own = m.t, false
	worst := sense.NumChannels
	for ch, g := range l.gauges {
		if g != nil && g.step > 0 && g.wider < 3 && (worst == sense.NumChannels || l.reports[ch] > l.reports[worst]) {
			worst = sense.Channel(ch)
		}
	}
	if worst < sense.NumChannels {
		l.gauges[worst].band *= 1.4
		l.gauges[worst].wider++
	}
	l.reports = [sense.NumChannels]int{}
	l.gap = min(l.gap*1.2+1, 3*m.cal.end/maxRows)
}

// write appends a row, and the pulses up to it.
func (l *logger) write(m *machine, at float64, row *[sense.NumChannels]float64) {
	clock := at
	if at > m.cal.jump {
		clock += hour
	}
	ns := (l.zeroTime*1000 + int64(math.Round(clock*1000))) * 1e6
	s := l.s
	if l.kind != exception {
		ns -= ns % 1e9
	}
	if n := s.Len(); n > 0 && ns <= s.Time[n-1] {
		return
	}
	i := int32(s.Len())
	s.Time = append(s.Time, ns)
	for ch, g := range l.gauges {
		if g != nil {
			s.Col[ch] = append(s.Col[ch], row[ch])
		}
	}
	n := 0
	for n < len(l.queue) && l.queue[n].at <= at {
		if l.named {
			s.Pulses = append(s.Pulses, sense.Firing{Row: i, Valve: uint8(m.p.label[l.queue[n].position] + 1)})
		}
		n++
	}
	l.queue = slices.Delete(l.queue, 0, n)
	if l.counted {
		s.Col[sense.Pulse] = append(s.Col[sense.Pulse], float64(n))
	}
	if !math.IsNaN(row[sense.BinMass]) {
		m.taken = 0
	}
	m.tank.low = m.tank.p
	l.lastAt = at
}
