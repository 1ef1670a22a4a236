package collector

import (
	"math"
	"slices"

	"dustwright/unit"
)

// Fall is a fall or a rise of the header's pressure, read with a gauge and a watch.
type Fall struct {
	From, To unit.Pressure // gauge, before and lowest
	Time     unit.Seconds
}

// AirRequest says what is known of the compressed air beyond the file. NaN leaves a field open; start with NewAirRequest.
type AirRequest struct {
	PipeBore, PipeLength unit.Length      // from receiver or main to the header, fittings' equivalent included
	LinePressure         unit.Pressure    // before the regulator, gauge
	Receiver             unit.Volume      // near the collector
	DewPoint             unit.Temperature // pressure dew point at LinePressure
	Coldest              unit.Temperature // of the place the line or header passes
	Leak                 unit.StdFlow     // measured by a meter, with nothing pulsing
	Decay                Fall             // the header with its supply shut and cleaning off
	Back                 Fall             // one pulse: before it, the lowest, and the time from there until the header is back
	Loaded, Unloaded     unit.Seconds     // of the compressor with no user on
	CompressorFlow       unit.StdFlow     // what the compressor delivers on load
	CompressorPower      unit.Power       // electricity it draws then
	Intake               unit.Temperature // of the air the compressor draws
	IntakeHumidity       unit.Share
}

// NewAirRequest leaves everything open.
func NewAirRequest() AirRequest {
	var r AirRequest
	for _, f := range airFields {
		*f.at(&r) = math.NaN()
	}
	return r
}

// AirField is one figure of an AirRequest: pages, records and checks all go by this list.
type AirField struct {
	Name  string // in records, such as "decayFrom"
	What  string // as a person reads it
	Kind  unit.Kind
	Group string // figures that tell of one thing: a newer one does away with all older ones of its group; "" stands alone
	limit bounds
	at    func(*AirRequest) *float64
}

// The bounds refuse what cannot be; what is merely odd is a finding.
var (
	pipeBore    = bounds{lo: 1e-3, hi: 1, want: "between 1 mm and 1 m (0.04 to 39 in)"}
	pipeLength  = bounds{lo: 0, hi: 1e4, want: "between 0 and 10 km (33,000 ft)"}
	receiver    = bounds{lo: 1e-4, hi: 1000, want: "between 0.1 L and 1000 m3 (0.03 and 264,000 gal)"}
	dewPoint    = bounds{lo: 173.15, hi: 373.15, want: "between -100 and 100 degC (-148 and 212 degF)"}
	placeTemp   = bounds{lo: 203.15, hi: 343.15, want: "between -70 and 70 degC (-94 and 158 degF)"}
	leakFlow    = bounds{lo: 0, hi: 10, want: "between 0 and 21,000 scfm"}
	gaugeRead   = bounds{lo: 0, hi: 2e6, want: "between 0 and 290 psi (20 bar)"}
	watchRead   = bounds{lo: 0.1, hi: 7 * 86400, want: "between 0.1 s and 7 days"}
	backTime    = bounds{lo: 0.1, hi: 3600, want: "between 0.1 s and 1 h"}
	loadTime    = bounds{lo: 0, hi: 7 * 86400, want: "between 0 and 7 days"}
	delivery    = bounds{lo: 1e-5, hi: 100, want: "between 0.02 and 212,000 scfm"}
	electricity = bounds{lo: 1, hi: 1e8, want: "between 1 W and 100 MW"}
	humidity    = bounds{lo: 0, hi: 1, want: "between 0 and 100 %"}
)

var airFields = [...]AirField{
	{"linePressure", "pressure before the regulator", unit.KindPressure, "", tankPressure, func(r *AirRequest) *float64 { return (*float64)(&r.LinePressure) }},
	{"pipeBore", "inside diameter of the pipe", unit.KindLength, "pipe", pipeBore, func(r *AirRequest) *float64 { return (*float64)(&r.PipeBore) }},
	{"pipeLength", "length of the pipe", unit.KindLength, "pipe", pipeLength, func(r *AirRequest) *float64 { return (*float64)(&r.PipeLength) }},
	{"receiver", "size of the receiver", unit.KindVolume, "", receiver, func(r *AirRequest) *float64 { return (*float64)(&r.Receiver) }},
	{"dewPoint", "pressure dew point", unit.KindTemperature, "", dewPoint, func(r *AirRequest) *float64 { return (*float64)(&r.DewPoint) }},
	{"coldest", "coldest place", unit.KindTemperature, "", placeTemp, func(r *AirRequest) *float64 { return (*float64)(&r.Coldest) }},
	{"leak", "measured leak", unit.KindStdFlow, "leak", leakFlow, func(r *AirRequest) *float64 { return (*float64)(&r.Leak) }},
	{"decayFrom", "header at the start of the leak test", unit.KindPressure, "leak", gaugeRead, func(r *AirRequest) *float64 { return (*float64)(&r.Decay.From) }},
	{"decayTo", "header at the end of the leak test", unit.KindPressure, "leak", gaugeRead, func(r *AirRequest) *float64 { return (*float64)(&r.Decay.To) }},
	{"decayTime", "time of the leak test", unit.KindSeconds, "leak", watchRead, func(r *AirRequest) *float64 { return (*float64)(&r.Decay.Time) }},
	{"backFrom", "header before the pulse", unit.KindPressure, "back", gaugeRead, func(r *AirRequest) *float64 { return (*float64)(&r.Back.From) }},
	{"backLow", "lowest after the pulse", unit.KindPressure, "back", gaugeRead, func(r *AirRequest) *float64 { return (*float64)(&r.Back.To) }},
	{"backTime", "time until the header was back", unit.KindSeconds, "back", backTime, func(r *AirRequest) *float64 { return (*float64)(&r.Back.Time) }},
	{"loaded", "compressor loaded", unit.KindSeconds, "load", loadTime, func(r *AirRequest) *float64 { return (*float64)(&r.Loaded) }},
	{"unloaded", "compressor unloaded", unit.KindSeconds, "load", loadTime, func(r *AirRequest) *float64 { return (*float64)(&r.Unloaded) }},
	{"compressorFlow", "what the compressor delivers", unit.KindStdFlow, "", delivery, func(r *AirRequest) *float64 { return (*float64)(&r.CompressorFlow) }},
	{"compressorPower", "electricity of the compressor", unit.KindPower, "", electricity, func(r *AirRequest) *float64 { return (*float64)(&r.CompressorPower) }},
	{"intake", "temperature of the air the compressor draws", unit.KindTemperature, "intake", placeTemp, func(r *AirRequest) *float64 { return (*float64)(&r.Intake) }},
	{"intakeHumidity", "humidity of the air the compressor draws", unit.KindShare, "intake", humidity, func(r *AirRequest) *float64 { return (*float64)(&r.IntakeHumidity) }},
}

// AirFields lists the figures of an AirRequest in the order of a form.
func AirFields() []AirField { return slices.Clone(airFields[:]) }

// Get returns the figure as it stands in a request, in the SI unit of its kind [-]; NaN where it is open.
func (f AirField) Get(r AirRequest) float64 { return *f.at(&r) }

// Set puts a figure into a request, in the SI unit of its kind [-]; NaN opens it.
func (f AirField) Set(r *AirRequest, si float64) { *f.at(r) = si }

// printed is a quantity of a kind known only at run time, for sentences.
type printed struct {
	kind unit.Kind
	si   float64
}

// In prints it in the units of a system.
func (p printed) In(sys unit.System) string { return unit.Print(p.kind, p.si, sys) }

// AirFault says what in an AirRequest cannot be.
type AirFault struct {
	Field string // name of the figure to look at first
	Text  Text
}

// Faults says what in a request cannot be, a sentence each; nil where all of it can. Figures of one group come all or none of
// them, so that what is measured on different days can be put together.
func (r AirRequest) Faults() []AirFault {
	var out []AirFault
	fault := func(field, format string, args ...any) { out = append(out, AirFault{field, Say(format, args...)}) }
	for _, f := range airFields {
		if v := f.Get(r); !math.IsNaN(v) && !f.limit.hold(v) {
			fault(f.Name, "%s: %s cannot be; it has to be %s", f.What, printed{f.Kind, v}, f.limit.want)
		}
	}
	together := func(advice string, names ...string) bool {
		var open []string
		for _, f := range airFields {
			if slices.Contains(names, f.Name) && math.IsNaN(f.Get(r)) {
				open = append(open, f.Name)
			}
		}
		if len(open) > 0 && len(open) < len(names) {
			fault(open[0], "%s", advice)
		}
		return len(open) == 0
	}
	together("the pipe's inside diameter and its length go together: give both, or neither", "pipeBore", "pipeLength")
	if together("the leak test needs three figures: the header's pressure at its start, at its end, and the time between", "decayFrom", "decayTo", "decayTime") && r.Decay.To > r.Decay.From {
		fault("decayTo", "leak test: the header rose from %s to %s with its supply shut; the valve ahead of it does not close, or the two are swapped", r.Decay.From, r.Decay.To)
	}
	if together("the recovery needs three figures: the header's pressure before the pulse, the lowest, and the time until it was back", "backFrom", "backLow", "backTime") && r.Back.To >= r.Back.From {
		fault("backLow", "recovery: the lowest pressure, %s, does not lie below the %s before the pulse; are the two swapped?", r.Back.To, r.Back.From)
	}
	if together("the compressor's leak test needs both times: on load and off load", "loaded", "unloaded") && r.Loaded+r.Unloaded <= 0 {
		fault("loaded", "the compressor's leak test: one of the times on and off load must be above zero")
	}
	together("temperature and humidity of the air the compressor draws go together: give both, or neither", "intake", "intakeHumidity")
	return out
}

// known reports whether all three were read.
func (f Fall) known() bool { return !math.IsNaN(float64(f.From) + float64(f.To) + float64(f.Time)) }
