package rehearse

import (
	"math"
	"testing"
	"time"

	"dustwright/collector"
)

// Between cleanings the filters' dP at design flow rises by K2 C V^2 t (EPA Cost Manual, pulse-jet form), with the flow the
// fan leaves. The rows of the log, read by perfect instruments, must show it.
func TestRiseFollowsTheManual(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.Channels, o.TrimEvery = days(1), true, []Channel{DP, Flow, Running, Cleaning}, 0
	o.Instruments = map[Channel]Instrument{DP: {}, Flow: {}}
	var k2, loading float64
	o.Physics = func(p *Physics) {
		p.FeedSD, p.Idle, p.Weather, p.Stops, p.Schedule, p.Penetration = 0, 0, 0, 0, 168*3600, 0
		p.Law.SeasonRise, p.Law.CreepDust, p.Air = 0, 0, collector.RefTemperature
		k2, loading = float64(p.Law.K2), float64(p.Loading)
	}
	r := run(t, c, o)
	area, design := float64(c.Filters.Area()), float64(c.Duty.Flow)
	at := func(i int) float64 { return r.Series.Col[DP][i] * design / r.Series.Col[Flow][i] }
	seen := 0
	for i := 10; i+60 < len(r.Series.Time); i += 60 {
		dust, quiet := 0.0, true
		for k := i; k < i+60; k++ {
			dust += loading * (r.Series.Col[Flow][k] + r.Series.Col[Flow][k+1]) / 2 * time.Minute.Seconds()
			quiet = quiet && r.Series.Col[Cleaning][k+1] == 0
		}
		if !quiet || r.Truth.Daily[0].Pulses > 0 && at(i) > at(i+60) {
			continue
		}
		seen++
		// the rows are not quite even after a cleaning: some tenths of a per cent
		rise := (at(i+60) - at(i)) / k2 / design * area * area
		if math.Abs(rise/dust-1) > 0.01 {
			t.Errorf("hour %d: the dP tells of %.4f kg, the air brought %.4f kg", i/60, rise, dust)
		}
	}
	if seen < 5 {
		t.Errorf("%d quiet hours", seen)
	}
}
