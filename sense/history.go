package sense

import (
	"bytes"
	"encoding/gob"
	"fmt"
	"io"
	"math"
	"math/bits"
	"slices"
	"time"

	"dustwright/unit"
)

// HistoryVersion is the layout of a written History; another one has to be built again from readings.
const HistoryVersion = 9

// History is the reduced record of a collector: hours, cleaning cycles and valve counts instead of
// rows. A year of one-minute rows becomes a few megabytes. It can be written with Write, and a
// Reducer made by Resume goes on with it where the last row ended. Safe for concurrent reading.
type History struct {
	Version   int
	First     int64 // time of the first row [unix ns]; 0 when empty
	Last      int64 // time of the last row taken [unix ns]
	Rows      int64
	Late      int64               // rows not taken: their time was not after the last one taken
	Offset    int32               // the log's clock, seconds east of UTC; it says where a day begins
	Seen      uint32              // bit c set: channel c has had a reading
	RunBy     [NumChannels]uint32 // rows in which each channel told whether the fan runs; Pulse stands for none
	Hours     hourList            // finished ones
	Cycles    cycleList           // the last MaxCycles of them; Passes keeps their daily medians for ever
	Passes    []Passes            // one per day with cycles
	Firings   []FiringSet
	Turns     bool // its valves are the turns of pulses that are counted, or due by the clock: which valve that is the log does not say
	Recharges []Recharge
	Fine      Fine
	Noted     []Change // changes that somebody logged
	Open      *State   // where the Reducer stands; it holds the rows of the unfinished hour
}

// Stat sums a channel up over an hour.
type Stat struct {
	N        uint32
	Mean     float32
	SD       float32 // standard deviation of the readings, 0 for one
	Min, Max float32
}

// Hour is one hour of the record. Stats of channels that depend on the fan are over the rows while
// it ran, the others (header, temperature, humidity, barometer, bin) over all rows; BinMass has the
// sum as Mean times N.
type Hour struct {
	Start    int64  // [unix s]
	Last     uint16 // last row [s after Start]
	Rows     uint32
	Step     float32 // usual time between rows [s]
	Running  float32 // time the fan ran [h]
	Cleaning float32 // of which the controller was cleaning [h]
	Pulses   uint32  // fired while the fan ran
	Offline  uint32  // fired while it stood
	Has      uint32  // bit c set: Stats has an entry for channel c
	Stats    []Stat  // in channel order
	DP       HourDP
	Air      HourAir
}

// HourDP is what an hour says about the dP reading itself.
type HourDP struct {
	N             uint32  // readings while running
	P10, P50, P90 float32 // [Pa], running
	Noise         float32 // scatter of single readings [Pa], from second differences; NaN below 5 readings
	Frozen        uint32  // readings equal to the one before
	Negative      uint32  // readings below zero
	Still         uint32  // readings while the fan stood
	StillMean     float32 // their mean [Pa]
	Fall          float32 // time in which the dP fell to nothing when the fan stopped, the last in the hour [s]; 0 none
	Start         float32 // mean dP of the first minutes after the fan had stood for long [Pa]; 0 none
	Low           Reading // mean of the channels over the rows at or below the lower quartile of dP
}

// HourAir is what an hour says about the compressed air while no valve fires.
type HourAir struct {
	N      uint32  // readings at rest
	Rest   float32 // median header pressure at rest [Pa]
	Noise  float32 // scatter of single readings at rest [Pa]
	Trend  float32 // slope at rest [Pa/s]
	Busy   float32 // mean header pressure in rows with pulses, or in which it says that it cleans where no valve is ever named [Pa]
	BusyN  uint32
	Soon   float32 // mean header pressure just after cleaning [Pa]: no longer than soonAfter since the last pulse, or in the first row since
	SoonN  uint32
	Late   float32 // mean header pressure more than lateAfter since the last pulse [Pa]
	LateN  uint32
	Stood  float32 // mean header pressure while the fan stands, more than lateAfter since the last pulse [Pa]
	StoodN uint32
}

// Of returns the hour's summary of channel c, and false where the hour has none.
func (h *Hour) Of(c Channel) (Stat, bool) {
	bit := uint32(1) << c
	if h.Has&bit == 0 {
		return Stat{}, false
	}
	return h.Stats[bits.OnesCount32(h.Has&(bit-1))], true
}

// Mean returns the hour's mean of channel c, NaN where the hour has none.
func (h *Hour) Mean(c Channel) float64 {
	if s, ok := h.Of(c); ok {
		return float64(s.Mean)
	}
	return math.NaN()
}

// readingChannels are the channels a Reading holds, in its order: those that say how much air moves
// and against what.
var readingChannels = [...]Channel{DP, AfterfilterDP, Flow, FlowIndex, FanCurrent, FanPower, InletSP, Damper, Temperature, Barometer}

// readingSlot is the place of a channel in a Reading, plus one; 0 where it has none.
var readingSlot = func() (s [NumChannels]int) {
	for i, c := range readingChannels {
		s[c] = i + 1
	}
	return s
}()

// Reading is the mean of the channels over a few neighbouring rows; NaN where there was no reading.
type Reading [len(readingChannels)]float32

// Of returns channel c of the reading, NaN where it is not held.
func (r *Reading) Of(c Channel) float64 {
	if s := readingSlot[c]; s > 0 {
		return float64(r[s-1])
	}
	return math.NaN()
}

// noReading is a Reading that holds nothing.
func noReading() (r Reading) {
	for i := range r {
		r[i] = float32(math.NaN())
	}
	return r
}

// CycleSource says what shows a cleaning cycle.
type CycleSource uint8

// What showed a cycle, best first.
const (
	NoCycles   CycleSource = iota
	ByPulse                // the log names the valves that fired
	ByFlag                 // the log's cleaning channel
	BySawtooth             // the fall of the dP itself
	ByStop                 // the dP was lower after a standstill than before: downtime cleaning, or hands
)

// String names the source as a channel of the log, or in plain words.
func (s CycleSource) String() string {
	return [...]string{"", "pulse", "cleaning", "dp", "standstill"}[min(int(s), int(ByStop))]
}

// Cycle is one cleaning cycle and the filtering that led up to it.
type Cycle struct {
	Start, End int64 // [unix ns]
	By         CycleSource
	Long       bool    // cleaning went on past an hour; Before and After belong to different cleanings
	Cut        bool    // it was still going on when it was cut off here
	Pulses     int32   // fired in it; 0 unknown
	Before     Reading // just before; DP is the level at which cleaning began
	After      Reading // just after it ended
	BeforeSD   float32 // standard uncertainty of Before's dP from scatter [Pa]
	AfterSD    float32 // same of After's
	Filtering  float32 // running time since the cycle before [h]; NaN for the first
	Rise       float32 // slope of the raw dP in that time [Pa/h]; NaN unknown
	RiseEarly  float32 // slope of its first half
	RiseLate   float32 // slope of its second half
}

// Passes is a day of cleaning cycles: medians and their scatter.
type Passes struct {
	Day       int64 // start of the day by the log's clock [unix s]
	By        CycleSource
	N         int32   // cycles
	Long      int32   // cycles that went on past an hour, not in the medians
	Cut       int32   // hours of cleaning that went on
	Pulses    float32 // median per cycle; 0 unknown
	Duration  float32 // median [s]
	Filtering float32 // median running time between cycles [h]
	Before    Reading // medians, channel by channel
	After     Reading
	BeforeSD  float32 // robust standard deviation of the cycles' own dP before [Pa]
	AfterSD   float32
	Fall      float32 // median fall of the dP in one cycle, as read [Pa]
	FallSD    float32
	Rise      float32 // median [Pa/h]
	RiseSD    float32
	Bend      float32 // median of late slope over early slope
}

// FiringSet gathers, for a day, the rows in which the same set of valves fired.
type FiringSet struct {
	Day       int64  // start of the day by the log's clock [unix s]
	Mask      uint64 // bit v-1 set: valve v fired; valves above 64 stand alone in Valve
	Valve     uint8  // the valve, where exactly one fired
	Rows      uint32
	Drop      Moments // fall of the header below its level before [Pa]
	Rel       Moments // the same over the absolute level before [1]: a choked valve takes the same share of what there is
	NoDrop    uint32  // rows in which the header did not fall beyond five times its noise
	Edge      [2]Edge // of one valve, the rows behind Drop that began and that ended a cleaning
	DPStep    Moments // fall of the filters' dP [Pa]
	Emission  Moments // rise of the leak detector
	Recovered Moments // share of the drop put back before the next pulse
	Left      Moments // for one valve: what the header still lacked at the end of rows in which it fired last [Pa]
	Puff      Moments // the same of the leak detector: its rise, at the end of such rows
	Held      Moments // for one valve: what the header lacked at the end of rows in which it fired last, over what it lacked so long after others of the same bout [1]
	Beside    Lasts   // rows behind Left with others of the same bout that end alike: whether it lacked well above its noise
	Lone      Lasts   // the other rows behind Left
	Alike     Lasts   // rows like those behind Held: whether it lacked more than next to nothing
	HeldPuff  Moments // the same of the leak detector: how much higher it stood
	LastDrop  int64   // last time the header fell [unix ns]; 0 never
	FirstDead int64   // first time after LastDrop that it did not fall [unix ns]; 0 never
	Dead      uint32  // rows of NoDrop from then on
}

// fell takes a fall of the header in from a level before, both in Pa.
func (f *FiringSet) fell(drop, before float64) {
	f.Drop.add(drop)
	f.Rel.add(drop / (before + unit.Atmosphere))
}

// missed counts a row at t [unix ns] in which the header did not fall.
func (f *FiringSet) missed(t int64) {
	f.NoDrop++
	if f.FirstDead == 0 {
		f.FirstDead = t
	}
	f.Dead++
}

// dropped counts a row at t [unix ns] in which it did.
func (f *FiringSet) dropped(t int64) { f.LastDrop, f.FirstDead, f.Dead = t, 0, 0 }

// Edge counts rows at one edge of a cleaning or amid it, and those in which the header did not fall.
type Edge struct{ Rows, NoDrop uint32 }

// Moments keeps what is needed for a mean and its scatter.
type Moments struct {
	N        uint32
	Sum, Sq  float64
	Min, Max float32
}

// add takes one value in; NaN is passed over.
func (m *Moments) add(x float64) {
	if x != x {
		return
	}
	if m.N == 0 || float32(x) < m.Min {
		m.Min = float32(x)
	}
	if m.N == 0 || float32(x) > m.Max {
		m.Max = float32(x)
	}
	m.N++
	m.Sum += x
	m.Sq += x * x
}

// merge takes another set of moments in.
func (m *Moments) merge(o Moments) {
	if o.N == 0 {
		return
	}
	if m.N == 0 {
		*m = o
		return
	}
	m.Min, m.Max = min(m.Min, o.Min), max(m.Max, o.Max)
	m.N += o.N
	m.Sum += o.Sum
	m.Sq += o.Sq
}

// Mean returns the mean and its standard error; NaN and +Inf when empty. A single value has the
// error +Inf.
func (m Moments) Mean() (mean, se float64) {
	if m.N == 0 {
		return math.NaN(), math.Inf(1)
	}
	n := float64(m.N)
	mean = m.Sum / n
	if m.N < 2 {
		return mean, math.Inf(1)
	}
	return mean, math.Sqrt(max(0, m.Sq/n-mean*mean) / (n - 1))
}

// Recharge is one refilling of the header or of a reservoir that no pulse explains: a compressor or
// a regulator that works between two levels.
type Recharge struct {
	Start, End int64   // [unix ns]; the rise
	Low, High  float64 // [Pa, gauge]
	Fall       float64 // slope of the fall that led to it [Pa/s], negative; NaN for the first
	FallTime   float64 // how long that fall took [s]; NaN for the first
}

// Since returns the start as a time in UTC.
func (r Recharge) Since() time.Time { return time.Unix(0, r.Start).UTC() }

// day returns the start of the day, by the log's clock, that holds t [unix s].
func (h *History) day(t int64) int64 {
	const d = 86400
	local := t + int64(h.Offset)
	return local - ((local%d)+d)%d - int64(h.Offset)
}

// Note adds a change that somebody logged, such as new filters; From and To say how well its time is
// known. It replaces an earlier note of the same kind within a minute.
func (h *History) Note(c Change) {
	c.Logged, c.Confidence = true, 1
	if c.From.IsZero() || c.To.IsZero() {
		c.From, c.To = c.At, c.At
	}
	for i, o := range h.Noted {
		if o.Kind == c.Kind && o.At.Sub(c.At).Abs() < time.Minute {
			h.Noted[i] = c
			return
		}
	}
	h.Noted = append(h.Noted, c)
	slices.SortStableFunc(h.Noted, func(a, b Change) int { return a.At.Compare(b.At) })
}

// Write writes the history so that ReadHistory gets it back unchanged.
func (h *History) Write(w io.Writer) error {
	if err := gob.NewEncoder(w).Encode(h); err != nil {
		return fmt.Errorf("sense: write history: %w", err)
	}
	return nil
}

// ReadHistory reads what Write wrote. A history of another layout is an error that says to build it
// again from the readings.
func ReadHistory(r io.Reader) (*History, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, fmt.Errorf("sense: read history: %w", err)
	}
	h := new(History)
	if err = gob.NewDecoder(bytes.NewReader(text)).Decode(h); err != nil {
		var only struct{ Version int } // of another layout this may be all that can be read
		if gob.NewDecoder(bytes.NewReader(text)).Decode(&only) != nil || only.Version == HistoryVersion {
			return nil, fmt.Errorf("sense: read history: %w", err)
		}
		h.Version = only.Version
	}
	if h.Version != HistoryVersion {
		return nil, fmt.Errorf("sense: this history has layout %d and this program reads %d; build it again from the readings", h.Version, HistoryVersion)
	}
	return h, nil
}
