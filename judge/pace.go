package judge

import (
	"fmt"
	"math"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// usualInterval is the time between two pulses where the file does not say it [s] (common practice, no source).
const usualInterval = 10

// leastCleaning is the share of the time spent cleaning below which its pace is not told.
const leastCleaning = 0.004

// pace is how many pulses come while it cleans, over how many the interval between pulses asks for [1]: a
// controller may mean to clean, and nothing fires. pulses [1/h] and cleaning [1] are of the same time.
func pace(in Input, pulses, cleaning sense.Estimate) sense.Estimate {
	if !pulses.Known() || !cleaning.Known() || cleaning.Value < leastCleaning {
		return sense.Unknown("it does not say when it cleans, or does not clean")
	}
	interval := float64(in.Collector.Header.Interval)
	if !(interval > 0) {
		interval = usualInterval
	}
	want := cleaning.Value * 3600 / interval
	return sense.Estimate{Value: pulses.Value / want, Sigma: width(pulses) / want, N: pulses.N}
}

// paceNow is the pace of the recent window.
func paceNow(in Input) sense.Estimate {
	return pace(in, in.Features.Get(sense.PulsesPerHour).Now, in.Features.Get(sense.CleaningShare).Now)
}

// paces looks at the pace against the interval and against the collector's own normal.
func paces(in Input, out []sight) []sight {
	now := paceNow(in)
	if !now.Known() {
		return out
	}
	says := func(unit.System) string {
		return fmt.Sprintf("while it cleans %.0f %% of the pulses come that the interval asks for", 100*now.Value)
	}
	ratio := func(to float64) float64 {
		return math.Max(-farthest, math.Log(math.Max(now.Value, 1e-9)/to))
	}
	out = append(out, sight{"pace:interval", ratio(1) / paceScale, says})
	normal := pace(in, in.Features.Get(sense.PulsesPerHour).Normal, in.Features.Get(sense.CleaningShare).Normal)
	if normal.Known() && normal.Value > 0 {
		out = append(out, sight{"pace", ratio(normal.Value) / math.Hypot(paceScale, now.Sigma/normal.Value), says})
	}
	return out
}

// paceScale is the log ratio of the pace that is worth a second look.
const paceScale = 0.4

// idle looks for a dP above the high set point that nothing is done about. A cleaning that used to start above the file's set
// point shows where it really is.
func idle(in Input, out []sight) []sight {
	f := in.Features
	raw, cleaning, high := known(f.Get(sense.DPRaw).Now), known(f.Get(sense.CleaningShare).Now), highSet(in)
	if !(high > 0) || raw != raw || cleaning != cleaning || !onDemand(in) {
		return out
	}
	if p := paceNow(in); p.Known() {
		cleaning *= math.Min(1, p.Value)
	}
	if usual := known(f.Get(sense.Trigger).Normal); usual > high {
		high = usual
	}
	over := math.Max(0, math.Min(2, math.Log(math.Max(raw, 1)/high)/0.1))
	return append(out, sight{"idle:high", over * (1 - math.Min(1, 4*cleaning)), func(unit.System) string {
		return fmt.Sprintf("it cleans %.0f %% of the time although the dP stands above its high set point", 100*cleaning)
	}}, sight{"labour:high", over * math.Min(1, 2*cleaning), func(unit.System) string {
		return fmt.Sprintf("it cleans %.0f %% of the time and the dP stays above its high set point", 100*cleaning)
	}})
}

// onDemand reports a collector that is cleaned by its dP, as far as the file says.
func onDemand(in Input) bool {
	return in.Collector.Cleaning.Mode == collector.OnDemand || in.Collector.Cleaning.Mode == ""
}

// held looks for cleaning on demand that does not get the dP down to where it is to stop: it has no end, so nothing shows where
// it ends. Where it used to stop above the file's low set point, that counts.
func held(in Input, out []sight) []sight {
	f := in.Features
	raw, cleaning, low := known(f.Get(sense.DPRaw).Now), known(f.Get(sense.CleaningShare).Now), float64(in.Collector.SetPoints.Low)
	if usual := known(f.Get(sense.Stop).Normal); usual > 0 && !(low >= usual) {
		low = usual
	}
	if !(low > 0) || raw != raw || cleaning != cleaning || !onDemand(in) {
		return out
	}
	over := math.Max(0, math.Min(farthest, math.Log(math.Max(raw, 1)/low)/0.1))
	return append(out, sight{"labour:low", over * math.Max(0, math.Min(1, 2*cleaning-1)), func(sys unit.System) string {
		return fmt.Sprintf("it cleans %.0f %% of the time and does not get the dP down to %s, where it is to stop", 100*cleaning, print(unit.KindPressure, low, sys))
	}})
}
