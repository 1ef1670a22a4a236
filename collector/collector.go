// Package collector is one dust collector put together: what its file says about it, the operating
// point where fan, ducts, filters, after-filter and damper meet, the damper position for design
// flow, the cleaning controller, the pulse air it needs, and what in the file looks wrong. It is
// the only package that knows that the fan hangs behind the filters; the physics of each part is
// in air, duct, fan, filter and header. NaN means unknown everywhere: it is accepted wherever something
// may be unknown, and comes back where nothing can be said. It leaves out time: package rehearse runs the machine
// forward. The main source is the collector file itself; where a rule is common practice or from
// memory the function that uses it says so.
//
// # Where to look
//
//   - collector.go: what a machine is. text.go: sentences with quantities. finding.go, fault.go: what is told of a file, and what it can't be read for.
//   - The file: schema.go, schema_branch.go: every key. parse.go, parse_toml.go, literal.go, field.go, points.go, names.go: reading it.
//     crosscheck.go, crosscheck_branch.go: values against each other. print.go, set.go: writing it, changing a key.
//   - The air's way: airpath.go, airpath_parts.go: what takes the pressure. point.go: the operating point. estimate.go: the same with its width.
//     trim.go, trim_warnings.go, end.go: where the damper goes, and what is left at the end of the filters' life.
//   - Ducts: branch.go, tree.go, ducts.go: branches, mains and gates. hoods.go, hoods_says.go: static pressures read behind hoods.
//   - Pulse air: air.go and airrequest.go: the whole answer and what is asked. airleak.go, airback.go, airwater.go: leak test, one pulse
//     watched, water. airspelling.go, airfigures.go: how tests are written, and what is shown.
//   - controller.go: which valve fires when. check.go, check_ducts.go, answers.go: what looks wrong, what can be answered.
package collector

import (
	"math"
	"time"

	"dustwright/unit"
)

// Unknown stands in whole-number fields for "not given"; real numbers use NaN, lists nil, texts "".
const Unknown = -1

// Collector is what the file says, in SI. A value that was left out is NaN (numbers), Unknown
// (whole numbers), nil (lists), "" (texts) or the zero time (dates). Only Tag, Duty.Flow and
// Filters.Rows, PerRow and AreaEach are always there after Load. Make an empty one with New.
// It is a plain value: safe to read from several goroutines while nobody writes.
type Collector struct {
	Source      string // the file it came from, for messages; no key
	Tag         string
	Service     string
	Site        Site
	Duty        Duty
	Filters     Filters
	AfterFilter AfterFilter
	Fan         Fan
	Damper      Damper
	Header      Header
	SetPoints   SetPoints
	Cleaning    Cleaning
	Bin         Bin
	Cost        Cost
	Branches    []Branch
}

// Site is where the machine stands.
type Site struct {
	Elevation unit.Length // above sea level
}

// Duty is what the machine is there to do.
type Duty struct {
	Flow            unit.Flow          // design airflow, actual volume at the collector
	Dust            string             // in the plant's own words
	Loading         unit.Concentration // dust in the air at the inlet
	BulkDensity     unit.Density       // of the dust in the bin
	Combustible     string             // "yes", "no", "unknown"; "" when not given
	RunPerWeek      unit.Seconds       // running time in a week
	MinDuctVelocity unit.Velocity
	InletSP         unit.Pressure // static pressure at the collector inlet at design flow; negative is suction
}

// Filters are the primary filters: Rows pulse valves, PerRow cartridges behind each.
type Filters struct {
	Rows, PerRow int
	AreaEach     unit.Area
	OpenArea     unit.Area     // in plan, between the cartridges, that the air rises through; not given where it comes down
	CleanDP      unit.Pressure // new filters at design flow
	MaxDP        unit.Pressure // at design flow, the end of their life
	Installed    time.Time     // a calendar day, held as midnight UTC
	PriceEach    float64       // in Cost.Currency
}

// Count is the number of cartridges.
func (f Filters) Count() int { return f.Rows * f.PerRow }

// Area is the media area of all cartridges together [m2].
func (f Filters) Area() unit.Area { return unit.Area(float64(f.Count())) * f.AreaEach }

// AfterFilter is the safety filter behind the primary filters.
type AfterFilter struct {
	Fitted  bool          // the file has an [afterfilter] table
	CleanDP unit.Pressure // new, at design flow
	MaxDP   unit.Pressure // at design flow
}

// Fan is the fan and its motor. Curve and Power are taken at Speed and Density.
type Fan struct {
	Speed           unit.Speed
	Density         unit.Density
	Curve           []FanPoint // by rising flow
	Power           []FanPower // by rising flow
	MotorPower      unit.Power // rated, at the shaft
	Voltage         unit.Voltage
	FullLoadCurrent unit.Current
	MotorEfficiency unit.Share
	PowerFactor     unit.Share
}

// FanPoint is one point of the fan's pressure curve.
type FanPoint struct {
	Flow     unit.Flow
	Pressure unit.Pressure // fan static pressure
}

// FanPower is one point of the fan's power curve.
type FanPower struct {
	Flow  unit.Flow
	Power unit.Power // at the shaft
}

// Damper holds the commissioning readings that calibrate the damper, by rising opening.
type Damper struct {
	Points []DamperPoint
}

// DamperPoint is one commissioning reading.
type DamperPoint struct {
	Open     unit.Share
	Flow     unit.Flow     // measured
	FilterDP unit.Pressure // dP across the primary filters at the time
}

// Header is the compressed-air tank with its pulse valves.
type Header struct {
	Volume     unit.Volume
	Set        unit.Pressure    // regulator setting, gauge
	OnTime     unit.Seconds     // how long a pilot is energised
	Interval   unit.Seconds     // from one pulse to the next
	ValveFlow  unit.Conductance // of one pulse valve
	SupplyFlow unit.StdFlow     // what the shop air brings to the header at Set
}

// SetPoints are the dP limits of the cleaning controller.
type SetPoints struct {
	Low, High, Alarm unit.Pressure
}

// Mode is the way the cleaning controller works.
type Mode string

// The modes of the cleaning controller. Timed and Continuous both fire a valve every interval
// while the fan runs, whatever the dP; None is for filters that are never pulsed.
const (
	OnDemand   Mode = "on-demand"
	Timed      Mode = "timed"
	Continuous Mode = "continuous"
	None       Mode = "none"
)

// Cleaning is how the controller is set.
type Cleaning struct {
	Mode           Mode  // "" when not given
	Order          []int // valves in firing order, 1 is the top row
	DowntimeCycles int   // whole cycles fired after the fan stops
}

// Bin is what the dust falls into.
type Bin struct {
	Volume unit.Volume
}

// Cost is what things cost; every amount is in Currency. The file's own bases (a kWh, 1000 scf, an
// hour) are divided out: amounts are per SI unit.
type Cost struct {
	Currency       string
	ElectricityPer float64      // per J
	AirPer         float64      // per m3 of compressed air counted at unit.ScfDensity
	LabourPer      float64      // per s
	ChangeTime     unit.Seconds // to change all filters
	LeadTime       unit.Seconds // from order to filters on site
	OrderRisk      unit.Share   // chance that is accepted of new filters coming too late
	LostPer        float64      // per s of running with filters past their limit: capture lost
}

// Branch is one duct: from a hood, or from where others join it (then it is a main), to where it joins another one or
// ends at the collector.
type Branch struct {
	Name     string
	Into     string // branch or main it joins; "" where it ends at the collector
	Diameter unit.Length
	Length   unit.Length
	Flow     unit.Flow     // design; a main carries what joins it, whether this is given or not
	HoodSP   unit.Pressure // static pressure behind the hood at design flow, from commissioning; negative is suction
	Entry    float64       // entry loss of the hood over the duct's velocity pressure [-]
}

// Area is the branch's cross-section [m2]; NaN when the diameter is unknown.
func (b Branch) Area() unit.Area {
	d := float64(b.Diameter)
	return unit.Area(math.Pi / 4 * d * d)
}

// New is a collector about which nothing is known.
func New() *Collector {
	c := &Collector{}
	c.Filters.Rows, c.Filters.PerRow = Unknown, Unknown
	c.Cleaning.DowntimeCycles = Unknown
	for i := range schema {
		if q, ok := schema[i].value.(number[Collector]); ok {
			*q.at(c) = math.NaN()
		}
	}
	return c
}

// NewBranch is a branch about which nothing is known.
func NewBranch() Branch {
	nan := math.NaN()
	return Branch{Diameter: unit.Length(nan), Length: unit.Length(nan), Flow: unit.Flow(nan), HoodSP: unit.Pressure(nan), Entry: nan}
}

// FiringOrder is the order in which the valves fire: Cleaning.Order, or top to bottom when the file
// gives none. It is a fresh slice.
func (c *Collector) FiringOrder() []int {
	if c.Cleaning.Order != nil {
		return append([]int(nil), c.Cleaning.Order...)
	}
	order := make([]int, max(c.Filters.Rows, 0))
	for i := range order {
		order[i] = i + 1
	}
	return order
}
