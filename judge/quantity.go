package judge

import (
	"fmt"
	"math"

	"dustwright/sense"
	"dustwright/unit"
)

// form is the scale on which a quantity is compared.
type form struct {
	ratio bool    // by the log of the ratio; what is not above zero is passed over
	bend  float64 // otherwise by asinh(v/bend): a ratio far above bend, a difference near zero; 0 by the plain difference
	per   float64 // and what a plain difference is divided by
	lies  bool    // it lies off what else makes it; its name has a hole for where
}

var (
	ratio  = form{ratio: true}
	shares = form{per: 1}
	habits = form{per: 1, lies: true}
	over   = form{ratio: true, lies: true}   // the value is its ratio to what else makes it
	feet   = form{bend: 20}                  // dP of some pascals is no dP
	steps  = form{bend: 15}                  // [Pa/h]
	leaks  = form{per: 0.3 * unit.Psi}       // header at rest [Pa/min]
	heats  = form{per: 1}                    // [K]
	zeros  = form{per: 0.1 * unit.InchWater} // what a gauge's zero may be off; common practice, no source
)

// at places v on the scale; NaN where it has no place.
func (f form) at(v float64) float64 {
	switch {
	case f.ratio && v <= 0:
		return math.NaN()
	case f.ratio:
		return math.Log(v)
	case f.bend > 0:
		return math.Asinh(v / f.bend)
	}
	return v / f.per
}

// width is what an uncertainty sigma of v is on the scale.
func (f form) width(v, sigma float64) float64 {
	switch {
	case f.ratio:
		return sigma / v
	case f.bend > 0:
		return sigma / math.Hypot(v, f.bend)
	}
	return sigma / f.per
}

// quantity is one feature held against the collector's own normal.
type quantity struct {
	key   key
	q     sense.Quantity
	kind  unit.Kind
	what  string // subject of the sentence; where the form lies, all of it with a hole for where
	per   string // behind the unit, such as "/h"
	form  form
	scale float64 // what is worth a second look, on the form's scale
	floor float64 // scatter from day to day below which no collector is believed to lie
}

// quantities lists them. scale and floor: common practice, no source.
var quantities = [...]quantity{
	{"after", sense.DragAfter, unit.KindPressure, "the dP just after cleaning, at design flow,", "", ratio, 0.15, 0.03},
	{"low", sense.DPLow, unit.KindPressure, "the low end of the dP, at design flow,", "", feet, 0.15, 0.04},
	{"top", sense.DPHigh, unit.KindPressure, "the high end of the dP, at design flow,", "", feet, 0.15, 0.04},
	{"raw", sense.DPRaw, unit.KindPressure, "the dP as read", "", feet, 0.15, 0.05},
	{"rise", sense.RiseRate, unit.KindPressure, "the rise of the dP between cleanings", "/h", ratio, 0.4, 0.15},
	{"hourly", sense.HourlyRise, unit.KindPressure, "the rise of the dP from hour to hour", "/h", steps, 0.4, 0.15},
	{"per-pulse", sense.DropPerPulse, unit.KindPressure, "what one pulse takes off the dP", "", ratio, 0.3, 0.1},
	{"per-cycle", sense.DropPerCycle, unit.KindPressure, "what one cleaning cycle takes off the dP", "", ratio, 0.3, 0.1},
	{"bend", sense.RiseBend, unit.KindNumber, "how much faster the dP rises late in a cycle than early", "", ratio, 0.3, 0.1},
	{"recovered", sense.Recovered, unit.KindShare, "the share of the drag one cycle takes off", "", shares, 0.1, 0.03},
	{"pulses", sense.PulsesPerCycle, unit.KindNumber, "the number of pulses a cycle", "", ratio, 0.3, 0.1},
	{"cycles", sense.CyclesPerHour, unit.KindNumber, "the number of cleaning cycles an hour", "", form{bend: 0.05}, 0.4, 0.15},
	{"busy", sense.PulsesPerHour, unit.KindNumber, "the number of pulses an hour", "", form{bend: 3}, 0.4, 0.15},
	{"cleaning", sense.CleaningShare, unit.KindShare, "the share of time spent cleaning", "", shares, 0.15, 0.03},
	{"trigger", sense.Trigger, unit.KindPressure, "the dP at which cleaning starts", "", ratio, 0.1, 0.02},
	{"stop", sense.Stop, unit.KindPressure, "the dP at which cleaning ends", "", ratio, 0.1, 0.03},
	{"flow", sense.FlowShare, unit.KindShare, "the airflow, as a share of design,", "", ratio, 0.08, 0.02},
	{"inlet", sense.InletSPLevel, unit.KindPressure, "the inlet static pressure", "", form{bend: 30}, 0.1, 0.02},
	{"resistance", sense.InletSPRatio, unit.KindShare, "what the ducts take for the airflow, against commissioning,", "", ratio, 0.1, 0.03},
	{"amps", sense.FanCurrentLevel, unit.KindCurrent, "the fan motor's current", "", ratio, 0.05, 0.01},
	{"watts", sense.FanPowerLevel, unit.KindPower, "the fan motor's power", "", ratio, 0.07, 0.01},
	{"fan-amps", sense.FanCurrentRatio, unit.KindShare, "the motor's current against what the airflow asks for", "", ratio, 0.06, 0.02},
	{"fan-watts", sense.FanPowerRatio, unit.KindShare, "the motor's power against what the airflow asks for", "", ratio, 0.08, 0.02},
	{"header", sense.HeaderLevel, unit.KindPressure, "the header pressure between pulses", "", ratio, 0.06, 0.01},
	{"header-drop", sense.HeaderDrop, unit.KindPressure, "the header's fall at a pulse", "", ratio, 0.15, 0.03},
	{"recovery", sense.HeaderRecovery, unit.KindShare, "the share of its fall the header gets back before the next pulse", "", shares, 0.1, 0.03},
	{"lacks", sense.HeaderLacks, unit.KindShare, "the shortfall of the header while valves fire, against its pressure at rest,", "", shares, 0.04, 0.01},
	{"header-noise", sense.HeaderNoise, unit.KindPressure, "the scatter of the header pressure at rest", "", form{bend: 300}, 0.5, 0.2},
	{"header-trend", sense.HeaderTrend, unit.KindPressure, "the header's change at rest", "/min", leaks, 1, 0.3},
	{"behind", sense.HeaderBehind, unit.KindShare, "the shortfall of the header just after cleaning, against what it stands at long after,", "", shares, 0.04, 0.01},
	{"swing", sense.HeaderSwing, unit.KindShare, "how far the header swings from hour to hour", "", shares, 0.03, 0.01},
	{"lowest", sense.HeaderLowest, unit.KindPressure, "the lowest header pressure while it cleans", "", ratio, 0.08, 0.01},
	{"stood", sense.HeaderStood, unit.KindPressure, "the header pressure while the fan stands", "", ratio, 0.06, 0.01},
	{"sags", sense.HeaderSags, unit.KindShare, "the shortfall of the header while the fan runs, against what it has while the fan stands,", "", shares, 0.04, 0.01},
	{"emptied", sense.HeaderEmptied, unit.KindShare, "the share of the header's absolute pressure that cleaning takes", "", ratio, 0.15, 0.03},
	{"afterfilter", sense.AfterfilterLevel, unit.KindPressure, "the after-filter's dP at design flow", "", ratio, 0.06, 0.02},
	{"noise", sense.ReadingNoise, unit.KindPressure, "the scatter of the dP reading", "", form{bend: 2}, 0.5, 0.2},
	{"frozen", sense.FrozenShare, unit.KindShare, "the share of dP readings that repeat the one before", "", shares, 0.15, 0.05},
	{"negative", sense.NegativeShare, unit.KindShare, "the share of dP readings below zero", "", shares, 0.1, 0.02},
	{"stopped", sense.StoppedDP, unit.KindPressure, "the dP with the fan standing", "", zeros, 1, 0.2},
	{"stopped-apart", sense.StoppedApart, unit.KindPressure, "the scatter from hour to hour of the dP with the fan standing", "", form{bend: 2}, 0.7, 0.3},
	{"fall", sense.FallTime, unit.KindSeconds, "the time in which the dP falls when the fan stops", "", ratio, 0.4, 0.15},
	{"dp-swing", sense.DPSwing, unit.KindShare, "how far the dP swings from hour to hour", "", form{bend: 0.05}, 0.5, 0.2},
	{"start", sense.DPStart, unit.KindPressure, "the dP with which it starts", "", feet, 0.15, 0.05},
	{"span", sense.DPSpan, unit.KindShare, "how far the dP goes within an hour", "", ratio, 0.4, 0.15},
	{"emission", sense.EmissionLevel, unit.KindNumber, "the leak detector between pulses", "", ratio, 0.3, 0.1},
	{"peak", sense.EmissionPeak, unit.KindNumber, "the leak detector's peak after a pulse", "", form{bend: 0.3}, 0.3, 0.1},
	{"bin", sense.BinFill, unit.KindShare, "the bin's fill", "", shares, 0.3, 0.1},
	{"bin-rate", sense.BinRate, unit.KindShare, "the bin's rise", "/h", form{bend: 0.002}, 0.3, 0.1},
	{"taken", sense.DustTaken, unit.KindMassFlow, "the dust taken out of the bin, over the time it ran,", "", ratio, 0.3, 0.1},
	{"humidity", sense.HumidityLevel, unit.KindShare, "the air's humidity", "", shares, 0.15, 0.03},
	{"temperature", sense.TemperatureMean, unit.KindTemperature, "the air's temperature", "", heats, 5, 2},
	{"air-habit", sense.AirBeyond, unit.KindShare, "the airflow %s what dP and damper make it by the record", "", habits, 0.06, 0.01},
	{"suction-habit", sense.SuctionBeyond, unit.KindShare, "the suction %s what dP and damper make it by the record", "", habits, 0.06, 0.01},
	{"motor-habit", sense.MotorBeyond, unit.KindShare, "the motor's load %s what dP and damper make it by the record", "", habits, 0.05, 0.01},
	{"duct-habit", sense.DuctBeyond, unit.KindShare, "the suction %s what the airflow makes it by the record", "", habits, 0.05, 0.01},
	{"load-habit", sense.LoadBeyond, unit.KindShare, "the motor's load %s what the airflow makes it by the record", "", habits, 0.05, 0.01},
	{"draw-habit", sense.DrawBeyond, unit.KindShare, "the motor's load %s what the suction makes it by the record", "", habits, 0.05, 0.01},
	{"after-habit", sense.AfterBeyond, unit.KindShare, "the after-filter's dP %s what the airflow makes it by the record", "", over, 0.06, 0.01},
	{"damper", sense.DamperOpen, unit.KindShare, "the damper's opening", "", shares, 0.06, 0.02},
}

// trendDays is how far a trend is carried on to be held against what is worth a second look [days].
const trendDays = 14

// surely is how many standard deviations are worth a second look.
const surely = 3

// see adds the sights of one quantity to out.
func (k *quantity) see(in Input, out []sight) []sight {
	m := *in.Features.Get(k.q)
	if k.q == sense.DragAfter { // people read a dP
		m = times(m, float64(in.Collector.Duty.Flow)/float64(in.Collector.Filters.Area()))
	}
	now, normal := known(m.Now), known(m.Normal)
	if k.form.bend > 0 && k.kind == unit.KindNumber {
		normal = math.Max(0, normal) // a count carried on along its slope
	}
	if k.q == sense.FlowShare && onlyDesign(in.Features) {
		return out
	}
	d := k.form.at(now) - k.form.at(normal)
	if d != d {
		return out
	}
	usual := k.form.width(normal, math.Hypot(width(m.Normal), finite(m.Spread)))
	apart := k.form.width(normal, math.Hypot(width(m.Normal), scatter(m)))
	sigma := math.Hypot(k.form.width(now, width(m.Now)), apart)
	says := func(sys unit.System) string { return k.changed(now, normal, sys) }
	out = append(out, sight{k.key, d / math.Hypot(k.scale, sigma), says},
		sight{k.key + sure, d / math.Hypot(k.floor, sigma) / surely, says})
	out = k.fresh(in, m, normal, usual, out)
	out = k.along(in, m, out)
	if o := m.Onset; o.Found {
		if s := k.form.at(o.Before+o.Size) - k.form.at(o.Before); s == s {
			out = append(out, sight{k.key + onset, s / k.scale * math.Tanh(o.Score/8), func(sys unit.System) string {
				return fmt.Sprintf("%s has gone from %s to %s since about %s", k.name(), k.print(k.off(o.Before), sys),
					k.print(k.off(o.Before+o.Size), sys), o.At.Format("2 January"))
			}})
		}
	}
	out = k.took(m, now > normal, out)
	if t := m.Trend; t.Known() {
		if s := k.form.width(now, t.Value*trendDays); s == s && math.Abs(t.Value) > finite(t.Sigma) {
			out = append(out, sight{k.key + trend, s / k.scale, func(sys unit.System) string {
				return fmt.Sprintf("%s moves by %s a week", k.name(), k.print(7*t.Value, sys))
			}})
		}
	}
	return out
}

// tookUsual is the running time of a day's work, and more or less than a change took [h]: what comes with damp, or breaks, is
// there within a shift; filters blind over many. Common practice, no source.
const tookUsual = 24

// took adds how long a change took, by whether it rose.
func (k *quantity) took(m sense.Measure, rose bool, out []sight) []sight {
	if !m.Took.Known() || !(m.Took.Value > 0) {
		return out
	}
	mark, word := key(":fell"), "fall"
	if rose {
		mark, word = ":rose", "rise"
	}
	return append(out, sight{k.key + mark, math.Log(m.Took.Value / tookUsual), func(unit.System) string {
		return fmt.Sprintf("%s took %s of running to %s to what it is", k.name(), hoursText(m.Took.Value), word)
	}})
}

// hoursText is a length of time in whole hours.
func hoursText(h float64) string {
	switch {
	case h < 0.75:
		return "less than an hour"
	case h < 1.5:
		return "an hour"
	}
	return fmt.Sprintf("%.0f hours", h)
}

// scatter is what Now strays from its normal by while nothing is wrong: days scatter by the spread, the median of several days
// by less (1.25 sigma over root n, for normal values).
func scatter(m sense.Measure) float64 {
	few := 1.0
	if m.Days > 1 {
		few = math.Min(1, 1.25/math.Sqrt(float64(m.Days)))
	}
	return few * finite(m.Spread)
}

// fresh adds the sights of the last hours; usual is the width of the normal on the form's scale. A window that holds days before
// and after a change lies wide between both: it makes the hours since no less sure than they are themselves. Of cleanings, which
// come once in hours, three of them don't tell what a day does.
func (k *quantity) fresh(in Input, m sense.Measure, normal, usual float64, out []sight) []sight {
	x := known(m.Fresh)
	d := k.form.at(x) - k.form.at(normal)
	if d != d {
		return out
	}
	sigma, own := k.form.width(known(m.Now), width(m.Now)), k.form.width(x, m.Fresh.Sigma)
	if own < sigma || k.counted() && own > sigma {
		sigma = own
	}
	sigma = math.Hypot(sigma, usual)
	return append(out, sight{k.key + fresh, d / math.Hypot(k.scale, sigma),
		func(sys unit.System) string { return "over the last hours " + k.changed(x, normal, sys) }},
		sight{k.key + fresh + sure, d / math.Hypot(k.floor, math.Hypot(sigma, finite(own))) / surely, nil})
}

// counted reports that a quantity is told by cleanings, of which few hours show few.
func (k *quantity) counted() bool {
	switch k.q {
	case sense.CyclesPerHour, sense.PulsesPerHour, sense.CleaningShare, sense.PulsesPerCycle, sense.Trigger, sense.Stop, sense.DragBefore,
		sense.DragAfter, sense.Recovered, sense.DropPerCycle, sense.DropPerPulse, sense.RiseRate, sense.RiseBend:
		return true
	}
	return false
}

// times returns a measure in another unit.
func times(m sense.Measure, by float64) sense.Measure {
	for _, e := range [...]*sense.Estimate{&m.Now, &m.Fresh, &m.Normal, &m.Trend} {
		e.Value *= by
		e.Sigma *= by
	}
	m.Spread *= by
	m.Onset.Before *= by
	m.Onset.Size *= by
	return m
}

// changed says how the quantity stands against its normal.
func (k *quantity) changed(now, normal float64, sys unit.System) string {
	if k.form.lies {
		text := fmt.Sprintf(k.what, "is "+lies(k.off(now)))
		if usual := lies(k.off(normal)); usual != "at" {
			text += ", normally " + usual
		}
		return text
	}
	text := fmt.Sprintf("%s is %s", k.what, k.print(now, sys))
	if k.form.ratio || k.form.bend > 0 && now > 0 && normal > 0 {
		return text + fmt.Sprintf(", %s its normal %s", against(now/normal), k.print(normal, sys))
	}
	return text + fmt.Sprintf(", normally %s", k.print(normal, sys))
}

// off is how far v lies off what else makes it, where v is its ratio to that; otherwise v.
func (k *quantity) off(v float64) float64 {
	if k.form.lies && k.form.ratio {
		return v - 1
	}
	return v
}

// name is the subject of a sentence.
func (k *quantity) name() string {
	if k.form.lies {
		return fmt.Sprintf(k.what, "beyond")
	}
	return k.what
}

// lies says where something lies against what else makes it.
func lies(off float64) string {
	if math.Round(100*off) == 0 {
		return "at"
	}
	return apart(off)
}

// apart says by what share something lies above or below another.
func apart(off float64) string {
	if off < 0 {
		return fmt.Sprintf("%.0f %% below", -100*off)
	}
	return fmt.Sprintf("%.0f %% above", 100*off)
}

// against puts a ratio into words.
func against(r float64) string {
	switch {
	case r > 0.7 && r < 1.3 && r != 1:
		return apart(r - 1)
	case r >= 0.45 && r < 0.55:
		return "half"
	case r > 0 && r <= 0.7:
		return fmt.Sprintf("%.2g %% of", 100*r)
	case r >= 1.95 && r < 2.05:
		return "twice"
	}
	return plain(r) + " times"
}

// print writes a value in the reader's units.
func (k *quantity) print(v float64, sys unit.System) string {
	return print(k.kind, v, sys) + k.per
}

// onlyDesign reports that the airflow was only assumed.
func onlyDesign(f *sense.Features) bool {
	return len(f.FlowBy) == 0 || f.FlowBy[0].Name == sense.ByDesign
}

// flowBy says by which way the airflow is known.
func flowBy(f *sense.Features) string {
	switch {
	case onlyDesign(f):
		return "by design"
	case f.FlowBy[0].Name == sense.ByMeasurement:
		return "as measured"
	}
	return "by " + f.FlowBy[0].Name
}
