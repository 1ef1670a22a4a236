package judge

import (
	"fmt"
	"math"

	"dustwright/sense"
	"dustwright/unit"
)

// keep appends a sight that could be had.
func keep(out []sight, s sight, ok bool) []sight {
	if ok {
		return append(out, s)
	}
	return out
}

// airSights look at the air side: flow, resistance of the ducts, the fan against its curve, damper.
func airSights(in Input) []sight {
	f := in.Features
	var out []sight
	flow := f.Get(sense.FlowShare)
	if flow.Now.Known() && flow.Now.Value > 0 && !onlyDesign(f) {
		s, ok := shift("flow", flow, 1, 0.03, fmt.Sprintf("the airflow is %.0f %% of design, by %s", 100*flow.Now.Value, flowBy(f)))
		if ok {
			s.x = math.Log(flow.Now.Value)
		}
		out = keep(out, s, ok)
	}
	logRatio := func(k key, q sense.Quantity, floor float64, format string) {
		m := f.Get(q)
		ref := normalOr(m, 1)
		if !m.Now.Known() || m.Now.Value <= 0 || ref <= 0 {
			return
		}
		s, ok := shift(k, m, ref, floor, fmt.Sprintf(format, 100*m.Now.Value/ref))
		s.x, s.sigma = math.Log(m.Now.Value/ref), s.sigma/ref
		out = keep(out, s, ok)
	}
	logRatio("inlet-resistance", sense.InletSPRatio, 0.08, "the ducts take %.0f %% of their normal pressure for the airflow")
	if f.Get(sense.FanPowerRatio).Now.Known() {
		logRatio("fan-load", sense.FanPowerRatio, 0.04, "the fan motor takes %.0f %% of the power its curve asks for at this airflow")
	} else {
		logRatio("fan-load", sense.FanCurrentRatio, 0.04, "the fan motor takes %.0f %% of the current its curve asks for at this airflow")
	}
	damper := f.Get(sense.DamperOpen)
	s, ok := shift("damper", damper, normalOr(damper, math.NaN()), 0.03, fmt.Sprintf("the damper stands at %.0f %%", 100*damper.Now.Value))
	out = keep(out, s, ok)
	humid := f.Get(sense.HumidityLevel)
	s, ok = shift("humidity", humid, normalOr(humid, 0.5), 0.12, fmt.Sprintf("the air is at %.0f %% humidity", 100*humid.Now.Value))
	return keep(out, s, ok)
}

// onlyDesign reports that the airflow was only assumed.
func onlyDesign(f *sense.Features) bool {
	return len(f.FlowBy) == 0 || f.FlowBy[0].Name == "design"
}

func flowBy(f *sense.Features) string {
	if len(f.FlowBy) == 0 {
		return "design"
	}
	return f.FlowBy[0].Name
}

// headerSights look at the pulse air as a whole.
func headerSights(in Input) []sight {
	f, sys := in.Features, in.Units
	var out []sight
	level := f.Get(sense.HeaderLevel)
	set := float64(in.Collector.Header.Set)
	if math.IsNaN(set) {
		set = normalOr(level, math.NaN())
	}
	if level.Now.Known() && set > 0 {
		rel := *level
		rel.Now.Value /= set
		rel.Now.Sigma /= set
		rel.Spread /= set
		s, ok := shift("header", &rel, 1, 0.03, fmt.Sprintf("the header stands at %s between pulses, set to %s",
			unit.Print(unit.KindPressure, level.Now.Value, sys), unit.Print(unit.KindPressure, set, sys)))
		out = keep(out, s, ok)
	}
	recovery := f.Get(sense.HeaderRecovery)
	s, ok := shift("recovery", recovery, normalOr(recovery, 1), 0.04,
		fmt.Sprintf("the header gets back %.0f %% of its fall before the next pulse", 100*recovery.Now.Value))
	out = keep(out, s, ok)
	trend := f.Get(sense.HeaderTrend)
	if trend.Now.Known() {
		psi := 6894.757 // the sight's scale is psi a minute
		m := *trend
		m.Now.Value, m.Now.Sigma, m.Spread = m.Now.Value/psi, m.Now.Sigma/psi, m.Spread/psi
		s, ok := shift("header-trend", &m, normalOr(trend, 0)/psi, 0.3,
			fmt.Sprintf("the header loses %s a minute at rest", unit.Print(unit.KindPressure, -trend.Now.Value, sys)))
		out = keep(out, s, ok)
	}
	return out
}

// gaugeSights look at the reading itself: frozen, negative, no zero.
func gaugeSights(in Input) []sight {
	f := in.Features
	var out []sight
	frozen := f.Get(sense.FrozenShare)
	s, ok := shift("frozen", frozen, normalOr(frozen, 0.3), 0.12, fmt.Sprintf("%.0f %% of the dP readings repeat the one before exactly", 100*frozen.Now.Value))
	out = keep(out, s, ok)
	negative := f.Get(sense.NegativeShare)
	s, ok = shift("negative", negative, 0, 0.02, fmt.Sprintf("%.0f %% of the dP readings are below zero", 100*negative.Now.Value))
	out = keep(out, s, ok)
	scale := reference(in)
	if neverPulsed(in) && !(in.Collector.Filters.CleanDP > 0) {
		scale = math.NaN() // such filters begin near nothing
	}
	raw, stopped := f.Get(sense.DPRaw), f.Get(sense.StoppedDP)
	if raw.Now.Known() && scale > 0 {
		out = append(out, sight{key: "near-zero", x: math.Max(-1, math.Min(0, raw.Now.Value/scale-1)), sigma: 0.1,
			says: fmt.Sprintf("the dP reads %s with the fan running, where even new filters take %s",
				unit.Print(unit.KindPressure, raw.Now.Value, in.Units), unit.Print(unit.KindPressure, scale, in.Units))})
	}
	if stopped.Now.Known() && scale > 0 {
		out = append(out, sight{key: "stopped", x: stopped.Now.Value / scale, sigma: math.Hypot(0.15, nanZero(stopped.Now.Sigma)/scale),
			says: fmt.Sprintf("the dP reads %s with the fan standing", unit.Print(unit.KindPressure, stopped.Now.Value, in.Units))})
	}
	return out
}

// reference is the dP of new filters at design flow [Pa]: the file's, else 0.7 in. w.g. (common
// practice, no source: new filters lie below 1 in. w.g.).
func reference(in Input) float64 {
	if clean := float64(in.Collector.Filters.CleanDP); clean > 0 {
		return clean
	}
	return 0.7 * unit.InchWater
}

// limitSights look at set points, after-filter and bin.
func limitSights(in Input) []sight {
	f, c, sys := in.Features, in.Collector, in.Units
	var out []sight
	high := float64(c.SetPoints.High)
	raw, cleaning := f.Get(sense.DPRaw), f.Get(sense.CleaningShare)
	if raw.Now.Known() && high > 0 && raw.Now.Value > 0 {
		out = append(out, sight{key: "over-high", x: math.Max(0, math.Log(raw.Now.Value/high)), sigma: 0.08,
			says: fmt.Sprintf("the dP stands at %s, the high set point is %s", unit.Print(unit.KindPressure, raw.Now.Value, sys), unit.Print(unit.KindPressure, high, sys))})
		if cleaning.Now.Known() && raw.Now.Value > 1.05*high {
			out = append(out, sight{key: "idle", x: 1 - math.Min(1, 5*cleaning.Now.Value), sigma: 0.25,
				says: fmt.Sprintf("it cleans %.0f %% of the time although the dP stands above its high set point", 100*cleaning.Now.Value)})
		}
	}
	if after := f.Get(sense.AfterfilterLevel); after.Trend.Known() {
		perMonth := after.Trend.Value * 30 / unit.InchWater
		out = append(out, sight{key: "afterfilter", x: perMonth - 0.25, sigma: math.Hypot(0.15, nanZero(after.Trend.Sigma)*30/unit.InchWater),
			says: fmt.Sprintf("the after-filter gains %s a month, about %s is usual",
				unit.Print(unit.KindPressure, perMonth*unit.InchWater, sys), unit.Print(unit.KindPressure, 0.25*unit.InchWater, sys))})
	}
	if bin := f.Get(sense.BinFill); bin.Now.Known() {
		out = append(out, sight{key: "bin", x: math.Max(0, bin.Now.Value-2.0/3), sigma: 0.07, says: fmt.Sprintf("the bin is %.0f %% full", 100*bin.Now.Value)})
	}
	return out
}

// tellingShare is the uncertainty of a valve's share of the header drop above which the record does not tell that
// valve from the others.
const tellingShare = 0.2

// valveSights look at each valve's share of the others' header drop, at rows in which it was due and
// the header did not fall, and at the leak detector's rise when it fires.
func valveSights(in Input) []sight {
	var out []sight
	for _, v := range in.Features.Valves {
		if v.Share.Known() && v.Share.Sigma < tellingShare {
			out = append(out, sight{key: "valve-share", x: math.Max(-1, math.Min(1, v.Share.Value-1)), sigma: math.Hypot(0.05, v.Share.Sigma), valve: v.Valve,
				says: fmt.Sprintf("the header falls %.0f %% as far when valve %d fires as when the others do", 100*math.Max(0, v.Share.Value), v.Valve)})
		}
		if v.Alone >= 3 {
			says := fmt.Sprintf("the header did not drop when valve %d was due, %d times out of %d", v.Valve, v.NoDrop, v.Alone)
			if !v.Since.IsZero() {
				says += " since " + v.Since.Format("2 January 15:04")
			}
			share := float64(v.NoDrop) / float64(v.Alone)
			out = append(out, sight{key: "no-drop", x: share, sigma: math.Sqrt(0.05*0.05 + 0.25/float64(v.Alone)), valve: v.Valve, says: says})
		}
		if v.EmissionRise.Known() {
			sigma := math.Max(nanZero(v.EmissionRise.Sigma), 1e-9)
			out = append(out, sight{key: "emission-row", x: v.EmissionRise.Value / sigma / 4, sigma: 0.6, valve: v.Valve,
				says: fmt.Sprintf("the leak detector rises when valve %d fires", v.Valve)})
		}
	}
	return out
}
