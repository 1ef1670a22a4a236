package judge

import (
	"strconv"
	"strings"

	"dustwright/collector"
)

// Cause is one name out of the list of causes.
type Cause string

// The causes. What each means stands in the list below.
const (
	None              Cause = "none"
	FiltersBlinded    Cause = "filters-blinded"
	DustLoadHeavy     Cause = "dust-load-heavy"
	CakeDamp          Cause = "cake-damp"
	AirflowHigh       Cause = "airflow-high"
	AirflowLow        Cause = "airflow-low"
	DuctBlocked       Cause = "duct-blocked"
	LeakInward        Cause = "leak-inward"
	FanWeak           Cause = "fan-weak"
	CleaningOff       Cause = "cleaning-off"
	HeaderPressureLow Cause = "header-pressure-low"
	ValveDead         Cause = "valve-dead"
	ValveWeak         Cause = "valve-weak"
	ValveStuckOpen    Cause = "valve-stuck-open"
	GaugeLineBlocked  Cause = "gauge-line-blocked"
	GaugeLineOff      Cause = "gauge-line-off"
	FilterLeak        Cause = "filter-leak"
	BinOverfull       Cause = "bin-overfull"
)

// Entry is what the program knows of one cause, without any reading.
type Entry struct {
	Name     Cause
	Numbered bool     // carries the number of a valve or row
	Says     string   // what is wrong, as a clause; %d stands for the number
	Rate     float64  // times a year one collector gets it; common practice, no source
	Asks     Standing // what standing it calls for once it is the likely cause
	Remedy   string   // what puts it right, as an instruction; %d as above, {US|SI} as for collector.Say
	Caution  string   // id of the caution that opens the remedy
}

// Describe returns the clause for the cause with its number filled in; 0 speaks of one whose number is
// not known.
func (e Entry) Describe(number int) string { return numbered(e.Says, number) }

// Advise returns what puts the cause right, likewise.
func (e Entry) Advise(number int) collector.Text {
	return collector.Marked(numbered(e.Remedy, number))
}

// numbered fills a number into a text that asks for one; without a number it speaks of one valve.
func numbered(text string, number int) string {
	if number > 0 {
		return strings.ReplaceAll(text, "%d", strconv.Itoa(number))
	}
	for _, noun := range [...]string{"valve", "row", "pilot"} {
		text = strings.ReplaceAll(text, noun+" %d", "one "+noun)
	}
	return text
}

// Causes returns the list of all causes, None first. The list is the one place where a cause is
// registered; pages, simulation and tests iterate over it.
func Causes() []Entry { return causes[:] }

// CauseOf returns the entry of a cause and whether there is one.
func CauseOf(name Cause) (Entry, bool) {
	for _, e := range causes {
		if e.Name == name {
			return e, true
		}
	}
	return Entry{}, false
}

// causes is the list. Rates [1/year] are common practice, no source; a plant can say where its own differ (Experience).
var causes = [...]Entry{
	{None, false, "nothing is wrong", 0, Steady, "Carry on with the daily readings", ""},
	{FiltersBlinded, false, "the filters no longer let go of their dust", 0.5, Drifting,
		"Check the airflow against design, run a downtime clean, then change the filters", "open-collector"},
	{DustLoadHeavy, false, "more dust comes in than the filters were chosen for", 0.4, Drifting,
		"Find out what changed at the machines served; shorten the interval or spread the load", "live"},
	{CakeDamp, false, "the dust cake is damp or oily", 0.25, NeedsHands,
		"Find the water or oil (pulse air, weather, process) and dry the filters with warm, dry air before cleaning on", "open-collector"},
	{AirflowHigh, false, "the collector moves too much air", 0.25, Drifting,
		"Close the damper to the trim for design flow", "live"},
	{AirflowLow, false, "the damper is too far closed", 0.25, NeedsHands,
		"Open the damper to the trim for design flow", "live"},
	{DuctBlocked, false, "the duct before the collector is restricted", 0.25, NeedsHands,
		"Clear the duct and find out why the dust dropped out", "open-duct"},
	{LeakInward, false, "air comes in past the hoods through a door, hatch or open duct", 0.25, NeedsHands,
		"Close the door, hatch or duct and renew its gasket", "live"},
	{FanWeak, false, "the fan gives less than its curve", 0.2, NeedsHands,
		"Lock out; check rotation, belt tension and a fouled wheel", "fan"},
	{CleaningOff, false, "the controller does not pulse when it should", 0.3, NeedsHands,
		"Restore power, set points and the run contact of the cleaning controller", "electrical"},
	{HeaderPressureLow, false, "the supply cannot hold the header pressure", 0.5, NeedsHands,
		"Follow the air back from the header: regulator, filter, dryer, pipe, compressor", "compressed-air"},
	{ValveDead, true, "valve %d never opens", 0.6, NeedsHands,
		"Take valve %d through the bench check: pilot or diaphragm", "compressed-air"},
	{ValveWeak, true, "valve %d opens too little or too short", 0.4, NeedsHands,
		"Take valve %d through the bench check: worn diaphragm or slow pilot", "compressed-air"},
	{ValveStuckOpen, true, "valve %d stays open and bleeds the header", 0.25, NeedsHands,
		"Shut the header's supply, then clean or renew the diaphragm of valve %d", "compressed-air"},
	{GaugeLineBlocked, false, "a sensing line of the dP gauge is plugged", 0.5, NeedsHands,
		"Take the lines off the gauge and blow them out towards the collector, below {25 psi|170 kPa}", "sensing-line"},
	{GaugeLineOff, false, "a sensing line of the dP gauge is off, crossed or cracked", 0.3, NeedsHands,
		"Refit or renew the sensing line, high side to the dirty plenum", "live"},
	{FilterLeak, true, "dust passes the filters of row %d", 0.3, MakeSafe,
		"Lock out; inspect row %d and its seals, and the clean side for dust", "open-collector"},
	{BinOverfull, false, "the bin is too full and dust is carried back up", 0.4, NeedsHands,
		"Empty the bin now and every time before two thirds", "bin"},
}
