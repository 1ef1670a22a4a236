package rehearse

import (
	"encoding/json"
	"io"
	"math"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// Result is what a run gave.
type Result struct {
	Series  Series // the rows, where Options.Keep asked for them
	Truth   Truth
	Summary Summary
}

// Series is the log as plain columns: what sense.Series holds, field by field (the channels have the same order and
// spelling there, so Col[c] of one is Col[c] of the other).
type Series struct {
	Time   []int64                // unix nanoseconds
	Col    [NumChannels][]float64 // SI; nil: not instrumented; NaN: no reading
	Pulses []Firing               // of a log that has them
	Zone   *time.Location
}

// Summary is a run in a few figures.
type Summary struct {
	Days        float64       `json:"days"`
	Ran         float64       `json:"runningHours"`
	LifeDays    jsonFloat     `json:"lifeDays"` // from the start (or the last filter change) to the first limit; null where none bound
	Limit       string        `json:"limit,omitempty"`
	Pulses      int           `json:"pulses"`
	Air         unit.Volume   `json:"air_m3"` // compressed air through valves and leaks, 14.5 psia, 68 degF, dry
	FanEnergy   unit.Energy   `json:"fanEnergy_J"`
	AirEnergy   unit.Energy   `json:"airEnergy_J"`
	Dust        unit.Mass     `json:"dust_kg"`
	LowestFlow  unit.Flow     `json:"lowestFlow_m3_s"`
	MeanFlow    unit.Flow     `json:"meanFlow_m3_s"`
	ShortFlow   unit.Share    `json:"shortFlow"` // of the running time, with less than 95 % of design flow
	AfterClean  unit.Pressure `json:"lowDP_Pa"`  // filters' dP at design flow in the last week, 10th percentile
	Cost        jsonFloat     `json:"cost"`      // electricity, compressed air and filters worn, in the file's currency; null without prices
	CostPerYear jsonFloat     `json:"costPerYear"`
}

// jsonFloat is a number that may be unknown: NaN is null in JSON.
type jsonFloat float64

// MarshalJSON writes null for NaN and infinities.
func (f jsonFloat) MarshalJSON() ([]byte, error) {
	if math.IsNaN(float64(f)) || math.IsInf(float64(f), 0) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(f))
}

// Life is one set of filters: from when, and when the first limit bound.
type Life struct {
	From  time.Time  `json:"from"`
	To    *time.Time `json:"to"` // nil: no limit bound in the run
	Limit string     `json:"limit,omitempty"`
}

// Day is the truth of one day; dP are at design flow in reference air.
type Day struct {
	Date        time.Time     `json:"date"`
	Ran         unit.Seconds  `json:"ran_s"`
	Flow        unit.Flow     `json:"flow_m3_s"`        // mean while running; 0 on a day without
	LowFlow     unit.Flow     `json:"lowFlow_m3_s"`     // lowest
	AfterClean  unit.Pressure `json:"afterCleaning_Pa"` // lowest dP of the filters
	Highest     unit.Pressure `json:"highest_Pa"`
	Residual    unit.Pressure `json:"residual_Pa"` // what a perfect cleaning would leave, at the day's end
	Dust        unit.Mass     `json:"dust_kg"`
	Pulses      int           `json:"pulses"`
	Air         unit.Mass     `json:"air_kg"` // through the valves
	HeaderLow   unit.Pressure `json:"headerLow_Pa"`
	Damper      unit.Share    `json:"damper"`
	AfterFilter unit.Pressure `json:"afterFilter_Pa"`
	Bin         jsonFloat     `json:"bin"`
}

const maxDays = 366 * 41

// Balance is what came in against what went out and what stayed; each pair must agree.
type Balance struct {
	DustIn, DustOnFilters, DustInBin, DustPassed unit.Mass   // In = the other three (filters: gained, those taken out included)
	AirIn, AirValves, AirLeaks, AirInTank        unit.Mass   // In = the other three (tank: gained)
	FanGives, PartsTake                          unit.Energy // energy of the air, by the fan's curve and by the parts' losses
	Shaft, Electric                              unit.Energy
}

// Truth is what was really so in a run: what no log shows.
type Truth struct {
	Collector string           `json:"collector"`
	Seed      uint64           `json:"seed"`
	Start     time.Time        `json:"start"`
	End       time.Time        `json:"end"`
	Notes     []collector.Text `json:"notes,omitempty"` // what was taken where the file is silent
	Strained  bool             `json:"outsideFanCurve,omitempty"`
	Faults    []FaultTruth     `json:"faults"`
	Events    []EventTruth     `json:"events,omitempty"`
	Work      []Work           `json:"work,omitempty"`
	Lives     []Life           `json:"lives"`
	Physics   physicsTruth     `json:"physics"`
	Daily     []Day            `json:"daily"`
	Weekly    []unit.Pressure  `json:"weeklyLow_Pa"` // 10th percentile of the filters' dP at design flow, week by week of running
	Balance   Balance          `json:"balance"`
	Rows      []RowTruth       `json:"rows"`
}

// FaultTruth is a fault with its times.
type FaultTruth struct {
	Fault
	From  time.Time  `json:"from"`
	Full  time.Time  `json:"fullFrom"`
	Until *time.Time `json:"until,omitempty"`
}

// EventTruth is an event with its times.
type EventTruth struct {
	Event
	From    time.Time  `json:"from"`
	Until   *time.Time `json:"until,omitempty"`
	Channel string     `json:"channel,omitempty"`
}

// RowTruth is a row of filters at the end.
type RowTruth struct {
	Residual unit.Drag `json:"residual_Pa_s_m"`
	Cake     float64   `json:"cake_kg_m2"`
	Passed   float64   `json:"passed_kg_m2"`
	Pulses   float64   `json:"pulses"`
}

// physicsTruth names the figures behind the run.
type physicsTruth struct {
	Media       float64 `json:"media_Pa_s_m"`
	K2          float64 `json:"k2_1_s"`
	SeasonRise  float64 `json:"seasonRise_Pa_s_m"`
	SeasonDust  float64 `json:"seasonDust_kg_m2"`
	CreepDust   float64 `json:"creepDust_1_s"`
	CreepPulse  float64 `json:"creepPulse_Pa_s_m"`
	Loading     float64 `json:"loading_kg_m3"`
	Schedule    float64 `json:"running_s_week"`
	Penetration float64 `json:"penetration"`
	ValveC      float64 `json:"valve_m3_s_Pa"`
	SupplyMost  float64 `json:"supply_kg_s"`
}

// WriteTruth writes the truth as indented JSON.
func (r *Result) WriteTruth(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(&r.Truth)
}

func (s *sim) dayTruth(d *dayBook) Day {
	out := Day{Date: s.clock(float64(d.index) * day), Ran: unit.Seconds(d.ran), Dust: unit.Mass(d.dust), Pulses: d.pulses, Air: unit.Mass(d.air),
		Damper: unit.Share(s.side.damper), Bin: jsonFloat(s.binShare()), Residual: unit.Pressure(s.residual())}
	if d.ran > 0 {
		out.Flow, out.LowFlow = unit.Flow(d.flow/d.ran), unit.Flow(d.lowFlow)
		out.AfterClean, out.Highest = unit.Pressure(d.lowXf), unit.Pressure(d.highXf)
	}
	if d.pulses > 0 {
		out.HeaderLow = unit.Pressure(d.head)
	} else {
		out.HeaderLow = s.air.tank.Supply.Set
	}
	if s.after.Half > 0 {
		out.AfterFilter = s.after.DP(unit.Flow(s.design))
	}
	return out
}

// residual is the filters' dP at design flow without any cake [Pa].
func (s *sim) residual() float64 {
	g := 0.0
	for i := range s.bank.Rows {
		g += float64(s.bank.Rows[i].Area) / float64(s.bank.Rows[i].Residual())
	}
	return s.design / g
}

func (s *sim) result() (*Result, error) {
	t := &s.truth
	t.Collector, t.Seed, t.Start, t.End, t.Strained = s.c.Tag, s.o.Seed, s.o.Start, s.clock(s.t), s.strained
	t.Faults = []FaultTruth{}
	for _, f := range s.o.Faults {
		t.Faults = append(t.Faults, FaultTruth{f, s.o.Start.Add(f.After), s.o.Start.Add(f.After + f.Ramp), s.until(f.Until)})
	}
	for _, e := range s.o.Events {
		x := EventTruth{Event: e, From: s.o.Start.Add(e.After), Until: s.until(e.Until)}
		if e.Kind == Drift {
			x.Channel = e.Channel.String()
		}
		if math.IsNaN(x.Value) {
			x.Value = 0
		}
		if math.IsNaN(x.Second) {
			x.Second = 0
		}
		t.Events = append(t.Events, x)
	}
	l := &s.ph.Law
	t.Physics = physicsTruth{float64(l.Media), float64(l.K2), float64(l.SeasonRise), float64(l.SeasonDust), float64(l.CreepDust), float64(l.CreepPulse),
		float64(s.ph.Loading), float64(s.ph.Schedule), float64(s.ph.Penetration), float64(s.ph.Valve.C), float64(s.ph.Tank.Supply.Most)}
	for _, r := range s.bank.Rows {
		t.Rows = append(t.Rows, RowTruth{r.Residual(), float64(r.Cake), float64(r.Passed), r.Pulses})
	}
	t.Balance = s.book.balance(s)
	return &Result{Series: s.log.series, Truth: *t, Summary: s.summary()}, nil
}

func (s *sim) until(d time.Duration) *time.Time {
	if d == 0 {
		return nil
	}
	t := s.o.Start.Add(d)
	return &t
}

func (b *book) balance(s *sim) Balance {
	return Balance{
		DustIn: unit.Mass(b.dustIn), DustOnFilters: s.bank.CakeMass() + unit.Mass(b.cakeGone-b.cakeStart),
		DustInBin: unit.Mass(b.dustBin), DustPassed: unit.Mass(b.dustOut),
		AirIn: unit.Mass(b.airSupplied), AirValves: unit.Mass(b.airValves), AirLeaks: unit.Mass(b.airLeaked), AirInTank: unit.Mass(b.tankEnd - b.tankStart),
		FanGives: unit.Energy(b.given), PartsTake: unit.Energy(b.lost), Shaft: unit.Energy(b.shaft), Electric: unit.Energy(b.electric),
	}
}
