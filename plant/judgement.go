package plant

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

// Judgement is what is concluded about one collector at one time, in the form in which it is
// printed, stored and shown: SI values with their units beside them, and nil for what can't be
// answered, which then stands under Missing.
type Judgement struct {
	Collector string              `json:"collector"`
	Service   string              `json:"service,omitempty"`
	At        time.Time           `json:"at"`
	Standing  judge.Standing      `json:"standing"`
	Causes    []judge.Probability `json:"causes"`
	Pair      *judge.Pair         `json:"pair,omitempty"` // two causes at once, where they fit better than any alone
	Since     *Span               `json:"since"`          // when the trouble began
	Reasons   []collector.Text    `json:"reasons"`        // in the reader's units: In
	NextCheck *judge.Check        `json:"nextCheck"`
	Reading   *Pressure           `json:"reading"` // the dP as last read
	Airflow   *Airflow            `json:"airflow"`
	Drag      *Drag               `json:"drag"`

	AfterFilter *AfterFilter `json:"afterFilter,omitempty"` // nil where there is none, or nobody reads it

	Life    *Life           `json:"life"`
	Trim    *Trim           `json:"trim"`
	Ducts   *Ducts          `json:"ducts,omitempty"`   // nil where the file has no branch with diameter and flow
	Changes []Change        `json:"changes,omitempty"` // work found in the record or logged
	Missing []judge.Missing `json:"missing"`

	Experience string `json:"experience,omitempty"` // mark of what the plant knew better then; "" nothing
}

// In returns the judgement with its sentences as they are printed in a system of units. As JSON it is in US units without it.
func (j *Judgement) In(sys unit.System) *Judgement {
	return j.retold(func(t collector.Text) collector.Text { return t.Fixed(sys) })
}

// kept returns the judgement as it is put away: with its sentences in both systems, whoever reads them then.
func (j *Judgement) kept() *Judgement { return j.retold(collector.Text.Kept) }

// retold returns the judgement with another text for every sentence.
func (j *Judgement) retold(tell func(collector.Text) collector.Text) *Judgement {
	if j == nil {
		return nil
	}
	out := *j
	out.Reasons = slices.Clone(j.Reasons)
	for i, t := range out.Reasons {
		out.Reasons[i] = tell(t)
	}
	out.Changes = slices.Clone(j.Changes)
	for i, c := range out.Changes {
		out.Changes[i].Text = tell(c.Text)
	}
	if j.NextCheck != nil {
		next := *j.NextCheck
		next.Text, next.Finding, next.Caution = tell(next.Text), tell(next.Finding), tell(next.Caution)
		out.NextCheck = &next
	}
	return &out
}

// Span is a time with its 90 % interval.
type Span struct {
	At   time.Time `json:"at"`
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// sharp and vague are the widths of a span below which its hour is told, and above which nothing but the span.
const sharp, vague = 12 * time.Hour, 4 * 24 * time.Hour

// Hourly reports that the time is known to hours.
func (s *Span) Hourly() bool { return s.To.Sub(s.From) <= sharp }

// Wide reports that the time is known to many days only: then From and To say more than At.
func (s *Span) Wide() bool { return s.To.Sub(s.From) > vague }

// Pressure is a pressure with its unit.
type Pressure struct {
	Value float64   `json:"value"`
	Unit  string    `json:"unit"`
	At    time.Time `json:"at"`
}

// Airflow is the airflow now, with an interval of 80 %.
type Airflow struct {
	Value       float64 `json:"value"`
	Low         float64 `json:"low"`
	High        float64 `json:"high"`
	Unit        string  `json:"unit"`
	Method      string  `json:"method"` // "measured" or "inferred"
	By          string  `json:"by"`     // what it was inferred from, heaviest first
	DesignShare float64 `json:"designShare"`
}

// Drag is the state of the filters just after cleaning.
type Drag struct {
	AfterCleaning  float64 `json:"afterCleaning"`
	Sigma          float64 `json:"sigma"`
	Unit           string  `json:"unit"`
	DPAtDesignFlow float64 `json:"dpAtDesignFlow"`
	DPUnit         string  `json:"dpUnit"`
}

// AfterFilter is the state of the after-filter.
type AfterFilter struct {
	DPAtDesignFlow float64 `json:"dpAtDesignFlow"`
	DPUnit         string  `json:"dpUnit"`
}

// Life is what is left of the filters. Dates beyond three years are nil.
type Life struct {
	P10      Date       `json:"p10"`
	P50      Date       `json:"p50"`
	P90      Date       `json:"p90"`
	Limit    string     `json:"limit"` // "dp", "flow", "air", "afterfilter"
	OrderBy  Date       `json:"orderBy"`
	Basis    string     `json:"basis,omitempty"`    // what the forecast leans on, in plain words
	Cured    *Cured     `json:"cured,omitempty"`    // the life once the trouble present is put right
	Cheapest *Cheapest  `json:"cheapest,omitempty"` // when a change costs least
	Fan      []FanPoint `json:"fan,omitempty"`      // what is expected of the dP that ages
}

// Cheapest is the date of least cost for a change of the filters.
type Cheapest struct {
	Date     Date      `json:"date"`
	AtLimit  bool      `json:"atLimit"` // a change before the limit does not pay
	PerWeek  float64   `json:"perWeek"` // what the filters cost in a week of running when changed then
	Currency string    `json:"currency"`
	Waiting  []Waiting `json:"waiting,omitempty"` // what waiting longer costs
}

// Waiting is the extra cost of a change some weeks after the cheapest date.
type Waiting struct {
	Weeks int     `json:"weeks"`
	Extra float64 `json:"extra"`
}

// FanPoint is the dP expected at a time, at design flow [Pa].
type FanPoint struct {
	At  time.Time `json:"at"`
	P10 float64   `json:"p10"`
	P50 float64   `json:"p50"`
	P90 float64   `json:"p90"`
}

// Cured is the life of the filters once the trouble present is put right.
type Cured struct {
	P10 Date `json:"p10"`
	P50 Date `json:"p50"`
	P90 Date `json:"p90"`
}

// Trim is the damper position for design flow with the filters as they are now.
type Trim struct {
	Open     float64 `json:"open"`
	Flow     float64 `json:"flow"`
	FlowUnit string  `json:"flowUnit"`
	Holds    bool    `json:"holds"` // false: fully open and still short of design flow
}

// Change is work done, logged or found in the record.
type Change struct {
	At     time.Time      `json:"at"`
	Kind   string         `json:"kind"`
	Text   collector.Text `json:"text"`
	Logged bool           `json:"logged"`
}

// Date is a date in the future: null when zero, a calendar day as a rule, and with its time of day
// where Fine says that the hours matter.
type Date struct {
	time.Time
	Fine bool
}

// MarshalJSON writes null, a day, or an RFC 3339 time.
func (d Date) MarshalJSON() ([]byte, error) { return json.Marshal(d.text()) }

// UnmarshalJSON reads what MarshalJSON writes.
func (d *Date) UnmarshalJSON(data []byte) error {
	var text *string
	if err := json.Unmarshal(data, &text); err != nil || text == nil {
		*d = Date{}
		return err
	}
	if day, err := time.Parse(time.DateOnly, *text); err == nil {
		*d = Date{Time: day}
		return nil
	}
	at, err := time.Parse(time.RFC3339Nano, *text)
	*d = Date{Time: at, Fine: true}
	return err
}

// on is the time at which a date begins on a clock: a day, read back from JSON, is that day everywhere.
func (d Date) on(zone *time.Location) time.Time {
	if d.Fine || d.IsZero() {
		return d.In(zone)
	}
	year, month, day := d.Date()
	return time.Date(year, month, day, 0, 0, 0, 0, zone)
}

func (d Date) text() any {
	switch {
	case d.IsZero():
		return nil
	case d.Fine:
		return d.Format(time.RFC3339)
	}
	return d.Format(time.DateOnly)
}

// rounded returns v to n significant digits, so that printed values carry no false precision.
func rounded(v float64, digits int) float64 {
	if v == 0 || !finite(v) {
		return v
	}
	scale := math.Pow(10, float64(digits)-1-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}
