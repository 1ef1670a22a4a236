package plant

import (
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// CommissioningStep is one step of the guided start-up.
type CommissioningStep struct {
	ID      string
	Title   string
	Caution string // id in judge's list
	Do      []string
	Items   []StepItem
}

// StepItem is something to look at or to measure.
type StepItem struct {
	ID   string
	What string
	Kind unit.Kind // of the measurement; KindNumber: nothing is measured, it is ok or not
	// Range gives the least and the most that is accepted, in SI; NaN where there is no bound or the collector
	// file does not say enough, and then the person judges. nil: nothing is measured.
	Range func(c *collector.Collector) (low, high float64)
}

// Accepts judges a measurement: why is the sentence where it is not accepted.
func (i StepItem) Accepts(c *collector.Collector, si float64) (ok bool, why collector.Text) {
	low, high := i.Range(c)
	switch {
	case si < low:
		return false, collector.Say("%s is %s, at least %s is due", i.What, amount{i.Kind, si}, amount{i.Kind, low})
	case si > high:
		return false, collector.Say("%s is %s, at most %s is accepted", i.What, amount{i.Kind, si}, amount{i.Kind, high})
	}
	return true, collector.Text{}
}

// within gives a band around a value of the file; NaN bounds nothing.
func within(of func(*collector.Collector) float64, less, more float64) func(*collector.Collector) (float64, float64) {
	return func(c *collector.Collector) (float64, float64) { v := of(c); return v * less, v * more }
}

// recovered is the band in which the header stands at rest and comes back to before the next pulse: from what counts as
// recovered to as much above the set pressure.
func recovered(c *collector.Collector) (low, high float64) {
	low = float64(c.Recovered())
	return low, 2*float64(c.Header.Set) - low
}

// CommissioningSteps returns the guided start-up in order. Steps and bands are common practice, no source; the
// equipment's own manual comes first.
func CommissioningSteps() []CommissioningStep { return startUp[:] }

// look is an item that is ok or not.
func look(id, what string) StepItem { return StepItem{ID: id, What: what, Kind: unit.KindNumber} }

var nan = math.NaN()

var startUp = [...]CommissioningStep{
	{"arrival", "Arrival", "open-collector", []string{"Before the carrier leaves, compare with the order and look for damage; photograph it where it stands."},
		[]StepItem{look("order", "Everything on the order is here, filters included"), look("damage", "No damage from the way")}},
	{"setting", "Setting and anchoring", "open-collector", []string{"Lift at the lugs only; level it; anchor as the drawing says; leave room to pull filters and the bin."},
		[]StepItem{look("level", "Stands level on a base that carries it"), look("anchors", "Anchored as drawn"), look("room", "Room to pull filters and bin")}},
	{"electrical", "Electrical", "electrical", []string{"Done and signed for by a licensed person."},
		[]StepItem{look("licensed", "Wired by a licensed person, disconnect in sight"), look("overload", "Motor overload set to the nameplate current"), look("bond", "Bonded and earthed, ducts included")}},
	{"air", "Compressed air", "compressed-air", []string{"Purge the pipe before the last connection; then regulator, filter, drain and a valve that can be locked."},
		[]StepItem{look("purged", "Pipe purged until nothing comes out"), look("train", "Filter, regulator, drain and lockable valve fitted"), look("dry", "No water or oil at the drain")}},
	{"ducts", "Ducts and protective devices", "open-duct", []string{"Look through every duct; what protects against fire and explosion is checked by those licensed for it."},
		[]StepItem{look("ducts", "Ducts sealed, supported and free"), look("hatches", "Cleanouts and hatches shut"), look("protection", "Protective devices fitted and handed over by those licensed for them")}},
	{"rotation", "Fan rotation", "fan", []string{"Bump the motor and watch the shaft run down; compare with the arrow."},
		[]StepItem{look("arrow", "Turns with the arrow"), {"current", "Motor current with the damper nearly shut", unit.KindCurrent,
			func(c *collector.Collector) (float64, float64) { return nan, float64(c.Fan.FullLoadCurrent) }}}},
	{"header", "Header pressure", "compressed-air", []string{"Set the regulator with the header at rest."},
		[]StepItem{{"pressure", "Header pressure at rest", unit.KindPressure, recovered}}},
	{"pulse", "Pulse and recovery", "live", []string{"Run one cleaning cycle with the fan off: as many pulses as valves, all alike; read the header just before each."},
		[]StepItem{look("alike", "As many pulses as valves, all alike"), {"before", "Header pressure just before the next pulse", unit.KindPressure,
			recovered}}},
	{"setpoints", "Set points", "live", []string{"Enter low, high and alarm as in the collector file; press one sensing line to see that the controller answers."},
		[]StepItem{{"low", "Low set point", unit.KindPressure, within(func(c *collector.Collector) float64 { return float64(c.SetPoints.Low) }, 0.97, 1.03)},
			{"high", "High set point", unit.KindPressure, within(func(c *collector.Collector) float64 { return float64(c.SetPoints.High) }, 0.97, 1.03)},
			look("alarm", "The alarm reaches somebody")}},
	{"covers", "Bin and covers", "bin", []string{"Bin seated and sealed, every cover shut, guards on."},
		[]StepItem{look("bin", "Bin seated and sealed"), look("covers", "Covers shut, guards on")}},
	{"airflow", "Air volume and damper", "traverse", []string{"Set the damper to the trim for new filters; measure with a traverse; mark the blade."},
		[]StepItem{{"flow", "Measured airflow", unit.KindFlow, within(func(c *collector.Collector) float64 { return float64(c.Duty.Flow) }, 0.95, 1.10)},
			{"dp", "dP across the new filters", unit.KindPressure, func(*collector.Collector) (float64, float64) { return 0, unit.InchWater * 1.5 }},
			{"current", "Motor current", unit.KindCurrent, func(c *collector.Collector) (float64, float64) { return nan, float64(c.Fan.FullLoadCurrent) }},
			look("mark", "The blade's place is marked")}},
	{"interlock", "Interlock with the machine served", "live", []string{"The machine served must not run without the collector, where that is asked for."},
		[]StepItem{look("interlock", "Interlock proven, or not asked for"), look("handed", "The people at the machine know the round and the cautions")}},
}

// CommissioningDone tells, step by step in order, the newest record of each; a step whose newest record was not
// accepted stops those after it.
func CommissioningDone(records []Record) map[string]*Commissioning {
	out := map[string]*Commissioning{}
	for _, r := range records {
		if r.Kind != KindCommissioning {
			continue
		}
		if body, err := Open(r); err == nil {
			if b, ok := body.(*Commissioning); ok {
				out[b.Step] = b
			}
		}
	}
	return out
}

// NextCommissioning is the first step not accepted yet; ok is false when all are.
func NextCommissioning(done map[string]*Commissioning) (step CommissioningStep, ok bool) {
	for _, s := range startUp {
		if d := done[s.ID]; d == nil || !d.Accepted {
			return s, true
		}
	}
	return CommissioningStep{}, false
}
