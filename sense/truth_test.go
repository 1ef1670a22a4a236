package sense_test

import (
	"context"
	"math"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/sense"
)

// rehearsed runs a machine that differs from the usual one, with the instruments given, and hands over
// its log and its truth.
func rehearsed(t *testing.T, seed uint64, days int, channels []rehearse.Channel, events ...rehearse.Event) (*sense.Series, *rehearse.Result, *collector.Collector) {
	t.Helper()
	c, err := collector.Load("../rehearse/testdata/collector.toml")
	if err != nil {
		t.Fatal(err)
	}
	o := rehearse.NewOptions(c)
	o.Seed, o.Spread, o.Keep, o.Channels, o.Aged, o.Events = seed, 1, true, channels, 0.3, events
	o.Length = time.Duration(days) * 24 * time.Hour
	r, err := rehearse.Run(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	s := &sense.Series{Time: r.Series.Time, Zone: r.Series.Zone}
	for i := range s.Col {
		s.Col[i] = r.Series.Col[i]
	}
	if s.Has(sense.Pulse) {
		for _, p := range r.Series.Pulses {
			s.Pulses = append(s.Pulses, sense.Firing(p))
		}
	}
	return s, r, c
}

// levels are what collectors are wired for, with how well the airflow of a day can then be known:
// root mean square against the truth, as a share of design.
var levels = []struct {
	name     string
	channels []rehearse.Channel
	flow     float64
}{
	{"all", rehearse.AllChannels(), 0.02},
	{"usual", rehearse.UsualChannels(), 0.03},
	{"suction and current", []rehearse.Channel{rehearse.DP, rehearse.InletSP, rehearse.FanCurrent}, 0.05},
	{"dP and header", []rehearse.Channel{rehearse.DP, rehearse.Header, rehearse.HeaderLow, rehearse.Pulse}, 0.10},
	{"dP", []rehearse.Channel{rehearse.DP}, 0.10},
}

// Against the project's simulated machine, whose parameters sense never sees: the daily airflow and
// its width, the weekly low end of the dP at design flow, and filters changed in the night without a
// word about it.
func TestAgainstHiddenTruth(t *testing.T) {
	for _, l := range levels {
		t.Run(l.name, func(t *testing.T) {
			var off, width, days float64
			for seed := uint64(1); seed <= 4; seed++ {
				var events []rehearse.Event
				changed := seed%2 == 0
				if changed {
					events = append(events, rehearse.Event{Kind: rehearse.ChangeFilters, After: 40 * 24 * time.Hour})
				}
				s, r, c := rehearsed(t, seed, 70, l.channels, events...)
				red := sense.NewReducer(c)
				red.Add(s)
				f := sense.At(red.History(), c, time.Time{})
				o, w, n := flowErrors(f, r, c)
				off, width, days = off+o, width+w, days+n
				checkRenewals(t, seed, f, r.Truth.Start.Add(40*24*time.Hour), changed)
				checkLow(t, seed, f, r, 0.04+l.flow)
			}
			if rms := math.Sqrt(off / days); rms > l.flow {
				t.Errorf("daily airflow off by %.3f of design, want at most %.3f", rms, l.flow)
			}
			if off > 1.5*width {
				t.Errorf("airflow off by %.4f (mean square), its width says %.4f", off/days, width/days)
			}
		})
	}
}

// flowErrors sums the squared errors and widths of the days' airflow.
func flowErrors(f *sense.Features, r *rehearse.Result, c *collector.Collector) (off, width, n float64) {
	truth := map[int64]float64{}
	for _, d := range r.Truth.Daily {
		if d.Ran > 4*3600 {
			truth[d.Date.Unix()] = float64(d.Flow / c.Duty.Flow)
		}
	}
	for i := range f.Days {
		d := &f.Days[i]
		q, ok := truth[d.Start.Unix()]
		if x := d.Value[sense.FlowShare]; ok && x == x {
			off += (x - q) * (x - q)
			width += d.Sigma[sense.FlowShare]*d.Sigma[sense.FlowShare] + f.Get(sense.FlowShare).Shared*f.Get(sense.FlowShare).Shared*x*x
			n++
		}
	}
	return off, width, n
}

// checkRenewals wants the filter change found within the days the plant stood around it, and no other.
func checkRenewals(t *testing.T, seed uint64, f *sense.Features, at time.Time, changed bool) {
	t.Helper()
	found := 0
	for _, ch := range f.Changes {
		if ch.Kind != sense.FilterChange || ch.Confidence < 0.5 {
			continue
		}
		found++
		if !changed || ch.At.Before(at) || ch.At.After(at.Add(5*24*time.Hour)) {
			t.Errorf("seed %d: filters changed on %v, says %q; truth: changed %v at %v", seed, ch.At, ch.Why, changed, at)
		}
	}
	if changed && found != 1 {
		t.Errorf("seed %d: %d filter changes found, want 1", seed, found)
	}
}

// checkLow holds the last point's weekly low end against the truth of the last weeks.
func checkLow(t *testing.T, seed uint64, f *sense.Features, r *rehearse.Result, rel float64) {
	t.Helper()
	ps := f.Lives[len(f.Lives)-1].Points
	weeks := r.Truth.Weekly
	if len(ps) < 10 || len(weeks) < 2 {
		t.Fatalf("seed %d: %d points, %d weeks", seed, len(ps), len(weeks))
	}
	got, want := ps[len(ps)-1].Low, float64(weeks[len(weeks)-1])
	if math.Abs(got/want-1) > rel {
		t.Errorf("seed %d: weekly low end %.0f Pa, truth %.0f Pa, want within %.0f %%", seed, got, want, 100*rel)
	}
}
