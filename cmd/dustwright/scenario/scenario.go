// Package scenario is the invented plant of the demo: five collectors and a season in which things
// happen to them. Its logs come from the simulation; none of its people, places or figures is real.
package scenario

import (
	"context"
	_ "embed"
	"fmt"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

//go:embed dc1.toml
var dc1 string

//go:embed dc2.toml
var dc2 string

//go:embed dc3.toml
var dc3 string

//go:embed dc4.toml
var dc4 string

//go:embed dc5.toml
var dc5 string

// Machine is one collector of the demo plant.
type Machine struct {
	TOML  string
	Story string // what happens to it, for the person who wants to check the judgement
	base  string
	seed  uint64
	aged  unit.Share
	wired []rehearse.Channel
	tell  func(o *rehearse.Options, day func(float64) time.Duration)
}

// Days is the length of the season.
const Days = 120

// Plant returns the five collectors, in walking order.
func Plant() []Machine {
	usual := rehearse.UsualChannels()
	return []Machine{
		{TOML: dc1, base: "dc-1", seed: 11, aged: 0.35, wired: append(usual, rehearse.AfterFilterDP, rehearse.BinLevel),
			Story: "the filters are well into their life: each clean brings back less than the one before, nothing is broken",
			tell: func(o *rehearse.Options, day func(float64) time.Duration) {
				o.Faults = []rehearse.Fault{{Cause: rehearse.FiltersBlinded, After: day(75), Severity: 0.9, Ramp: day(45)}}
				o.Events = empties(day, 25, 50, 75, 100)
			}},
		{TOML: dc2, base: "dc-2", seed: 22, aged: 0.1, wired: usual,
			Story: "runs as it should; one week of overtime in its second month made it clean more often",
			tell: func(o *rehearse.Options, day func(float64) time.Duration) {
				o.Events = append(empties(day, 60), rehearse.Event{Kind: rehearse.HeavyFeed, After: day(40), Until: day(47), Value: 1.4})
			}},
		{TOML: dc3, base: "dc-3", seed: 13, aged: 0.1, wired: append(usual, rehearse.BinLevel),
			Story: "valve 4 has not fired for three weeks: its pilot is dead and row 4 carries its cake",
			tell: func(o *rehearse.Options, day func(float64) time.Duration) {
				o.Faults = []rehearse.Fault{{Cause: rehearse.ValveDead, Number: 4, After: day(Days - 21), Severity: 1}}
				o.Events = empties(day, 20, 40, 60, 80, 100, 115)
			}},
		{TOML: dc4, base: "dc-4", seed: 14, aged: 0.9, wired: []rehearse.Channel{rehearse.Running, rehearse.DP, rehearse.FanCurrent, rehearse.Damper},
			Story: "new filters went in twelve days ago and are still seasoning; only dP, motor current and the damper are logged",
			tell: func(o *rehearse.Options, day func(float64) time.Duration) {
				o.Events = append(empties(day, 30, 60, 90, 110), rehearse.Event{Kind: rehearse.ChangeFilters, After: day(Days - 12)})
			}},
		{TOML: dc5, base: "dc-5", seed: 15, aged: 0.3, wired: []rehearse.Channel{rehearse.Running, rehearse.DP, rehearse.FanCurrent, rehearse.Damper},
			Story: "since three days a line of the dP gauge is plugged: the reading hardly moves, and the controller no longer cleans",
			tell: func(o *rehearse.Options, day func(float64) time.Duration) {
				o.Faults = []rehearse.Fault{{Cause: rehearse.GaugeLineBlocked, After: day(Days - 3), Severity: 1}}
				o.Events = empties(day, 45, 90)
			}},
	}
}

// empties are the days on which somebody empties the bin.
func empties(day func(float64) time.Duration, days ...float64) []rehearse.Event {
	var out []rehearse.Event
	for _, d := range days {
		out = append(out, rehearse.Event{Kind: rehearse.EmptyBin, After: day(d)})
	}
	return out
}

// Collector returns the machine's collector, read from its file.
func (m Machine) Collector() (*collector.Collector, error) {
	c, err := collector.Parse("demo", []byte(m.TOML))
	if err != nil {
		return nil, fmt.Errorf("the demo's collector file: %w", err)
	}
	return c, nil
}

// Base is the name of the machine's files without their endings.
func (m Machine) Base() string { return m.base }

// Wired lists the channels of the machine's log.
func (m Machine) Wired() []rehearse.Channel { return m.wired }

// Run simulates the machine's season, which ends at end, into rec, or where that is nil into the result's series.
// The same end gives the same season.
func (m Machine) Run(ctx context.Context, end time.Time, rec rehearse.Recorder) (*rehearse.Result, error) {
	c, err := m.Collector()
	if err != nil {
		return nil, err
	}
	o := rehearse.NewOptions(c)
	o.Seed, o.Aged, o.Channels, o.Recorder, o.Keep = m.seed, m.aged, m.wired, rec, rec == nil
	o.Start = end.AddDate(0, 0, -Days)
	o.Length = end.Sub(o.Start)
	m.tell(&o, func(d float64) time.Duration { return time.Duration(d * 24 * float64(time.Hour)) })
	return rehearse.Run(ctx, c, o)
}
