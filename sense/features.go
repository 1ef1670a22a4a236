package sense

import (
	"math"
	"time"
)

// Estimate is a value with its width. Value is NaN where nothing can be said; Missing then says
// why, in plain words, and otherwise what a missing channel cost.
type Estimate struct {
	Value   float64
	Sigma   float64 // standard uncertainty, in the unit of Value; +Inf or NaN with a NaN Value
	N       int     // readings, cycles or pulses behind it
	Missing string  // plain words: what was not there, and what that does to the estimate
}

// Known reports whether the estimate has a value.
func (e Estimate) Known() bool { return !math.IsNaN(e.Value) && e.N > 0 }

// Unknown returns an estimate without a value, with the reason.
func Unknown(why string) Estimate {
	return Estimate{Value: math.NaN(), Sigma: math.Inf(1), Missing: why}
}

// Quantity names one feature of a collector that is followed day by day.
type Quantity uint8

// The quantities followed, with their units. "At design flow" means what the reading would be at
// the design airflow and at 20 degC; "running" means while the fan runs.
const (
	FlowShare        Quantity = iota // airflow over design airflow, running [1]
	DragAfter                        // drag just after a cleaning cycle [Pa s/m]
	DragBefore                       // drag at the start of a cleaning cycle [Pa s/m]
	DPLow                            // 10th percentile of a day's running dP at design flow [Pa]
	DPHigh                           // 90th percentile of the same [Pa]
	DPRaw                            // median of the running dP as read [Pa]
	Trigger                          // dP as read when cleaning starts [Pa]
	Stop                             // dP as read when cleaning ends [Pa]
	Recovered                        // share of the drag that one cycle takes off [1]
	DropPerCycle                     // fall of dP at design flow in one cycle [Pa]
	DropPerPulse                     // fall of dP at design flow for each pulse [Pa]
	RiseRate                         // rise of dP at design flow while not cleaning [Pa/h]
	RiseBend                         // rise rate late in a cycle over the rate early in it [1]; a damp cake rises ever faster
	CyclesPerHour                    // cleaning cycles per running hour [1/h]
	PulsesPerHour                    // pulses per running hour [1/h]
	PulsesPerCycle                   // pulses in one cycle [1]
	CleaningShare                    // share of the running time spent cleaning [1]
	HeaderLevel                      // header pressure at rest [Pa]
	HeaderDrop                       // fall of the header in one pulse, all valves [Pa]
	HeaderRecovery                   // share of that fall put back before the next pulse [1]
	HeaderTrend                      // change of the header pressure at rest, between cycles [Pa/min]; negative leaks
	AfterfilterLevel                 // after-filter dP at design flow [Pa]
	FanCurrentRatio                  // motor current over that expected at the inferred flow [1]
	FanPowerRatio                    // motor power over that expected at the inferred flow [1]
	FanCurrentLevel                  // motor current, running [A]
	FanPowerLevel                    // motor power, running [W]
	InletSPLevel                     // inlet static pressure as read, running [Pa]
	InletSPRatio                     // inlet resistance over that of commissioning, at the flow given by the other channels [1]
	DamperOpen                       // damper opening [1]
	ReadingNoise                     // scatter of neighbouring dP readings, running [Pa]
	FrozenShare                      // share of running dP readings that repeat the last one exactly [1]
	NegativeShare                    // share of running dP readings below zero [1]
	StoppedDP                        // dP while the fan stands [Pa]; the gauge's zero
	EmissionLevel                    // leak detector between pulses, any unit
	EmissionPeak                     // rise of the leak detector after a pulse, any unit
	BinFill                          // bin level [1]
	HumidityLevel                    // relative humidity [1]
	TemperatureMean                  // air temperature [K]
	RunningHours                     // running hours of the day [h]
	BinRate                          // rise of the bin level per running hour, emptying left out [1/h]
	HourlyRise                       // usual change of the dP at design flow from one running hour to the next, cleanings left out [Pa/h]
	DustTaken                        // dust taken out of the bin, over the running time since it was last taken [kg/s]
	AirBeyond                        // airflow beyond what dP and damper make it by the collector's own record, in the log [1]
	SuctionBeyond                    // the same of the inlet suction, half its log [1]
	MotorBeyond                      // the same of the fan's power or current [1]
	DuctBeyond                       // the inlet suction beyond what the airflow makes it, half its log [1]
	LoadBeyond                       // the fan's power or current beyond what the airflow makes it [1]
	DrawBeyond                       // the fan's power or current beyond what the inlet suction makes it [1]
	AfterBeyond                      // the after-filter's dP over what the airflow makes it: as it fills evenly this rises evenly, not its log [1]
	HeaderLacks                      // what the header lacks on average in rows with pulses, or in which it says that it cleans, over its level at rest [1]
	HeaderNoise                      // scatter of neighbouring header readings at rest [Pa]
	HeaderBehind                     // what the header lacks just after cleaning of what it stands at long after, over that [1]; a supply that is short fills it slowly
	HeaderSwing                      // standard deviation of the header at rest from hour to hour, over its level [1]
	HeaderLowest                     // lowest header pressure of an hour in which it cleans [Pa]
	FlowOverCurve                    // airflow by what does not stand on the dP, over what the fan's curve makes of dP and damper by the file [1]
	StoppedApart                     // standard deviation from hour to hour of the dP while the fan stands [Pa]; a gauge off its lines reads where the fan runs
	FallTime                         // time in which the dP falls to nothing when the fan stops [s]; a blocked line lets it down late
	DPFloor                          // low end of the dP as read, over the hours through which the fan ran [Pa]; where cleaning takes it, with or without a saw-tooth
	DPCeiling                        // high end of the same [Pa]
	HeaderStood                      // header pressure while the fan stands, long after cleaning [Pa]
	HeaderSags                       // what the header's level while the fan runs lacks of that, over that [1]; a supply that is sound shows while nothing is taken
	HeaderEmptied                    // share of the header's absolute pressure that cleaning takes, down to its lowest [1]; a regulator set low leaves it as it was
	DPSwing                          // standard deviation of the dP as read from hour to hour of a day, over its mean [1]
	DPStart                          // dP as read in the first minutes after the fan has stood for hours [Pa]; set points don't hold it
	DPSpan                           // from the 10th to the 90th percentile of the dP within an hour, over its median [1]; a saw-tooth that turned flat has little
	NumQuantities
)

// Measure is what is known of one quantity: now, in this collector's own normal, and when it left it.
type Measure struct {
	Now    Estimate // over the recent window (Features.Window)
	Fresh  Estimate // over the last freshHours of running alone, for what came up today; unknown where the day has no more
	Normal Estimate // what it would be now if it went on as in this filter life before the recent window and before any onset: the robust centre of those days, carried on along their slope where the quantity ages
	Spread float64  // robust day-to-day standard deviation around the normal trend; NaN unknown
	Days   int      // of how many days Now is the median; 0 where it is one stretch
	Trend  Estimate // slope of the daily values since the last change [unit of the quantity per day]
	Shared float64  // relative standard uncertainty that all values share (scale of the flow, of a gauge) and Now.Sigma leaves out: it cancels where Now is held against Normal; NaN none
	Onset  Onset    // when it left its normal, if it did
	Took   Estimate // running time in which it went from its normal to what it is [h]; unknown where it did not, or is not followed so
}

// Onset is the most likely time at which a quantity left its normal.
type Onset struct {
	Found        bool
	Kind         string    // "step", "ramp", or "slide": a ramp that ended
	At           time.Time // most likely time
	From, To     time.Time // 90 % interval
	Before, Size float64   // level before, and the change since, in the unit of the quantity
	Score        float64   // log likelihood ratio of change against none, after the price of having searched
}

// ValveMeasure is what the record says about one valve and its row.
type ValveMeasure struct {
	Valve        int
	Fired        int       // times the log says it fired in the recent window
	Alone        int       // of these, rows in which no other valve fired and the header was read
	NoDrop       int       // of those alone, rows in which the header did not fall beyond its noise
	Misses       float64   // share of such rows without a drop that a sound valve may show here; see usualMisses
	Drop         Estimate  // header drop when it fires [Pa]
	DropNormal   Estimate  // the same before the recent window
	Share        Estimate  // its drop, over the absolute pressure before it, over the median of the others [1]: dead 0, good 1
	ShareNormal  Estimate  // the same in the first half of the days before the recent window
	DPStep       Estimate  // fall of the filters' dP when it fires [Pa], as read; shared out by least squares where several fired
	DPStepNormal Estimate  // the same before the recent window: the first valves of a cycle always take more
	Left         Estimate  // what the header lacks at the end of rows in which it fired last, over the other valves' [1]: dead 0, good 1
	LeftNormal   Estimate  // the same in the first half of the days before the recent window
	Silent       float64   // how much likelier a dead valve makes it than a sound one that the header lacked so little after it, of late: natural log; 0 where nothing speaks for one
	Still        float64   // the same by rows that end as long after the last pulse as others of the same cleaning
	SilentSince  time.Time // the first day of that; zero if both are 0
	EmissionRise Estimate  // rise of the leak detector when it fires, above that of the others
	Puff         Estimate  // the same at the end of rows in which it fired last
	LastDrop     time.Time // last time the header was seen to fall at it alone; zero never
	Since        time.Time // first time it was seen not to drop, after which it never did; zero if never
}

// Change is something done to the machine, logged or found in the record.
type Change struct {
	At         time.Time
	From, To   time.Time // interval in which it happened
	Kind       string    // "filters", "damper", "setpoint-high", "setpoint-low", "header-set", "gauge"
	Before     float64   // level before, in the unit of what changed; NaN not known
	After      float64
	Unit       string  // SI unit of Before and After
	Confidence float64 // 0..1
	Logged     bool    // somebody noted it; otherwise found by sense
	Why        string  // in plain words, what shows it
}

// LifePoint is one point (a day, or a stretch of running) in the life of a set of filters.
type LifePoint struct {
	At             time.Time
	Hours          float64 // running hours since the filters were put in (or since the record starts)
	Days           float64 // days since the same
	DP             float64 // [Pa] dP just after cleaning (for filters never pulsed: the level), at design flow and reference density
	Sigma          float64 // standard uncertainty of DP [Pa], without what all points of a life share
	Low            float64 // [Pa] 10th percentile of the running dP at design flow: what the dp limit is judged by
	Flow           float64 // airflow over design airflow; NaN unknown
	FlowSigma      float64 // standard uncertainty of Flow
	Dust           float64 // kg of dust per m2 of filter taken up since the start; NaN unknown
	Pulses         float64 // pulses since the start; NaN unknown
	PulseRate      float64 // pulses per running hour; NaN unknown
	Afterfilter    float64 // [Pa] after-filter dP at design flow; NaN unknown
	Damper         float64 // open share; NaN unknown
	PulsesPerCycle float64 // NaN unknown
	PulsesSigma    float64 // standard uncertainty of PulsesPerCycle, which days that are read by the same rows share; NaN unknown
	Cleaning       float64 // share of the running time spent cleaning, where the log says when it cleans; NaN unknown
	Rise           float64 // rise of the dP at design flow while not cleaning [Pa/h]; NaN unknown
	High           float64 // [Pa] 90th percentile of the day's running dP at design flow
	Before         float64 // [Pa] dP just before cleaning, at design flow and reference density; NaN unknown, as PulsesPerCycle is where no cleaning came to its end
	N              int     // cycles or readings behind the point
}

// Life is the stretch between two filter changes.
type Life struct {
	Start, End time.Time
	StartKnown bool    // the record shows, or somebody noted, the change that began it
	Ended      bool    // a change ended it; otherwise it is the one still running
	Shared     float64 // relative standard uncertainty that all points share (flow scale, gauge)
	Pulsed     bool    // filters are cleaned: DP is the level just after cleaning
	Points     []LifePoint
}

// FlowMethod is one way in which the airflow was inferred.
type FlowMethod struct {
	Name       string  // one of ByMeasurement to ByDesign
	Share      float64 // airflow over design, brought into line with the other ways as they were in the record's first days
	Sigma      float64
	Weight     float64 // share of the combined answer, 0..1
	own, scale float64 // parts of Sigma: of this reading, and what all readings share
	apart      float64 // how far it may lie off the others
	assumed    bool    // it takes ducts, fan and damper for what they were
}

// Features is all that sense says about a collector as of a time; later readings are not used.
type Features struct {
	At         time.Time
	From       time.Time         // first reading
	Last       time.Time         // last reading used
	Window     time.Duration     // length of the recent window behind every Now
	Since      time.Time         // start of the filters' present life, or the first reading
	Sampling   time.Duration     // median step between rows
	Present    [NumChannels]bool // channels with readings in the recent window
	Seen       [NumChannels]bool // channels with readings at any time up to At
	Idle       time.Duration     // rows came, and the fan stood in all of them since
	IdleBefore time.Duration     // the longest such stretch before
	Missed     float64           // how long it would have run in that stretch by the same hours of the weeks before [h]
	Extra      float64           // how long it would have stood by these since it runs without a stop [h]
	RunningBy  string            // what says that the fan runs: "running", "fan power", ..., "dp", or "assumed"
	CyclesBy   string            // what shows the cleaning: "pulse", "cleaning", "dp", or "" when nothing does
	Wet        Estimate          // humidity while the pulses, or else the dP, rose to what they are [1]
	FlowBy     []FlowMethod      // how the airflow now was inferred, heaviest first
	FlowNow    Estimate          // airflow now [m3/s]
	Of         [NumQuantities]Measure
	Valves     []ValveMeasure // one per valve seen or known, valve 1 first
	Turns      bool           // no valve is named: the numbers of Valves are the turns of pulses that are counted, or due by the clock, and begin anywhere
	Days       []Day          // daily values, oldest first
	Changes    []Change
	Lives      []Life
	Recharges  []Recharge // of the header or reservoir, recent window
	Notes      []string   // plain words: what is missing and what it costs
}

// FlowAssumed reports that the airflow follows from the dP alone, with ducts, fan and damper taken for what they were.
func (f *Features) FlowAssumed() bool { return len(f.FlowBy) == 1 && f.FlowBy[0].Name == ByCurve }

// Get returns the measure of q.
func (f *Features) Get(q Quantity) *Measure { return &f.Of[q] }

// Day is the daily value of each quantity, NaN where unknown, with its standard uncertainty.
type Day struct {
	Start      time.Time
	Hours      float64 // running hours behind it
	Value      [NumQuantities]float64
	Sigma      [NumQuantities]float64
	n          int     // dP readings, or cycles where there are any
	step       float64 // usual time between rows while the fan runs [s]; 0 none ran
	shape      shape   // of the day's running dP at design flow
	mid, midSD float64 // median of the same, for filters never pulsed [Pa]
	alike      float64 // part of the drag's Sigma that all days share on which its low end stands in for what is just after cleaning [Pa s/m]
}
