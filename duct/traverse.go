package duct

import (
	"errors"
	"math"

	"dustwright/unit"
)

// ErrTooFewReadings: what is left of the readings does not make a traverse.
var ErrTooFewReadings = errors.New("too few usable readings")

// ErrNoAir: the air's density can't be told from what is given.
var ErrNoAir = errors.New("the air's density can't be told")

// Reading is one reading of the probe. NaN and 0 stand for what was not written down.
type Reading struct {
	Line, Number int           // port and point on it, from 1; 0: not given
	Position     unit.Length   // depth from the near wall [m]; NaN: the rule's
	VP           unit.Pressure // velocity pressure [Pa]; NaN: no reading
	Velocity     unit.Velocity // instead of VP, from an instrument that shows velocity [m/s]; NaN: no reading
	Swirl        float64       // angle of the flow to the duct's axis [degrees]; NaN: not measured
	Counts       int           // how often the reading counts, see Point; 0 is once
	Row          int           // line of the file it stands in, for messages; 0: none
}

// Conditions is the air in the duct as far as it was measured; NaN for what was not.
type Conditions struct {
	Temperature unit.Temperature
	Barometer   unit.AbsPressure // station pressure, not reduced to sea level
	Elevation   unit.Length      // stands in for the barometer
	Humidity    unit.Share       // relative
	WetBulb     unit.Temperature // instead of Humidity
	Static      unit.Pressure    // gauge, negative is suction
	Density     unit.Density     // where someone has it already; wins over all the others
}

// Instrument is what takes the readings. NaN for what is not known.
type Instrument struct {
	Coefficient      float64       // probe coefficient Cp; for a velocity instrument its calibration factor
	CoefficientWidth float64       // half-width of Coefficient
	Resolution       float64       // smallest step of the reading [Pa, or m/s for velocities]
	AccuracyShare    unit.Share    // half-width, share of the reading
	AccuracyPressure unit.Pressure // half-width that does not depend on the reading [Pa]
}

// Traverse is one measurement of the flow in a duct.
type Traverse struct {
	Tag, Place, Measured, By string // which collector, where, when, who: as written
	Section                  Section
	Tolerance                unit.Length // half-width of each measured inside dimension [m]; NaN unknown
	Rule                     Rule
	Before, After            unit.Length // straight duct [m], see PlanRequest; NaN unknown
	Air                      Conditions
	Instrument               Instrument
	Design                   unit.Flow // NaN: none
	Readings                 []Reading
	Remarks                  []string        // lines of the file that were no key of the tool
	Unread                   []TraverseFault // cells that could not be read and count as no reading
}

// NewTraverse returns a traverse with nothing known.
func NewTraverse() Traverse {
	nan := math.NaN()
	return Traverse{
		Tolerance: unit.Length(nan), Before: unit.Length(nan), After: unit.Length(nan), Design: unit.Flow(nan),
		Air: Conditions{Temperature: unit.Temperature(nan), Barometer: unit.AbsPressure(nan), Elevation: unit.Length(nan), Humidity: unit.Share(nan),
			WetBulb: unit.Temperature(nan), Static: unit.Pressure(nan), Density: unit.Density(nan)},
		Instrument: Instrument{Coefficient: nan, CoefficientWidth: nan, Resolution: nan, AccuracyShare: unit.Share(nan), AccuracyPressure: unit.Pressure(nan)},
	}
}

// AirModel is the moist air as the traverse needs it; package air has the functions. It is handed in because ducts know nothing of
// humidity.
type AirModel struct {
	Density       func(t unit.Temperature, p unit.AbsPressure, humidityRatio unit.Share) unit.Density
	HumidityRatio func(t unit.Temperature, p unit.AbsPressure, rh unit.Share) unit.Share
	FromWetBulb   func(t, wet unit.Temperature, p unit.AbsPressure) unit.Share
	Barometer     func(elevation unit.Length) unit.AbsPressure
}

// Term is one line of the uncertainty budget, as JCGM 100 lays it out. There are no covariances in it: what readings share (an
// instrument's error, the air, the area) is one term over all of them.
type Term struct {
	Name     string
	Basis    string  // what the figure rests on
	Assumed  bool    // a default stands in for something that was not given
	Standard float64 // standard uncertainty of the input, relative to the input [-]
	Slope    float64 // relative change of the flow per relative change of the input [-]
	Flow     float64 // standard uncertainty of the flow this makes, relative [-]
	Share    float64 // share of the flow's variance, 0 to 1
}

// Fate is what became of a reading.
type Fate uint8

// Fates of readings.
const (
	FateUsed    Fate = iota // as read
	FateDoubted             // used, but marked
	FateZero                // counted as still air
	FateFilled              // not usable; its place takes the value the others' pattern gives
	FateDropped             // not usable, and no pattern to fill it from
)

// String returns the fate's word for pages and JSON.
func (f Fate) String() string {
	return [...]string{"used", "used with doubt", "counted as zero", "filled from the pattern", "left out"}[f]
}

// PointFlag is a reading that can't be right, or that can't be trusted.
type PointFlag struct {
	Line, Number, Row int
	Fate              Fate
	Why               string        // a clause
	Read              unit.Velocity // velocity the reading gives; NaN: none
	Expected          unit.Velocity // velocity the other readings' pattern gives; NaN: no pattern
}

// MissingInput is something that was not given, what stands in for it, and what that costs.
type MissingInput struct {
	What    string    // key of the file
	Kind    unit.Kind // kind of Value
	Value   float64   // what stands in, SI; NaN: nothing does
	Assumed string    // what that is, a clause
	Costs   float64   // standard uncertainty of the flow that comes from not knowing it, relative [-]
}

// Profile is the shape of the flow over the duct.
type Profile struct {
	MaxOverMean, MinOverMean float64
	Skew                     float64 // largest difference between the two halves of a line over the mean; 0 for an even profile
	SkewLine                 int
	LineMeans                []LineMean
	Exponent                 float64 // n of the power law v ~ (distance from the wall)^(1/n), about 7 in a long straight duct; NaN: no fit
	AboveTenth               float64 // share of the velocity pressures above a tenth of the largest
	Even                     bool    // that share is 75 % or more
	MeanSwirl                float64 // mean angle [degrees], NaN: not measured
}

// LineMean is the mean velocity on one line.
type LineMean struct {
	Line     int
	Velocity unit.Velocity
}

// TraverseResult is the flow with its uncertainty and everything that was noticed. Low and High are two standard uncertainties
// (k = 2, about 95 %) from Flow.
type TraverseResult struct {
	Flow, Low, High  unit.Flow
	Relative         float64      // standard uncertainty of the flow, relative [-]
	StandardRelative float64      // standard uncertainty of the standard flow and the mass flow, relative [-]
	Standard         unit.StdFlow // at 0.075 lb/ft3
	Mass             unit.MassFlow
	Mean             unit.Velocity
	MeanVP           unit.Pressure // velocity pressure of the mean velocity
	Area             unit.Area
	Density          unit.Density
	Readings, Used   int
	Rule             Rule
	RuleFound        bool    // the rule was told from the positions
	Before, After    float64 // straight duct in hydraulic diameters, NaN unknown
	DesignShare      float64 // flow over design flow, NaN: no design
	Budget           []Term
	Profile          Profile
	Flags            []PointFlag
	Missing          []MissingInput
	Notes            []string // as those of a Plan
}
