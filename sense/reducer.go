package sense

import (
	"math"
	"slices"
	"sort"
	"time"

	"dustwright/collector"
)

// MaxCycles is how many single cleaning cycles a History keeps; older ones live on as daily medians.
const MaxCycles = 4096

// maxRecharges is how many single recharges a History keeps.
const maxRecharges = 4096

// Reducer reads a collector's log once, in time order, and keeps the History. It belongs to one
// goroutine. Rows are worked hour by hour; those of an unfinished hour wait in State.Tail, so that
// the History does not depend on how the log was cut into blocks.
type Reducer struct {
	set machineFacts
	h   *History
	st  *State
	w   scratch
}

// State is where a Reducer stands between two rows. It is exported for gob alone.
type State struct {
	Tail      Rows // of the unfinished hour
	Started   bool
	LastT     int64                // time of the last row worked [unix ns]
	LastRun   bool                 // the fan ran in it
	RunSec    float64              // running time so far [s]
	Steps     Ring                 // recent steps between rows [s]
	High      [NumChannels]float64 // upper level of the channels that tell whether the fan runs
	LastDP    float64              // last two running readings [Pa]; NaN none
	LastDP2   float64
	FallLevel float64 // median dP of the last hour through which the fan ran [Pa]; 0 none
	FallFrom  int64   // last row in which the dP stood well up towards that, before it fell [unix ns]; 0 none
	Zero      float64 // what the gauge reads while the fan stands, followed from hour to hour [Pa]; 0 not known
	Begin     BeginState
	Curve     Ring    // recent second differences of running dP [Pa]
	Ticks     Ring    // recent non-zero first differences of running dP [Pa]
	Carry     Reading // mean of the last rows of the hour before
	LastFlag  int64   // last row with a reading of the pulse or cleaning channel [unix ns]
	LastFire  int64   // last row in which a valve fired [unix ns]
	Named     bool    // the log has named a valve
	Turn      int     // pulses counted so far, modulo the valves, where it never did
	Dips      Ring    // recent falls to the lowest header pressure in rows flagged as cleaning, over the header [1]
	LastClean int64   // last row in which the controller said that it cleans, before any valve was seen to fire [unix ns]
	Cycle     CycleState
	Saw       SawState
	Air       AirState
	Refill    RefillState
}

// newState is the state before the first row.
func newState() *State {
	st := &State{LastDP: math.NaN(), LastDP2: math.NaN(), Carry: noReading()}
	st.Cycle.reset()
	st.Saw.reset()
	st.Refill.reset()
	return st
}

// machineFacts are the facts of the collector file that the reduction itself needs; everything else
// waits until Features, so that a corrected file needs no new reading.
type machineFacts struct {
	interval float64 // between pulses [s]
	paced    bool    // the file says it
	pass     float64 // one pass over all valves [s]
	valves   int     // 0 unknown
	runShare float64 // running time over calendar time, for rows hours apart
	pulsed   bool    // the filters are cleaned
	onDemand bool    // the controller cleans from one set point to the other
	timed    bool    // it cleans by the clock
	low      float64 // these set points [Pa]; 0 unknown
	high     float64
	floor    [NumChannels]float64 // reading below which the fan surely stands
}

// NewReducer returns a Reducer for an empty history. c may be nil: every fact is then unknown.
func NewReducer(c *collector.Collector) *Reducer {
	return Resume(&History{Version: HistoryVersion}, c)
}

// Resume returns a Reducer that goes on where h ended. h is not changed.
func Resume(h *History, c *collector.Collector) *Reducer {
	own := h.fork()
	st := own.Open
	if st == nil {
		st = newState()
	}
	own.Open = nil
	return &Reducer{set: factsOf(c), h: own, st: st}
}

// factsOf reads what the reduction needs out of the collector file.
func factsOf(c *collector.Collector) machineFacts {
	f := machineFacts{interval: 10, runShare: 1, pulsed: true} // 10 s: DESIGN section 3, common practice
	for i := range f.floor {
		f.floor[i] = math.NaN()
	}
	f.floor[InletSP] = stillDP
	rows := 6
	if c != nil {
		if x := float64(c.Header.Interval); x > 0 {
			f.interval, f.paced = x, true
		}
		if c.Filters.Rows > 0 {
			rows, f.valves = c.Filters.Rows, c.Filters.Rows
		}
		if x := float64(c.Duty.RunPerWeek); x > 0 {
			f.runShare = min(1, x/(7*86400))
		}
		f.pulsed = c.Cleaning.Mode != collector.None
		f.onDemand = c.Cleaning.Mode == collector.OnDemand
		f.timed = c.Cleaning.Mode == collector.Timed || c.Cleaning.Mode == collector.Continuous
		f.low, f.high = float64(c.SetPoints.Low), float64(c.SetPoints.High)
		f.floors(c)
	}
	f.pass = float64(rows) * f.interval
	return f
}

// floors sets the readings below which the fan surely stands: a tenth to a fifth of what the
// channel shows at design flow. Common practice, no source.
func (f *machineFacts) floors(c *collector.Collector) {
	f.floor[FanCurrent] = 0.15 * float64(c.Fan.FullLoadCurrent)
	f.floor[FanPower] = 0.10 * float64(c.Fan.MotorPower)
	if sp := 0.05 * math.Abs(float64(c.Duty.InletSP)); sp > stillDP {
		f.floor[InletSP] = sp
	}
	f.floor[Flow] = 0.10 * float64(c.Duty.Flow)
	f.floor[DP] = 0.20 * float64(c.Filters.CleanDP)
}

// Add takes the rows of s that are later than the last one taken; the others are counted as late and
// left. s is not kept. A channel may be there in one block and absent in the next.
func (r *Reducer) Add(s *Series) {
	if s.Len() == 0 {
		return
	}
	r.open(s)
	from := 0
	if r.h.Rows > 0 {
		from = sort.Search(s.Len(), func(i int) bool { return s.Time[i] > r.h.Last })
		r.h.Late += int64(from)
	}
	if from == s.Len() {
		return
	}
	r.h.Rows += int64(s.Len() - from)
	r.h.Last = s.Time[s.Len()-1]
	fire := sort.Search(len(s.Pulses), func(i int) bool { return int(s.Pulses[i].Row) >= from })
	for from < s.Len() {
		to := s.hourEnd(from)
		next := fire + sort.Search(len(s.Pulses)-fire, func(i int) bool { return int(s.Pulses[fire+i].Row) >= to })
		r.take(s, span{from, to}, s.Pulses[fire:next])
		from, fire = to, next
	}
}

// open notes what the first block says about the clock, and the channels of every block.
func (r *Reducer) open(s *Series) {
	if r.h.First == 0 {
		r.h.First = s.Time[0]
		if s.Zone != nil {
			_, off := time.Unix(0, s.Time[0]).In(s.Zone).Zone()
			r.h.Offset = int32(off)
		}
	}
}

const hourNs = int64(time.Hour)

// hourOf returns the start of the hour that holds t [unix ns].
func hourOf(t int64) int64 { return t - ((t%hourNs)+hourNs)%hourNs }

// hourEnd returns the first row at or after from that lies in a later hour than row from.
func (s *Series) hourEnd(from int) int {
	end := hourOf(s.Time[from]) + hourNs
	if s.Time[s.Len()-1] < end {
		return s.Len()
	}
	i, _ := slices.BinarySearch(s.Time[from:], end)
	return from + i
}

// take works rows of s that are all of one hour: at once where the hour is surely over, and
// otherwise by letting them wait in the tail.
func (r *Reducer) take(s *Series, in span, fire []Firing) {
	tail := &r.st.Tail
	if len(tail.Time) > 0 && hourOf(tail.Time[0]) != hourOf(s.Time[in.from]) {
		r.flush()
	}
	if in.to < s.Len() && len(tail.Time) == 0 {
		r.work(chunkOf(s.Time, &s.Col, in, fire))
		return
	}
	tail.extend(s.Time, &s.Col, in, fire)
	if in.to < s.Len() {
		r.flush()
	}
}

// flush works the waiting rows; the next row belongs to a later hour.
func (r *Reducer) flush() {
	tail := &r.st.Tail
	r.work(tail.chunk(len(tail.Time)))
	tail.clear()
}

// work works an hour. The hours of a long record are moved seldom: they get room for as many again.
func (r *Reducer) work(ch chunk) {
	if h := r.h; len(h.Hours) == cap(h.Hours) {
		h.Hours = slices.Grow(h.Hours, len(h.Hours))
	}
	r.w.reduce(ch, r.set, r.h, r.st)
}

// History returns the record so far. The Reducer goes on unaffected, and what is returned does not
// change any more.
func (r *Reducer) History() *History {
	h := r.h.fork()
	h.Open = r.st.fork()
	h.trim()
	return h
}

// fork returns a copy that can be worked on without changing st.
func (st *State) fork() *State {
	own := *st
	own.Tail = Rows{}
	if n := len(st.Tail.Time); n > 0 {
		own.Tail.extend(st.Tail.Time, &st.Tail.Col, span{0, n}, st.Tail.Pulses)
	}
	return &own
}

// fork returns a copy that can be worked on without changing h.
func (h *History) fork() *History {
	own := *h
	own.Hours, own.Cycles = slices.Clip(h.Hours), slices.Clip(h.Cycles)
	own.Passes, own.Recharges, own.Noted = slices.Clip(h.Passes), slices.Clip(h.Recharges), slices.Clip(h.Noted)
	own.Firings, own.Fine.Slots = slices.Clone(h.Firings), slices.Clone(h.Fine.Slots)
	if h.Open != nil {
		own.Open = h.Open.fork()
	}
	return &own
}

// trim keeps the last MaxCycles cycles and maxRecharges recharges, and of firings long ago only the
// valves that fired alone.
func (h *History) trim() {
	h.Cycles = h.Cycles[max(0, len(h.Cycles)-MaxCycles):]
	h.Recharges = h.Recharges[max(0, len(h.Recharges)-maxRecharges):]
	old := h.day(h.Last/1e9) - setDays*86400
	kept := h.Firings[:0]
	for _, f := range h.Firings {
		if n := len(kept); f.Day < old && f.Valve == 0 && n > 0 && kept[n-1].Day == f.Day && kept[n-1].Valve == 0 {
			kept[n-1].pool(f)
			continue
		}
		kept = append(kept, f)
	}
	h.Firings = kept
}

// setDays is how many days the sets of valves that fired together are kept apart.
const setDays = 120

// pool takes another set in, whose valves are then no longer known.
func (f *FiringSet) pool(o FiringSet) {
	f.Mask = 0
	f.Rows += o.Rows
	f.NoDrop += o.NoDrop
	f.Drop.merge(o.Drop)
	f.Rel.merge(o.Rel)
	f.DPStep.merge(o.DPStep)
	f.Emission.merge(o.Emission)
	f.Recovered.merge(o.Recovered)
	f.LastDrop, f.FirstDead, f.Dead = max(f.LastDrop, o.LastDrop), 0, 0
}

// settled returns the record with the rows of the unfinished hour, up to at, and the unfinished day
// worked in. It is for looking at, not for going on with.
func (h *History) settled(c *collector.Collector, at int64) *History {
	own := h.fork()
	st := own.Open
	own.Open = nil
	if st != nil {
		n := sort.Search(len(st.Tail.Time), func(i int) bool { return st.Tail.Time[i] > at })
		if n > 0 {
			var w scratch
			w.reduce(st.Tail.chunk(n), factsOf(c), own, st)
		}
		if st.Cycle.Waiting {
			own.addCycle(st.Cycle.delivered(curveToSigma * st.Curve.quantile(0.5)))
		}
	}
	own.closeDay()
	return own
}

// Rows are rows waiting to be worked. It is exported for gob.
type Rows struct {
	Time   []int64
	Col    [NumChannels][]float64
	Pulses []Firing
}

// chunk returns the first n rows, with their firings, to be worked.
func (r *Rows) chunk(n int) chunk {
	fire := sort.Search(len(r.Pulses), func(i int) bool { return int(r.Pulses[i].Row) >= n })
	return chunkOf(r.Time, &r.Col, span{0, n}, r.Pulses[:fire])
}

// extend appends rows of other columns; channels that either lacks are filled with NaN.
func (r *Rows) extend(time []int64, col *[NumChannels][]float64, in span, fire []Firing) {
	n, more := len(r.Time), in.to-in.from
	r.Time = append(r.Time, time[in.from:in.to]...)
	for c := range r.Col {
		if r.Col[c] == nil && col[c] == nil {
			continue
		}
		if r.Col[c] == nil {
			r.Col[c] = nans(n)
		}
		if col[c] == nil {
			r.Col[c] = append(r.Col[c], nans(more)...)
		} else {
			r.Col[c] = append(r.Col[c], col[c][in.from:in.to]...)
		}
	}
	for _, f := range fire {
		r.Pulses = append(r.Pulses, Firing{Row: f.Row - int32(in.from) + int32(n), Valve: f.Valve})
	}
}

// clear empties the rows and keeps their memory.
func (r *Rows) clear() {
	r.Time, r.Pulses = r.Time[:0], r.Pulses[:0]
	for c := range r.Col {
		if r.Col[c] != nil {
			r.Col[c] = r.Col[c][:0]
		}
	}
}

// nans returns n missing readings.
func nans(n int) []float64 { return slices.Repeat([]float64{math.NaN()}, n) }
