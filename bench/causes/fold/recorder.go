package fold

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/sense"
)

// span is what went by in a stretch of time.
type span struct{ dt, header, emission float64 }

// How the leak detector's reading gets into a row.
const (
	meanInRow = iota
	endOfRow
	peakInRow
)

// recorder takes the rows of the log down as perfect instruments would; log then makes real ones of them.
type recorder struct {
	logging
	run     *run
	rowEnd  float64
	time    []float64 // of the rows [s since the start]
	col     [sense.NumChannels][]float64
	pulses  []sense.Firing
	sum     [sense.NumChannels]float64
	spent   float64
	clean   float64 // time of it in cleaning
	ran     float64
	top     float64 // of the leak detector in this row
	waiting []uint8 // valves fired since the last row
	count   int
	idle    int // rows since the fan stopped

	means     [sense.NumChannels]bool // mean over the row rather than its end
	leakMode  int
	flagMode  int // cleaning: 0 end of row, 1 any in the row, 2 share of it
	gauges    [sense.NumChannels]gauge
	absent    [sense.NumChannels]bool
	unnamed   bool // pulses are counted, not named
	lost      float64
	slow      float64 // pulses that come a row late, twice, or not at all
	twice     float64
	missing   float64
	blackouts []float64 // times at which the logger was off for a while
}

// newRecorder draws the instruments.
func newRecorder(g *rand.Rand, r *run, shape logging) *recorder {
	c := &recorder{logging: shape, run: r, leakMode: g.IntN(3), flagMode: g.IntN(3)}
	averaging := happens(g, 0.4)
	for ch := range sense.NumChannels {
		c.means[ch] = averaging && ch != sense.Header && ch != sense.Damper && ch != sense.BinLevel
		c.absent[ch] = ch != sense.DP && happens(g, 0.035)
	}
	c.means[sense.Header] = averaging && happens(g, 0.3)
	c.drawGauges(g)
	m := r.m
	c.absent[sense.AfterfilterDP] = m.after == 0
	c.absent[sense.BinMass] = happens(g, 0.5)
	c.absent[sense.FlowIndex] = happens(g, 0.85)
	if !c.absent[sense.FlowIndex] && happens(g, 0.5) {
		c.absent[sense.Flow] = true
	}
	if c.absent[sense.Header] {
		c.absent[sense.HeaderLow] = true
	}
	c.absent[sense.Damper] = c.absent[sense.Damper] || (m.holds == holdsFlow || m.holds == holdsSuction) && happens(g, 0.6)
	c.unnamed = happens(g, 0.02)
	if happens(g, 0.25) {
		c.lost = scaled(g, 1e-4, 8e-3)
	}
	if happens(g, 0.15) {
		c.slow = scaled(g, 0.01, 0.2)
	}
	if happens(g, 0.08) {
		c.twice = scaled(g, 0.003, 0.05)
	}
	if happens(g, 0.12) {
		c.missing = scaled(g, 0.003, 0.06)
	}
	for range g.IntN(3) {
		c.blackouts = append(c.blackouts, g.Float64()*r.days*day)
	}
	return c
}

func (c *recorder) begin(t float64) { c.rowEnd = (math.Floor(t/c.step) + 1) * c.step }

// add takes a stretch of time into the row.
func (c *recorder) add(s *sim, p span) {
	c.spent += p.dt
	if s.running {
		c.ran += p.dt
	}
	if s.brain.on {
		c.clean += p.dt
	}
	c.sum[sense.Emission] += p.emission * p.dt
	c.sum[sense.Header] += p.header * p.dt
	if !c.means[sense.DP] {
		return
	}
	var v [sense.NumChannels]float64
	s.see(&v)
	for ch := range sense.NumChannels {
		if ch != sense.Emission && ch != sense.Header {
			c.sum[ch] += v[ch] * p.dt
		}
	}
}

// fired takes down that a valve fired.
func (c *recorder) fired(i int, t float64, unseen bool) {
	c.count++
	if unseen || dice(c.run.m.seed, 101, int64(t*10)) < c.missing {
		return
	}
	c.waiting = append(c.waiting, uint8(i+1))
	if dice(c.run.m.seed, 102, int64(t*10)) < c.twice {
		c.waiting = append(c.waiting, uint8(i+1))
	}
}

// peak takes down how high the leak detector went.
func (c *recorder) peak(e float64) { c.top = math.Max(c.top, e) }

// row ends a row.
func (c *recorder) row(s *sim, t float64) {
	var v [sense.NumChannels]float64
	s.see(&v)
	emission := s.emits(t) + s.puff
	for ch := range sense.NumChannels {
		if c.means[ch] {
			v[ch] = c.sum[ch] / c.spent
		}
	}
	switch c.leakMode {
	case meanInRow:
		emission = c.sum[sense.Emission] / c.spent
	case peakInRow:
		emission = math.Max(emission, c.top)
	}
	v[sense.Emission] = emission
	v[sense.HeaderLow] = s.low
	switch c.flagMode {
	case 1:
		v[sense.Cleaning] = b2f(c.clean > 0)
	case 2:
		v[sense.Cleaning] = math.Round(c.clean/c.spent*100) / 100
	default:
		v[sense.Cleaning] = b2f(s.brain.on)
	}
	v[sense.Running] = b2f(c.ran > 0.5*c.spent)
	v[sense.BinMass] = math.NaN()
	if s.took > 0 {
		v[sense.BinMass] = s.took
	}
	c.idle++
	if c.ran > 0 {
		c.idle = 0
	}
	held := c.waiting[:0:0]
	if n := len(c.waiting); n > 0 && dice(c.run.m.seed, 103, int64(t)) < c.slow {
		held = append(held, c.waiting[n-1])
		c.waiting = c.waiting[:n-1]
	}
	if t > 0 && (!c.onlyRunning || c.idle < 3 || s.took > 0) {
		v[sense.Pulse] = float64(len(c.waiting))
		for _, valve := range c.waiting {
			c.pulses = append(c.pulses, sense.Firing{Row: int32(len(c.time)), Valve: valve})
		}
		c.time = append(c.time, t)
		for ch := range sense.NumChannels {
			c.col[ch] = append(c.col[ch], v[ch])
		}
		s.took = 0
	}
	c.waiting = append(c.waiting[:0], held...)
	c.sum, c.spent, c.clean, c.ran, c.top = [sense.NumChannels]float64{}, 0, 0, 0, 0
	s.low = s.press
	c.rowEnd += c.step
}

// stamp is the time the plant's clock shows [unix ns].
func (c *recorder) stamp(t float64) int64 {
	if e := c.run.tale.of("clock"); e != nil && t >= e.from {
		t += 3600
	}
	return c.run.start.UnixNano() + int64(math.Round(t*1e3))*int64(time.Millisecond)
}

// dark reports that the logger was off.
func (c *recorder) dark(t float64) bool {
	if e := c.run.tale.of("gap"); e != nil && t >= e.from && t < e.from+(0.5+2.5*math.Abs(e.amount))*day && t < c.run.days*day-2*day {
		return true
	}
	for i, b := range c.blackouts {
		if t >= b && t < b+600+7200*dice(c.run.m.seed, 104, int64(i)) && t < c.run.days*day-3600 {
			return true
		}
	}
	return c.lost > 0 && dice(c.run.m.seed, 105, int64(t)) < c.lost
}

// log makes the log of what was taken down.
func (c *recorder) log() *sense.Series {
	s := &sense.Series{Source: "fold"}
	place := make([]int32, len(c.time))
	var kept []int
	for i, t := range c.time {
		place[i] = -1
		if !c.dark(t) {
			place[i] = int32(len(kept))
			kept = append(kept, i)
			s.Time = append(s.Time, c.stamp(t))
		}
	}
	for ch := range sense.NumChannels {
		if c.absent[ch] {
			continue
		}
		whole := c.shown(ch)
		s.Col[ch] = make([]float64, len(kept))
		for k, i := range kept {
			s.Col[ch][k] = whole[i]
		}
	}
	if !c.absent[sense.Pulse] && !c.unnamed {
		for _, f := range c.pulses {
			if place[f.Row] >= 0 {
				s.Pulses = append(s.Pulses, sense.Firing{Row: place[f.Row], Valve: f.Valve})
			}
		}
	}
	return s
}

// shows reports that a trouble moves some channel by more than its noise beside the same machine without it.
func shows(ill, well *run) bool {
	from := ill.onset
	if ill.fault.fromStart {
		from = 0
	}
	since := max(ill.rec.stamp(from), ill.series.Time[ill.series.Len()-1]-3*86400e9)
	// a few hours tell less than days: the two clean at other times, which is no sign of anything
	brief := 1 + 2/math.Sqrt(math.Max(0.2, ill.cal.running(math.Max(from, ill.cal.end-3*day), ill.cal.end)))
	for ch := range sense.NumChannels {
		a, b := recent(ill.series, ch, since, 0), recent(well.series, ch, since, 0)
		if len(a) < 5 || len(b) < 5 {
			continue
		}
		share := 0.02
		switch ch {
		case sense.Pulse, sense.Cleaning:
			share = 0.25
		case sense.Emission:
			share = 0.1
		case sense.Temperature, sense.Humidity, sense.Barometer, sense.BinMass, sense.Running:
			continue
		}
		share *= brief
		least := math.Max(0.6*ill.rec.gauges[ch].noise, 0.5*ill.rec.gauges[ch].step)
		if math.Abs(mean(a)-mean(b)) > share*math.Abs(mean(b))+least {
			return true
		}
		if ch == sense.Pulse || ch == sense.Cleaning {
			continue
		}
		for _, q := range []float64{0.1, 0.5, 0.9} {
			x, y := a[int(q*float64(len(a)-1))], b[int(q*float64(len(b)-1))]
			if math.Abs(x-y) > share*math.Abs(y)+least {
				return true
			}
		}
	}
	n := ill.fault.number
	if n == 0 {
		return false
	}
	for _, ch := range []sense.Channel{sense.HeaderLow, sense.Emission} {
		a, b := recent(ill.series, ch, since, n), recent(well.series, ch, since, n)
		if (len(a) < 3) != (len(b) < 3) { // it is not logged any more
			return true
		}
		if len(a) >= 3 && math.Abs(mean(a)-mean(b)) > 0.012*brief*mean(b)+0.3*ill.rec.gauges[ch].noise+0.15*ill.rec.gauges[ch].step {
			return true
		}
	}
	return false
}

// recent gives a channel's readings since a time while the fan runs, sorted; with a valve, those of rows in which
// it fired last.
func recent(s *sense.Series, ch sense.Channel, since int64, valve int) []float64 {
	var out []float64
	k := 0
	for i, v := range s.Col[ch] {
		last := 0
		for ; k < len(s.Pulses) && int(s.Pulses[k].Row) <= i; k++ {
			last = int(s.Pulses[k].Valve)
		}
		if s.Time[i] < since || math.IsNaN(v) || valve > 0 && last != valve || s.Has(sense.Running) && s.Col[sense.Running][i] < 0.5 {
			continue
		}
		out = append(out, v)
	}
	slices.Sort(out)
	return out
}

// mean is the mean; NaN of nothing.
func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}
