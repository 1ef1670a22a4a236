package filter

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// AfterFilter is a filter behind the collector that nobody pulses: its drag only rises.
type AfterFilter struct {
	Clean unit.Pressure // dP when new, at Rated flow [Pa], above 0
	Rated unit.Flow     // flow that Clean belongs to [m3/s], above 0
	Half  unit.Mass     // dust that doubles the clean dP, first in proportion and then steeper [kg], above 0
	Dust  unit.Mass     // dust caught so far [kg]
}

// steepening is how much faster than in proportion the dP rises once doubled. from memory.
const steepening = 0.25

// DP returns the after-filter's differential pressure.
//
//	q      actual flow [m3/s], 0 or more
//	result [Pa], Clean q/Rated times Rise; NaN in, NaN out
//
// Source: laminar medium, dP in proportion to flow, from memory (filtration.md section 4). Clean limits of
// high-efficiency filters: testdata/hepa_resistance.csv (DOE-STD-3025-99).
func (a AfterFilter) DP(q unit.Flow) unit.Pressure {
	return a.Clean * unit.Pressure(float64(q)/float64(a.Rated)*a.Rise())
}

// Rise returns the dP over the clean dP at the same flow [-], 1 when new and 2 when Half has been caught.
// Source: roughly linear, then steepening; from memory (filtration.md section 4).
func (a AfterFilter) Rise() float64 {
	x := float64(a.Dust) / float64(a.Half)
	return 1 + (x+steepening*x*x)/(1+steepening)
}

// DustAt returns the dust that belongs to a rise [kg], the inverse of Rise; below 1 it is 0. NaN in, NaN out.
// Source: as Rise.
func (a AfterFilter) DustAt(rise float64) unit.Mass {
	y := math.Max(0, rise-1) * (1 + steepening)
	if math.IsNaN(rise) {
		y = math.NaN()
	}
	// steepening x^2 + x - y = 0
	x := 2 * y / (1 + math.Sqrt(1+4*steepening*y))
	return unit.Mass(x * float64(a.Half))
}

// Check returns nil if the after-filter can be, else a sentence.
func (a AfterFilter) Check() error {
	if !(a.Clean > 0) || !(a.Rated > 0) || !(a.Half > 0) || !(a.Dust >= 0) {
		return fmt.Errorf("an after-filter needs a clean dP (%g Pa), a flow (%g m3/s) and a dust mass that doubles it (%g kg), all above 0",
			float64(a.Clean), float64(a.Rated), float64(a.Half))
	}
	return nil
}

// MaxCleanResistance returns the most a new high-efficiency filter of a nominal flow may lose at it.
//
//	nominal  [m3/s], one of the eight sizes from 25 to 2000 cfm, within 2 %
//	result   [Pa]; false where no size has that flow. NaN gives false
//
// Source: DOE-STD-3025-99 citing DOE-STD-3020-97 Table 1. Check values: testdata/hepa_resistance.csv.
func MaxCleanResistance(nominal unit.Flow) (unit.Pressure, bool) {
	const cfm = 0.3048 * 0.3048 * 0.3048 / 60
	for _, s := range [...]struct{ cfm, pa float64 }{
		{25, 325}, {50, 325}, {125, 325}, {500, 250}, {1000, 250}, {1250, 250}, {1500, 325}, {2000, 325},
	} {
		if math.Abs(float64(nominal)/cfm-s.cfm) < 0.02*s.cfm {
			return unit.Pressure(s.pa), true
		}
	}
	return unit.Pressure(math.NaN()), false
}
