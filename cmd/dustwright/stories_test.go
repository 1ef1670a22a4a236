package main

import (
	"context"
	"testing"
	"time"

	"dustwright/cmd/dustwright/scenario"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// mostChecks is in how many checks the stories of the demo plant must be settled.
const mostChecks = 3

// Whoever does the checks that are proposed, and answers what is found, is led to what really is the
// matter with the machines of the demo plant. The first is left out: its filters wear out over weeks, and
// it is the life left that says so.
func TestTheChecksLeadToTheCause(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates four seasons")
	}
	truths := map[string]judge.Probability{
		"dc-2": {Cause: judge.None}, "dc-3": {Cause: judge.ValveDead, Number: 4},
		"dc-4": {Cause: judge.None}, "dc-5": {Cause: judge.GaugeLineBlocked},
	}
	for _, m := range scenario.Plant()[1:] {
		t.Run(m.Base(), func(t *testing.T) {
			t.Parallel()
			c, h, _ := season(t, m)
			in := judge.Input{Collector: c, Features: sense.At(h, c, time.Time{})}
			truth := truths[m.Base()]
			for range mostChecks {
				causes := judge.Judge(in).Causes
				n := judge.Next(causes, judge.Checks(), in.Answers)
				if n == nil {
					break
				}
				entry, _ := in.Experience.CheckOf(n.ID)
				in.Answers = append(in.Answers, judge.Answer{Check: n.ID, Number: n.Number, Yes: entry.Chance(truth.Cause, truth.Number, n.Number) > 0.5})
			}
			if top := judge.Judge(in).Causes[0]; top.Cause != truth.Cause || top.Number != truth.Number || top.P < 0.5 {
				t.Errorf("after %d checks: %v, in truth %v", len(in.Answers), top, truth)
			}
		})
	}
}

// season returns a machine of the demo plant with what its season shows, and when that began.
func season(t *testing.T, m scenario.Machine) (*collector.Collector, *sense.History, time.Time) {
	t.Helper()
	c, err := m.Collector()
	if err != nil {
		t.Fatal(err)
	}
	run, err := m.Run(context.Background(), time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC), nil)
	if err != nil {
		t.Fatal(err)
	}
	r := sense.NewReducer(c)
	r.Add(seriesOf(c.Tag, &run.Series))
	return c, r.History(), run.Truth.Start
}

// A record that has just begun has no normal to be held against, and what is not known is no finding: in their first days
// the machines of the demo plant, with nothing wrong yet, are steady.
func TestARecordThatHasJustBegunIsSteady(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates five seasons")
	}
	for _, m := range scenario.Plant() {
		t.Run(m.Base(), func(t *testing.T) {
			t.Parallel()
			c, h, start := season(t, m)
			for _, hours := range []float64{1, 5, 24, 72, 120} {
				at := start.Add(time.Duration(hours * float64(time.Hour)))
				result := judge.Judge(judge.Input{Collector: c, Features: sense.At(h, c, at)})
				if result.Standing != judge.Steady {
					t.Errorf("after %g hours: %s, %v", hours, result.Standing, result.Causes[:3])
				}
			}
		})
	}
}
