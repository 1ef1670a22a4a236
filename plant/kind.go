package plant

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"dustwright/collector"
	"dustwright/unit"
)

// Kind says what a record is about.
type Kind string

// The kinds of record.
const (
	KindReading        Kind = "reading"
	KindFilterChange   Kind = "filter-change"
	KindDamperMove     Kind = "damper-move"
	KindSetPointChange Kind = "setpoint-change"
	KindValveRepair    Kind = "valve-repair"
	KindValveCheck     Kind = "valve-check"
	KindBinEmptied     Kind = "bin-emptied"
	KindInspection     Kind = "inspection"
	KindCommissioning  Kind = "commissioning"
	KindArrival        Kind = "arrival"
	KindTraverse       Kind = "traverse"
	KindAirCheck       Kind = "air-check"
	KindHoodReading    Kind = "hood-reading"
	KindCheckAnswer    Kind = "check-answer"
	KindCaution        Kind = "caution"
	KindCollectorFile  Kind = "collector-file"
	KindNote           Kind = "note"
)

// Body is the content of a record. Valid returns a sentence where it can't be right; it never
// refuses a value for being unusual.
type Body interface {
	Kind() Kind
	Valid() error
}

// Reading is what somebody read from the machine, channel by channel in SI, with the text typed.
type Reading struct {
	Values map[string]float64 `json:"values"`          // log spelling of the channel to SI value
	Typed  map[string]string  `json:"typed,omitempty"` // as the person entered it
	Note   string             `json:"note,omitempty"`
	Photo  string             `json:"photo,omitempty"` // blob
}

// FilterChange is the renewal of filters, row by row.
type FilterChange struct {
	Rows     []RowChange   `json:"rows"`
	Reason   string        `json:"reason,omitempty"`
	DPBefore unit.Pressure `json:"dpBefore,omitempty"` // [Pa]
	DPAfter  unit.Pressure `json:"dpAfter,omitempty"`  // [Pa]
	Note     string        `json:"note,omitempty"`
}

// RowChange is one row of a filter change.
type RowChange struct {
	Row      int    `json:"row"` // 1 is the top
	OldLot   string `json:"oldLot,omitempty"`
	NewLot   string `json:"newLot,omitempty"`
	OldState string `json:"oldState,omitempty"` // what the old filter looked like
}

// DamperMove is a damper set to another opening.
type DamperMove struct {
	From unit.Share `json:"from"` // -1 unknown
	To   unit.Share `json:"to"`
	Why  string     `json:"why,omitempty"`
	Flow unit.Flow  `json:"flow,omitempty"` // measured after, [m3/s]; 0 not measured
}

// SetPointChange is a change of the collector file's set points, by key.
type SetPointChange struct {
	Keys map[string]string `json:"keys"` // such as "setpoints.high": "3.5 in.w.g."
	Why  string            `json:"why,omitempty"`
}

// ValveRepair is work on one pulse valve.
type ValveRepair struct {
	Valve int    `json:"valve"`
	Part  string `json:"part"` // "pilot", "diaphragm", "wiring", "hose", other
	Note  string `json:"note,omitempty"`
}

// ValveCheck is the result of a header trace, a recording or a check by hand, valve by valve.
type ValveCheck struct {
	By     string          `json:"by"`             // "trace", "sound" or "hand"
	Blob   string          `json:"blob,omitempty"` // what was uploaded
	Result json.RawMessage `json:"result"`
}

// BinEmptied is dust taken away.
type BinEmptied struct {
	Mass  unit.Mass  `json:"mass,omitempty"`  // [kg]; 0 not weighed
	Level unit.Share `json:"level,omitempty"` // how full it was; 0 not looked at
}

// Item is one line of an inspection, an arrival or a commissioning step.
type Item struct {
	What   string  `json:"what"`
	Result string  `json:"result"` // "ok", "not-ok", "not-done"
	Value  float64 `json:"value,omitempty"`
	Unit   string  `json:"unit,omitempty"` // SI unit of Value
	Note   string  `json:"note,omitempty"`
	Photo  string  `json:"photo,omitempty"`
}

// Inspection is a round of looking: the six-monthly one, the clean side, the fan.
type Inspection struct {
	Task  string `json:"task,omitempty"` // id of the task it fulfils
	Items []Item `json:"items"`
}

// Commissioning is one step of the guided start-up.
type Commissioning struct {
	Step     string `json:"step"`
	Items    []Item `json:"items"`
	Accepted bool   `json:"accepted"`
	Why      string `json:"why,omitempty"`   // why it was not accepted, in US units
	WhySI    string `json:"whySI,omitempty"` // the same in SI, where it reads otherwise
}

// NotAccepted puts on the record why a step was not accepted.
func (c *Commissioning) NotAccepted(why collector.Text) {
	c.Accepted, c.Why = false, why.In(unit.US)
	if c.WhySI = why.In(unit.SI); c.WhySI == c.Why {
		c.WhySI = ""
	}
}

// Says is why a step was not accepted, in the units of a system.
func (c *Commissioning) Says(sys unit.System) string {
	if sys == unit.SI && c.WhySI != "" {
		return c.WhySI
	}
	return c.Why
}

// Arrival is the inspection of a delivery against the order.
type Arrival struct {
	Items  []Item   `json:"items"`
	Damage string   `json:"damage,omitempty"`
	Photos []string `json:"photos,omitempty"`
}

// Traverse is a measured airflow.
type Traverse struct {
	Flow   unit.Flow       `json:"flow"`  // [m3/s]
	Sigma  unit.Flow       `json:"sigma"` // standard uncertainty
	Result json.RawMessage `json:"result"`
}

// AirCheck is what was measured of the compressed air, by the names of collector.AirFields in SI, with the text typed.
type AirCheck struct {
	Values map[string]float64 `json:"values"`
	Typed  map[string]string  `json:"typed,omitempty"` // as the person entered it
	Note   string             `json:"note,omitempty"`
}

// HoodReading is a round of static pressures read with a manometer behind the hoods.
type HoodReading struct {
	Hoods       []HoodPressure   `json:"hoods"`
	Temperature unit.Temperature `json:"temperature,omitempty"` // of the air [K]; 0 not measured
	Says        collector.Text   `json:"says,omitzero"`         // what followed from them then
}

// HoodPressure is the static pressure behind one hood, with the flow that followed from it then.
type HoodPressure struct {
	Branch string        `json:"branch"`
	SP     unit.Pressure `json:"sp"`             // [Pa], negative is suction
	Flow   unit.Flow     `json:"flow,omitempty"` // [m3/s]; 0 not known
}

// CheckAnswer is what was found on doing a check.
type CheckAnswer struct {
	Check  string `json:"check"`
	Number int    `json:"number,omitempty"`
	Yes    bool   `json:"yes"`
}

// Caution records that a caution was read before hands-on work.
type Caution struct {
	Text string `json:"text"`
	For  string `json:"for"` // the page or work it opened
}

// CollectorFile is a new or changed collector file, whole.
type CollectorFile struct {
	TOML string `json:"toml"`
}

// Note is free text, with or without a photo.
type Note struct {
	Text  string `json:"text"`
	Photo string `json:"photo,omitempty"`
}

func (Reading) Kind() Kind        { return KindReading }
func (FilterChange) Kind() Kind   { return KindFilterChange }
func (DamperMove) Kind() Kind     { return KindDamperMove }
func (SetPointChange) Kind() Kind { return KindSetPointChange }
func (ValveRepair) Kind() Kind    { return KindValveRepair }
func (ValveCheck) Kind() Kind     { return KindValveCheck }
func (BinEmptied) Kind() Kind     { return KindBinEmptied }
func (Inspection) Kind() Kind     { return KindInspection }
func (Commissioning) Kind() Kind  { return KindCommissioning }
func (Arrival) Kind() Kind        { return KindArrival }
func (Traverse) Kind() Kind       { return KindTraverse }
func (AirCheck) Kind() Kind       { return KindAirCheck }
func (HoodReading) Kind() Kind    { return KindHoodReading }
func (CheckAnswer) Kind() Kind    { return KindCheckAnswer }
func (Caution) Kind() Kind        { return KindCaution }
func (CollectorFile) Kind() Kind  { return KindCollectorFile }
func (Note) Kind() Kind           { return KindNote }

// Open returns the body of a record as its type.
func Open(r Record) (Body, error) {
	body, ok := blank(r.Kind)
	if !ok {
		return nil, fmt.Errorf("record %s: %w", r.ID, unknown("kind of record", string(r.Kind), namesOf(Kinds(), func(k Kind) string { return string(k) })))
	}
	dec := json.NewDecoder(strings.NewReader(string(r.Body)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(body); err != nil {
		return nil, fmt.Errorf("record %s: its body does not fit a %s: %w", r.ID, r.Kind, err)
	}
	return body, body.Valid()
}

// bodies makes an empty body of each kind.
var bodies = []func() Body{
	func() Body { return &Reading{} }, func() Body { return &FilterChange{} }, func() Body { return &DamperMove{} },
	func() Body { return &SetPointChange{} }, func() Body { return &ValveRepair{} }, func() Body { return &ValveCheck{} },
	func() Body { return &BinEmptied{} }, func() Body { return &Inspection{} }, func() Body { return &Commissioning{} },
	func() Body { return &Arrival{} }, func() Body { return &Traverse{} }, func() Body { return &HoodReading{} }, func() Body { return &AirCheck{} },
	func() Body { return &CheckAnswer{} },
	func() Body { return &Caution{} }, func() Body { return &CollectorFile{} }, func() Body { return &Note{} },
}

func blank(k Kind) (Body, bool) {
	for _, make := range bodies {
		if b := make(); b.Kind() == k {
			return b, true
		}
	}
	return nil, false
}

// Kinds lists the kinds of record there are.
func Kinds() []Kind {
	out := make([]Kind, 0, len(bodies))
	for _, make := range bodies {
		out = append(out, make().Kind())
	}
	return out
}

// finite reports whether v is a number.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
