package rehearse

import (
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// Limits bound the advice.
type Limits struct {
	Low         []unit.Pressure // candidates of the low set point, rising; none at or below the new filters' dP is taken
	Gap         []unit.Pressure // candidates of high less low, rising
	BelowAlarm  unit.Pressure   // the high set point stays this far below the alarm
	Interval    []unit.Seconds  // candidates, rising; none shorter than the header's recovery is taken
	Header      []unit.Pressure // candidates, gauge, rising
	HeaderShare unit.Share      // of today's set pressure, the highest
	Supply      unit.Share      // of what the air supply brings, the most that pulses may take on the mean
	Runs        int             // at most, today's among them

	Progress func(done, most int) // told after every run, from one goroutine at a time; nil for nobody
}

// usualAlarm is the alarm set point where the file gives none (DESIGN.md section 3).
const usualAlarm = 6 * unit.InchWater

// UsualLimits returns what is usual: low 1 to 3 in. w.g., high 0.5 to 2.5 above it and 1 below the alarm, a pulse every 6 to
// 30 s, the header at 45 to 90 psi and at most 1.25 times what it is today, 80 % of the air supply, 40 runs. Common
// practice, no source.
func UsualLimits() Limits {
	l := Limits{BelowAlarm: unit.InchWater, Interval: []unit.Seconds{6, 8, 10, 15, 20, 30}, HeaderShare: 1.25, Supply: 0.8, Runs: 40}
	for _, x := range []float64{1, 1.5, 2, 2.5, 3} {
		l.Low = append(l.Low, unit.Pressure(x*unit.InchWater))
	}
	for _, x := range []float64{0.5, 1, 1.5, 2, 2.5} {
		l.Gap = append(l.Gap, unit.Pressure(x*unit.InchWater))
	}
	for _, x := range []float64{45, 50, 60, 70, 80, 90} {
		l.Header = append(l.Header, unit.Pressure(x*unit.Psi))
	}
	return l
}

// ceiling is the highest that the high set point may be.
func (a *adviser) ceiling() unit.Pressure { return a.alarm - a.lim.BelowAlarm }

// most is the highest header pressure.
func (a *adviser) most() unit.Pressure {
	return unit.Pressure(float64(a.lim.HeaderShare)*float64(a.c.Header.Set)) + 1 // Pa, for the last digit
}

// recoversIn says whether the header is back before the next pulse. Today's interval stays open where it is too short
// already, as long as recovery takes no longer than today.
func (a *adviser) recoversIn(s Settings) bool {
	r := a.recovers(s.Header)
	return s.Interval >= r || s.Interval == a.c.Header.Interval && r <= a.recovers(a.c.Header.Set)
}

func (a *adviser) headers(s Settings) []Settings {
	var out []Settings
	for _, p := range a.lim.Header {
		next := s
		next.Header = p
		if p <= a.most() && a.recoversIn(next) {
			out = append(out, next)
		}
	}
	return out
}

func (a *adviser) intervals(s Settings) []Settings {
	var out []Settings
	for _, i := range a.lim.Interval {
		next := s
		next.Interval = i
		if a.recoversIn(next) {
			out = append(out, next)
		}
	}
	return out
}

// lows moves the low set point and takes the high one along, as far as it may go.
func (a *adviser) lows(s Settings) []Settings {
	var out []Settings
	for _, p := range a.lim.Low {
		if p <= a.c.Filters.CleanDP {
			continue // cleaning would never stop
		}
		out = a.between(out, s, p, p+s.High-s.Low)
	}
	return out
}

func (a *adviser) highs(s Settings) []Settings {
	var out []Settings
	for _, gap := range a.lim.Gap {
		out = a.between(out, s, s.Low, s.Low+gap)
	}
	return out
}

// between adds s with other set points to a list, where they keep apart below the ceiling.
func (a *adviser) between(out []Settings, s Settings, low, high unit.Pressure) []Settings {
	s.Low, s.High = low, min(high, a.ceiling())
	if len(a.lim.Gap) > 0 && s.High-s.Low < a.lim.Gap[0]-1 { // Pa, for the last digit
		return out
	}
	return append(out, s)
}

// binding lists the limits that the cheapest settings stand at, and those that refused cheaper ones.
func (a *adviser) binding(best *Trial) []Bound {
	out := []Bound{}
	add := func(name, format string, args ...any) {
		out = append(out, Bound{name, collector.Say(format, args...)})
	}
	if a.c.Cleaning.Mode == collector.OnDemand {
		switch first, last := ends(a.lim.Low); {
		case best.Low <= first+1:
			add("low", "the low set point is at the lowest that is tried, %s", first)
		case best.Low >= last-1:
			add("low", "the low set point is at the highest that is tried, %s", last)
		}
		switch first, last := ends(a.lim.Gap); {
		case best.High >= a.ceiling()-1:
			add("alarm", "the high set point may not come closer to the alarm (%s) than %s", a.alarm, a.lim.BelowAlarm)
		case best.High-best.Low >= last-1:
			add("gap", "the high set point may not lie more than %s above the low one", last)
		case best.High-best.Low <= first+1:
			add("gap", "the high set point may not lie less than %s above the low one", first)
		}
	}
	first, last := ends(a.lim.Interval)
	switch open := a.intervals(best.Settings); {
	case best.Interval >= last:
		add("interval", "the interval is at the longest that is tried, %s", last)
	case best.Interval <= first:
		add("interval", "the interval is at the shortest that is tried, %s", first)
	case len(open) > 0 && open[0].Interval >= best.Interval:
		if r := a.recovers(best.Header); !math.IsInf(float64(r), 1) {
			add("recovery", "a shorter interval would not let the header recover, which takes %s", r)
		} else {
			add("recovery", "a shorter interval would not let the header recover")
		}
	}
	lowest, highest := ends(a.lim.Header)
	switch open := a.headers(best.Settings); {
	case best.Header <= lowest+10:
		add("header", "the header pressure is at the lowest that is tried, %s", lowest)
	case best.Header >= highest-10:
		add("header", "the header pressure is at the highest that is tried, %s", highest)
	case len(open) > 0 && open[len(open)-1].Header <= best.Header+10:
		add("header", "the header may not be set above %s of today's pressure, nor so high that it does not recover in the interval", a.lim.HeaderShare)
	}
	return append(out, a.refused(best)...)
}

// refused lists what refused a setting that would have been cheaper.
func (a *adviser) refused(best *Trial) []Bound {
	found := map[string]bool{}
	for _, t := range a.tried {
		if t != nil && t.Refused != "" && t.PerYear.measure < best.PerYear.measure {
			found[t.Refused] = true
		}
	}
	var out []Bound
	for _, x := range []Bound{
		{ShortOfFlow, collector.Say("cheaper settings move less air than today's, or bring it below 95 %% of design more often")},
		{ShortOfSupply, collector.Say("cheaper settings take more than %s of what the air supply brings", a.lim.Supply)},
		{ShortOfLife, collector.Say("settings that take less energy wear the filters out sooner")},
	} {
		if found[x.Name] {
			out = append(out, x)
		}
	}
	return out
}

// ends are the first and the last of a list; NaN for none.
func ends[T ~float64](list []T) (first, last T) {
	if len(list) == 0 {
		return T(math.NaN()), T(math.NaN())
	}
	return list[0], list[len(list)-1]
}
