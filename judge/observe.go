package judge

import (
	"fmt"
	"math"

	"dustwright/sense"
	"dustwright/unit"
)

// sight is one thing seen: how far a feature lies from what is normal for this collector, on a
// scale on which 0 is normal, with the standard deviation a healthy collector shows on it.
type sight struct {
	key   key
	x     float64 // distance from normal: a log ratio or a difference of shares, as the key says
	sigma float64 // of measurement and of the normal, together
	valve int     // for sights of one valve or row
	says  string  // the fact as a clause with numbers
}

// key names what is seen; the table of signatures is written in these names.
type key string

// ratioSight looks at a quantity as the log of its ratio to this collector's own normal.
type ratioSight struct {
	key   key
	q     sense.Quantity
	kind  unit.Kind
	what  string // subject of the sentence
	per   string // behind the unit, such as "/h"
	floor float64
}

// ratios are the quantities compared with the collector's own normal. floor is the day-to-day
// scatter of the log ratio below which no collector is believed to lie; common practice, no source.
var ratios = [...]ratioSight{
	{"after", sense.DragAfter, unit.KindDrag, "the drag just after cleaning", "", 0.05},
	{"low", sense.DPLow, unit.KindPressure, "the low end of the dP, at design flow,", "", 0.08},
	{"rise", sense.RiseRate, unit.KindPressure, "the rise of the dP between cleanings", "/h", 0.15},
	{"per-pulse", sense.DropPerPulse, unit.KindPressure, "what one pulse takes off the dP", "", 0.12},
	{"pulses", sense.PulsesPerCycle, unit.KindNumber, "the number of pulses a cycle", "", 0.12},
	{"cycles", sense.CyclesPerHour, unit.KindNumber, "the number of cleaning cycles an hour", "", 0.15},
	{"inlet", sense.InletSPLevel, unit.KindPressure, "the inlet static pressure", "", 0.05},
	{"amps", sense.FanCurrentLevel, unit.KindCurrent, "the fan motor's current", "", 0.02},
	{"watts", sense.FanPowerLevel, unit.KindPower, "the fan motor's power", "", 0.03},
	{"header-drop", sense.HeaderDrop, unit.KindPressure, "the header's fall at a pulse", "", 0.06},
	{"noise", sense.ReadingNoise, unit.KindPressure, "the scatter of the dP reading", "", 0.35},
	{"raw", sense.DPRaw, unit.KindPressure, "the dP as read", "", 0.12},
	{"emission", sense.EmissionLevel, unit.KindNumber, "the leak detector between pulses", "", 0.2},
	{"emission-peak", sense.EmissionPeak, unit.KindNumber, "the leak detector's peak after a pulse", "", 0.25},
}

// observe lists what is seen, leaving out what the record does not show.
func observe(in Input) []sight {
	f := in.Features
	var out []sight
	for _, r := range ratios {
		if s, ok := r.see(f, in.Units); ok {
			out = append(out, s)
		}
	}
	out = append(out, airSights(in)...)
	out = append(out, headerSights(in)...)
	out = append(out, gaugeSights(in)...)
	out = append(out, limitSights(in)...)
	return append(out, valveSights(in)...)
}

// Sight is one thing seen, for those who build or check the table of signatures.
type Sight struct {
	Key      string
	Distance float64 // from normal, on the sight's own scale
	Sigma    float64 // standard deviation of measurement and normal
	Valve    int     // 0 for a sight of the whole machine
}

// Sights returns what a judgement would be made from.
func Sights(in Input) []Sight {
	var out []Sight
	for _, s := range observe(in) {
		out = append(out, Sight{string(s.key), s.x, s.sigma, s.valve})
	}
	return out
}

// see compares a quantity with its own normal.
func (r ratioSight) see(f *sense.Features, sys unit.System) (sight, bool) {
	m := f.Get(r.q)
	now, normal := m.Now.Value, m.Normal.Value
	if !m.Now.Known() || !m.Normal.Known() || now*normal <= 0 {
		return sight{}, false
	}
	rel := func(sigma, v float64) float64 { return nanZero(sigma) / math.Abs(v) }
	sigma := math.Hypot(math.Hypot(rel(m.Now.Sigma, now), rel(m.Normal.Sigma, normal)), math.Hypot(rel(m.Spread, normal), r.floor))
	return sight{key: r.key, x: math.Log(now / normal), sigma: sigma,
		says: fmt.Sprintf("%s is %s, %.2g times its normal %s", r.what, r.print(now, sys), now/normal, r.print(normal, sys))}, true
}

func (r ratioSight) print(v float64, sys unit.System) string {
	if r.kind == unit.KindNumber {
		return fmt.Sprintf("%.2g", v)
	}
	return unit.Print(r.kind, v, sys) + r.per
}

// nanZero returns v, and 0 for what is no finite number.
func nanZero(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// shift looks at a quantity as its distance from a reference on a linear scale.
func shift(k key, m *sense.Measure, ref, floor float64, says string) (sight, bool) {
	if !m.Now.Known() || math.IsNaN(ref) {
		return sight{}, false
	}
	return sight{key: k, x: m.Now.Value - ref, sigma: math.Hypot(nanZero(m.Now.Sigma), math.Hypot(nanZero(m.Spread), floor)), says: says}, true
}

// normalOr returns the collector's own normal of a quantity, or what is said where it has none yet.
func normalOr(m *sense.Measure, otherwise float64) float64 {
	if m.Normal.Known() {
		return m.Normal.Value
	}
	return otherwise
}
