package judge

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// level is a quantity held against a fixed reference: a set point, the file's figure, what is usual.
type level struct {
	key    key
	now    sense.Estimate
	ref    float64 // NaN or 0: not known
	centre float64 // the usual log ratio of a sound collector to it
	scale  float64 // of the log ratio that is worth a second look
	says   string  // with a %s for the value, and another where what it is held against is told
	kind   unit.Kind
}

// ofSetPoint reports that a sight holds the dP against a set point.
func (k key) ofSetPoint() bool {
	switch k {
	case "raw:high", "raw:low", "floor:low", "ceiling:high", "trigger:high", "stop:low", "top:high":
		return true
	}
	return false
}

// byClock reports a collector that the file says to be cleaned without regard to its dP. It lies as far below its set points as
// work and filters leave it, and only one above them says something.
func byClock(in Input) bool {
	return in.Collector.Cleaning.Mode == collector.Timed || in.Collector.Cleaning.Mode == collector.Continuous
}

// levels holds what is seen against set points, file and design. Centres: common practice, no source; a damper set for
// design flow with new filters is opened by some as they season.
func levels(in Input, out []sight) []sight {
	f, c := in.Features, in.Collector
	clean := reference(in)
	pulsed := !neverPulsed(in)
	if !pulsed && !(c.Filters.CleanDP > 0) {
		clean = math.NaN() // such filters begin near nothing
	}
	flow := f.Get(sense.FlowShare).Now
	if onlyDesign(f) {
		flow = sense.Unknown("")
	}
	get := func(q sense.Quantity) sense.Estimate { return f.Get(q).Now }
	bare := float64(c.Filters.Area()) / float64(c.Duty.Flow)
	upper, lower := highSet(in), float64(c.SetPoints.Low)
	list := [...]level{
		{"raw:high", get(sense.DPRaw), upper, -0.25, 0.15, "the dP stands at %s, the high set point is %s", unit.KindPressure},
		{"raw:low", get(sense.DPRaw), lower, 0.3, 0.15, "the dP stands at %s, the low set point is %s", unit.KindPressure},
		{"floor:low", get(sense.DPFloor), lower, 0, 0.1, "the dP gets down to %s, the low set point is %s", unit.KindPressure},
		{"ceiling:high", get(sense.DPCeiling), upper, 0, 0.1, "the dP goes up to %s, the high set point is %s", unit.KindPressure},
		{"raw:clean", get(sense.DPRaw), clean, 1.3, 0.5, "the dP reads %s with the fan running, where new filters take %s", unit.KindPressure},
		{"low:clean", get(sense.DPLow), clean, 1.1, 0.4, "the low end of the dP, at design flow, is %s, that of new filters %s", unit.KindPressure},
		{"after:clean", times(*f.Get(sense.DragAfter), 1/bare).Now, clean, 0.9, 0.4, "the dP just after cleaning, at design flow, is %s, that of new filters %s", unit.KindPressure},
		{"trigger:high", get(sense.Trigger), upper, 0, 0.06, "cleaning starts at %s, the high set point is %s", unit.KindPressure},
		{"stop:low", get(sense.Stop), lower, 0, 0.1, "cleaning ends at %s, the low set point is %s", unit.KindPressure},
		{"header:set", get(sense.HeaderLevel), float64(c.Header.Set), 0, 0.06, "the header stands at %s between pulses, set to %s", unit.KindPressure},
		{"header-drop:set", get(sense.HeaderDrop), float64(c.Header.Set), -1.2, 0.5, "the header falls by %s at a pulse", unit.KindPressure},
		{"amps:full", get(sense.FanCurrentLevel), float64(c.Fan.FullLoadCurrent), -0.2, 0.1, "the fan motor takes %s, its full load is %s", unit.KindCurrent},
		{"inlet:duty", absolute(get(sense.InletSPLevel)), math.Abs(float64(c.Duty.InletSP)), 0, 0.1, "the inlet static pressure is %s of suction, at commissioning it was %s", unit.KindPressure},
		{"flow:design", flow, 1, 0, 0.06, "the airflow is %s of design, " + flowBy(f), unit.KindShare},
		{"flow:curve", get(sense.FlowOverCurve), 1, 0, 0.06, "the airflow is %s of what the fan's curve makes of the dP", unit.KindShare},
		{"damper:file", get(sense.DamperOpen), opening(c), 0.2, 0.12, "the damper stands at %s, for design flow it was set to %s", unit.KindShare},
		{"resistance:commissioning", get(sense.InletSPRatio), 1, 0, 0.1, "the ducts take %s of their pressure at commissioning for the airflow", unit.KindShare},
		{"fan-amps:curve", get(sense.FanCurrentRatio), 1, 0, 0.06, "the fan motor takes %s of the current its curve asks for at this airflow", unit.KindShare},
		{"fan-watts:curve", get(sense.FanPowerRatio), 1, 0, 0.06, "the fan motor takes %s of the power its curve asks for at this airflow", unit.KindShare},
		{"recovery:whole", get(sense.HeaderRecovery), 1, 0, 0.1, "the header gets back %s of its fall before the next pulse", unit.KindShare},
		{"recovered:usual", get(sense.Recovered), 0.35, 0, 0.4, "one cleaning cycle takes off %s of the drag", unit.KindShare},
		{"cleaning:usual", get(sense.CleaningShare), 0.15, 0, 0.7, "it cleans %s of the time", unit.KindShare},
		{"pulses:rows", get(sense.PulsesPerCycle), 2 * float64(c.Filters.Rows), 0, 0.6, "a cleaning cycle takes %s pulses", unit.KindNumber},
		{"per-pulse:clean", get(sense.DropPerPulse), clean / math.Max(1, float64(c.Filters.Rows)), 0, 0.8, "one pulse takes %s off the dP", unit.KindPressure},
		{"noise:raw", get(sense.ReadingNoise), math.Abs(get(sense.DPRaw).Value), -4, 0.7, "neighbouring dP readings scatter by %s", unit.KindPressure},
		{"frozen:usual", get(sense.FrozenShare), 0.2, 0, 0.7, "%s of the dP readings repeat the one before exactly", unit.KindShare},
		{"fall:rows", get(sense.FallTime), math.Max(f.Sampling.Seconds(), coastDown), 0, 0.7, "the dP takes %s to fall when the fan stops", unit.KindSeconds},
		{"bin-rate:file", get(sense.BinRate), fills(c), 0, 0.5, "the bin fills by %s/h", unit.KindShare},
		{"taken:file", get(sense.DustTaken), float64(c.Duty.Loading) * float64(c.Duty.Flow), 0, 0.5, "dust is taken out of the bin at %s of running", unit.KindMassFlow},
		{"lacks:usual", get(sense.HeaderLacks), 0.15, 0, 0.7, "the header lacks %s of its pressure while valves fire", unit.KindShare},
		{"behind:usual", get(sense.HeaderBehind), 0.03, 0, 1, "the header lacks %s just after cleaning of what it stands at long after", unit.KindShare},
		{"swing:usual", get(sense.HeaderSwing), 0.02, 0, 1, "the header swings by %s from hour to hour", unit.KindShare},
		{"dp-swing:usual", get(sense.DPSwing), 0.08, 0, 0.7, "the dP swings by %s from hour to hour", unit.KindShare},
		{"lowest:set", get(sense.HeaderLowest), float64(c.Header.Set), -0.35, 0.35, "the header falls to %s while it cleans, set to %s", unit.KindPressure},
		{"stood:set", get(sense.HeaderStood), float64(c.Header.Set), 0, 0.06, "the header stands at %s while the fan does, set to %s", unit.KindPressure},
		{"emptied:usual", get(sense.HeaderEmptied), 0.2, 0, 0.5, "cleaning takes %s of the header's absolute pressure", unit.KindShare},
		{"cycles:usual", get(sense.CyclesPerHour), 0.5, 0, 1.5, "it cleans %s times an hour", unit.KindNumber},
		{"busy:rows", get(sense.PulsesPerHour), float64(c.Filters.Rows), 0, 1.5, "it gives %s pulses an hour", unit.KindNumber},
		{"bend:usual", get(sense.RiseBend), 1, 0, 0.5, "the dP rises %s times as fast late in a cycle as early", unit.KindNumber},
		{"rise:clean", get(sense.RiseRate), clean, -1, 1.5, "the dP rises by %s/h between cleanings", unit.KindPressure},
		{"hourly:clean", get(sense.HourlyRise), clean, -3, 1.5, "the dP rises by %s from hour to hour", unit.KindPressure},
		{"per-cycle:clean", get(sense.DropPerCycle), clean, 0, 0.7, "a cleaning cycle takes %s off the dP", unit.KindPressure},
		{"top:high", get(sense.DPHigh), upper, 0, 0.15, "the high end of the dP, at design flow, is %s, the high set point %s", unit.KindPressure},
		{"peak:level", get(sense.EmissionPeak), get(sense.EmissionLevel).Value, -1, 1, "the leak detector's peak after a pulse is %s", unit.KindNumber},
		{"humidity:usual", get(sense.HumidityLevel), 0.5, 0, 0.25, "the air is at %s humidity", unit.KindShare},
	}
	for i := range list {
		if (list[i].key == "cleaning:usual" || list[i].key == "pulses:rows" || list[i].key == "per-pulse:clean") && !pulsed {
			continue
		}
		out = list[i].see(in, out)
	}
	return byDamper(in, held(in, idle(in, paces(in, out))))
}

// highSet is the high set point: the file's, or where it was moved to since the record began; 0 or NaN where the file has none.
// Nobody sets it above the alarm: a controller that begins there is late.
func highSet(in Input) float64 {
	file := float64(in.Collector.SetPoints.High)
	changes := in.Features.Changes
	for i := len(changes) - 1; i >= 0 && file > 0; i-- {
		c := &changes[i]
		if c.Kind == sense.HighMoved && c.After > 0 && !(c.After >= float64(in.Collector.SetPoints.Alarm)) && c.Sure() {
			return c.After
		}
	}
	return file
}

// coastDown is how long a sound gauge's dP may take to fall when the fan stops, where rows come faster [s]: the fan runs down.
// Common practice, no source.
const coastDown = 60

// opening is where the damper stood for design flow at commissioning, between the two points of the file on either side of
// that; NaN where there are none.
func opening(c *collector.Collector) float64 {
	points := slices.Clone(c.Damper.Points)
	slices.SortFunc(points, func(a, b collector.DamperPoint) int { return cmp.Compare(a.Flow, b.Flow) })
	for i, b := range points {
		switch {
		case b.Flow == c.Duty.Flow:
			return float64(b.Open)
		case b.Flow > c.Duty.Flow && i == 0:
			return math.NaN()
		case b.Flow > c.Duty.Flow:
			a := points[i-1]
			share := math.Log(float64(c.Duty.Flow/a.Flow)) / math.Log(float64(b.Flow/a.Flow))
			return float64(a.Open) * math.Pow(float64(b.Open/a.Open), share)
		}
	}
	return math.NaN()
}

// fills is how fast the bin fills by the file, at design flow and loading [1/h]; NaN unknown.
func fills(c *collector.Collector) float64 {
	return float64(c.Duty.Loading) * float64(c.Duty.Flow) * 3600 / (float64(c.Duty.BulkDensity) * float64(c.Bin.Volume))
}

// farthest bounds the log ratio of a level.
const farthest = 5.0

// see adds the sight of a level to out. A value at or below zero lies as far below as can be, unless it may as well be what is
// asked for; one below a set point says nothing of what is cleaned by the clock.
func (l *level) see(in Input, out []sight) []sight {
	now := known(l.now)
	if now != now || !(l.ref > 0) || now <= 0 && width(l.now) >= l.ref {
		return out
	}
	x := -farthest
	if now > 0 {
		x = math.Max(-farthest, math.Min(farthest, math.Log(now/l.ref)))
	}
	says := func(sys unit.System) string { // there may be another % in it: of design, by the damper's curve
		return strings.Replace(strings.Replace(l.says, "%s", print(l.kind, now, sys), 1), "%s", print(l.kind, l.ref, sys), 1)
	}
	unsure := math.Min(farthest, width(l.now)/math.Max(math.Abs(now), 1e-9))
	off := (x - l.centre) / math.Hypot(l.scale, unsure)
	if l.key.ofSetPoint() && byClock(in) {
		off = math.Max(0, off)
	}
	return append(out, sight{l.key, off, says})
}

// reading looks at gauge, after-filter and bin.
func reading(in Input, out []sight) []sight {
	f := in.Features
	clean := reference(in)
	if m := f.Get(sense.StoppedDP); m.Now.Known() && clean > 0 {
		out = append(out, sight{"stopped:clean", m.Now.Value / clean / 0.3, func(sys unit.System) string {
			return "the dP reads " + print(unit.KindPressure, m.Now.Value, sys) + " with the fan standing"
		}})
	}
	if f.RunningBy == sense.DP.String() && f.Idle > 0 {
		out = append(out, sight{"stands:dp", longer(f.Idle, f.IdleBefore) / standScale, func(unit.System) string {
			return fmt.Sprintf("the dP has read as if the fan stood for %.0f days, never for more than %.0f before", f.Idle.Hours()/24, f.IdleBefore.Hours()/24)
		}}, sight{"stands:habit", math.Log1p(f.Missed/shiftHours) / standScale, func(unit.System) string {
			return fmt.Sprintf("the dP has read as if the fan stood, for %.0f hours in which it used to run", f.Missed)
		}})
	}
	if f.RunningBy == sense.DP.String() && f.Idle == 0 {
		out = append(out, sight{"runs:habit", math.Log1p(f.Extra/shiftHours) / standScale, func(unit.System) string {
			return fmt.Sprintf("the dP has read as if the fan ran, for %.0f hours in which it used to stand", f.Extra)
		}})
	}
	if m := f.Get(sense.HumidityLevel); f.Wet.Known() && m.Normal.Known() {
		out = append(out, sight{"humidity:rose", (f.Wet.Value - m.Normal.Value) / math.Hypot(dampScale, finite(m.Spread)), func(unit.System) string {
			return fmt.Sprintf("the air was at %.0f %% humidity when the dP and the pulses rose, normally %.0f %%", 100*f.Wet.Value, 100*m.Normal.Value)
		}})
	}
	if m := f.Get(sense.NegativeShare); m.Now.Known() {
		out = append(out, sight{"negative:none", m.Now.Value / 0.1, func(unit.System) string {
			return fmt.Sprintf("%.0f %% of the dP readings are below zero", 100*m.Now.Value)
		}})
	}
	if m := f.Get(sense.HeaderSags); m.Now.Known() {
		out = append(out, sight{"sags:none", m.Now.Value / math.Hypot(sagScale, width(m.Now)), func(unit.System) string {
			return fmt.Sprintf("while the fan runs the header lacks %.0f %% of what it stands at while it stands", 100*m.Now.Value)
		}})
	}
	if t := f.Get(sense.AfterfilterLevel).Trend; t.Known() {
		const month = 30 / unit.InchWater
		x := (t.Value*month - usualMonth) / math.Hypot(0.15, finite(t.Sigma)*month)
		out = append(out, sight{"afterfilter:month", x, func(sys unit.System) string {
			return fmt.Sprintf("the after-filter gains %s a month, about %s is usual", print(unit.KindPressure, t.Value*30, sys), print(unit.KindPressure, usualMonth*unit.InchWater, sys))
		}})
	}
	if m := f.Get(sense.BinFill); m.Now.Known() {
		out = append(out, sight{"bin:two-thirds", (m.Now.Value - 2.0/3) / 0.12, func(unit.System) string { return fmt.Sprintf("the bin is %.0f %% full", 100*m.Now.Value) }})
	}
	return out
}

// standScale is the log ratio of standing to the longest before, both with a day to it, that is worth a second look: where the
// dP alone tells whether the fan runs, a gauge off its lines looks like a plant that is shut. Common practice, no source.
const standScale = 0.5

// sagScale is the share of what the header stands at while the fan does that is worth a second look when it lacks while it
// runs. Common practice, no source.
const sagScale = 0.06

// dampScale is how much damper than usual the air must have been when something rose to be worth a second look. Common practice,
// no source.
const dampScale = 0.15

// shiftHours is the length of a usual shift [h]. Common practice, no source.
const shiftHours = 8

// longer is by how much a stretch is longer than the longest before it, in the log; 0 where it is not.
func longer(now, before time.Duration) float64 {
	const day = 24 * time.Hour
	return math.Max(0, math.Log(float64(now+day)/float64(before+day)))
}

// usualMonth is what an after-filter gains in a month [in. w.g.] (common practice, no source).
const usualMonth = 0.25

// absolute drops the sign of a suction.
func absolute(e sense.Estimate) sense.Estimate {
	e.Value = math.Abs(e.Value)
	return e
}

// reference is the dP of new filters at design flow [Pa]: the file's, else 0.7 in. w.g. (common
// practice, no source: new filters lie below 1 in. w.g.).
func reference(in Input) float64 {
	if clean := float64(in.Collector.Filters.CleanDP); clean > 0 {
		return clean
	}
	return 0.7 * unit.InchWater
}

// plain writes a number to two figures, and to the unit from a hundred on, as people say it.
func plain(v float64) string {
	if math.Abs(v) >= 99.5 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2g", v)
}

// told is a value that a sentence tells in the reader's units.
type told struct {
	kind unit.Kind
	v    float64
}

// In is the value in the units of a system.
func (t told) In(sys unit.System) string { return print(t.kind, t.v, sys) }

// print writes a value in the reader's units.
func print(kind unit.Kind, v float64, sys unit.System) string {
	switch kind {
	case unit.KindNumber:
		return plain(v)
	case unit.KindShare:
		return fmt.Sprintf("%.0f %%", math.Round(100*v)+0) // + 0: what rounds to nothing has no sign
	}
	text := unit.Print(kind, v, sys)
	if kind == unit.KindPressure && !strings.ContainsAny(text, "123456789") {
		return unit.Print(kind, 0, sys) // no more digits than a gauge has
	}
	return text
}
