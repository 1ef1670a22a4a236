package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/machines"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/unit"
)

// trial is one simulated collector with what is the matter with it.
type trial struct {
	seed      uint64
	collector *collector.Collector
	truth     string // "none" for a healthy one
	number    int
	second    string // another trouble at the same time, "" none
	severity  float64
	old       float64 // days since the onset
	story     string  // what a healthy one went through
	series    *sense.Series
	at        time.Time
}

// has reports that a cause is what is the matter, or one of two that are.
func (t *trial) has(c judge.Cause) bool { return string(c) == t.truth || string(c) == t.second }

// Share of healthy trials, share of the faults that were there from the first reading, and bounds of
// the logs' lengths.
const (
	healthyShare = 0.4
	startShare   = 0.1
	leastDays    = 25
	mostDays     = 100
)

// draw simulates a trial. Machines that clean nearly without end while nothing is wrong are mostly drawn
// again: somebody would have set them otherwise.
func draw(ctx context.Context, seed uint64) (*trial, error) { return drawn(ctx, seed, false) }

// drawPair simulates a trial with two troubles at once.
func drawPair(ctx context.Context, seed uint64) (*trial, error) { return drawn(ctx, seed, true) }

func drawn(ctx context.Context, seed uint64, pair bool) (*trial, error) {
	r := rand.New(rand.NewPCG(seed, 5))
	for {
		t, err := drawOne(ctx, seed, r, pair)
		if err != nil || !t.restless() || r.Float64() < 0.1 {
			return t, err
		}
	}
}

// restless reports that an on-demand machine cleaned most of the time before anything was wrong.
func (t *trial) restless() bool {
	if t.collector.Cleaning.Mode != collector.OnDemand {
		return false
	}
	until := t.at.Add(-time.Duration(t.old*24) * time.Hour).UnixNano()
	var ran, cleaned float64
	for i, on := range t.series.Col[sense.Running] {
		if on == 1 && (t.truth == "none" || t.series.Time[i] < until) {
			ran++
			cleaned += t.series.Col[sense.Cleaning][i]
		}
	}
	return cleaned > 0.4*ran
}

// drawOne simulates a trial of whatever machine comes.
func drawOne(ctx context.Context, seed uint64, r *rand.Rand, pair bool) (*trial, error) {
	c, err := machines.Draw(r)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	t := &trial{seed: seed, collector: c, truth: "none"}
	days := leastDays + r.Float64()*(mostDays-leastDays)
	o := rehearse.NewOptions(c)
	o.Seed, o.Spread, o.Channels, o.Keep = seed, 1, rehearse.AllChannels(), true
	o.Aged = unit.Share(0.6 * r.Float64())
	o.Sample = []time.Duration{10 * time.Second, 30 * time.Second, time.Minute, time.Minute, time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute}[r.IntN(8)]
	if o.Sample < time.Minute {
		days = min(days, 40)
	}
	o.Instruments = machines.Instruments(r, c)
	healthy := r.Float64() < healthyShare && !pair
	t.story, o.Events = tricks(r, days, healthy)
	if !healthy {
		t.fault(r, &o, days)
	}
	for first := *t; pair && (t.second == "" || judge.Kin(judge.Cause(t.second), judge.Cause(t.truth))); {
		o.Faults = o.Faults[:1]
		other := first
		other.fault(r, &o, days)
		t.second, t.old = other.truth, min(first.old, other.old)
	}
	o.Length = time.Duration(days * 24 * float64(time.Hour))
	res, err := rehearse.Run(ctx, c, o)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	t.series = machines.Series(&res.Series)
	t.at = res.Truth.End
	return t, nil
}

// fault draws a cause, from subtle to gross, that came up between three hours and four weeks before
// the end, or was there from the first reading.
func (t *trial) fault(r *rand.Rand, o *rehearse.Options, days float64) {
	causes := rehearse.Causes()
	f := rehearse.Fault{Cause: causes[r.IntN(len(causes))], Severity: unit.Share(0.25 + 0.75*r.Float64()), Ramp: -1}
	switch f.Cause {
	case rehearse.ValveDead, rehearse.ValveWeak, rehearse.ValveStuckOpen, rehearse.FilterLeak:
		f.Number = 1 + r.IntN(t.collector.Filters.Rows)
	}
	if f.Cause == rehearse.ValveDead || f.Cause == rehearse.CleaningOff || f.Cause == rehearse.GaugeLineOff {
		f.Severity = unit.Share(1 - 0.15*r.Float64()*r.Float64())
	}
	t.old = min(math.Exp(math.Log(0.15)+r.Float64()*math.Log(28/0.15)), days-8)
	if f.Cause == rehearse.FiltersBlinded {
		t.old = min(days-8, t.old+10)
	}
	if r.Float64() < startShare {
		t.old, f.Ramp = days, 0
	}
	f.After = time.Duration((days - t.old) * 24 * float64(time.Hour))
	o.Faults = append(o.Faults, f)
	t.truth, t.number, t.severity = f.Cause, f.Number, float64(f.Severity)
}

// tricks draws what happens to a machine without anything being wrong with it.
func tricks(r *rand.Rand, days float64, healthy bool) (string, []rehearse.Event) {
	at := func(share float64) time.Duration { return time.Duration(share * days * 24 * float64(time.Hour)) }
	events := []rehearse.Event{{Kind: rehearse.EmptyBin, After: at(0.3)}, {Kind: rehearse.EmptyBin, After: at(0.6)}, {Kind: rehearse.EmptyBin, After: at(0.85)}}
	if !healthy && r.Float64() < 0.6 {
		return "", events
	}
	when := 0.4 + 0.55*r.Float64()
	switch r.IntN(9) {
	case 0:
		return "heavy week", append(events, rehearse.Event{Kind: rehearse.HeavyFeed, After: at(when), Until: at(when) + 7*24*time.Hour, Value: 1.3 + 0.4*r.Float64()})
	case 1:
		return "new filters", append(events, rehearse.Event{Kind: rehearse.ChangeFilters, After: at(when)})
	case 2:
		lo := (1.6 + r.Float64()) * unit.InchWater
		return "set points", append(events, rehearse.Event{Kind: rehearse.SetPoints, After: at(when), Value: lo, Second: lo + (1+r.Float64())*unit.InchWater})
	case 3:
		return "damp weather", append(events, rehearse.Event{Kind: rehearse.DampWeather, After: at(when), Until: at(when) + 5*24*time.Hour, Value: 0.25})
	case 4:
		return "hot weather", append(events, rehearse.Event{Kind: rehearse.Weather, After: at(when), Until: at(when) + 10*24*time.Hour, Value: 12 * r.NormFloat64()})
	case 5:
		return "drift", append(events, rehearse.Event{Kind: rehearse.Drift, After: at(0.2), Channel: rehearse.DP, Value: 1.2 * r.NormFloat64()})
	case 6:
		return "gap", append(events, rehearse.Event{Kind: rehearse.LogGap, After: at(when), Until: at(when) + 4*24*time.Hour})
	case 7:
		return "more shifts", append(events, rehearse.Event{Kind: rehearse.MoreShifts, After: at(when), Until: at(1), Value: 110 * 3600})
	}
	return "quiet", events
}

// level is how a collector is instrumented.
type level struct {
	name     string
	channels []sense.Channel
	pulses   bool
	hand     bool
}

func levels() []level {
	base := []sense.Channel{sense.DP}
	return []level{
		{"one hand reading a day", base, false, true},
		{"dP only", base, false, false},
		{"dP, header, pulses", []sense.Channel{sense.DP, sense.Header, sense.HeaderLow, sense.Pulse, sense.Cleaning, sense.Running}, true, false},
		{"dP, static pressure, current", []sense.Channel{sense.DP, sense.InletSP, sense.FanCurrent, sense.Running}, false, false},
		{"all", nil, true, false},
	}
}

// through returns the log as this level sees it.
func (l level) through(s *sense.Series) *sense.Series {
	out := &sense.Series{Time: s.Time, Zone: s.Zone, Source: s.Source}
	if l.channels == nil {
		return s
	}
	for _, c := range l.channels {
		out.Col[c] = s.Col[c]
	}
	if l.pulses {
		out.Pulses = s.Pulses
	}
	if l.hand {
		return machines.ByHand(s)
	}
	return out
}
