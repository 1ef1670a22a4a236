package rehearse

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/unit"
)

// little is a collector that runs few hours, with compressed air so dear that set points matter, and a search over a year.
func little(t *testing.T, changes ...string) (*collector.Collector, Options, Limits) {
	t.Helper()
	c := contract(t)
	for _, kv := range append([]string{"duty.hours_per_week=4", "cost.compressed_air=60"}, changes...) {
		key, value, _ := strings.Cut(kv, "=")
		set(t, c, key, value)
	}
	o := NewOptions(c)
	o.Horizon = leastAdvised
	return c, o, UsualLimits()
}

func advise(t *testing.T, c *collector.Collector, o Options, lim Limits) Advice {
	t.Helper()
	a, err := Advise(context.Background(), c, o, lim)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAdviceOfOneSeedIsOne(t *testing.T) {
	c, o, lim := little(t)
	before := *c
	a, b := advise(t, c, o, lim), advise(t, c, o, lim)
	if a.Advised.Settings != b.Advised.Settings || a.Saving != b.Saving || a.Runs != b.Runs || !reflect.DeepEqual(a.Binding, b.Binding) {
		t.Errorf("two searches of one seed advise %+v and %+v", a.Advised.Settings, b.Advised.Settings)
	}
	if c.SetPoints != before.SetPoints || c.Header != before.Header {
		t.Error("the search changed the collector")
	}
	if !a.Changed || !(a.Saving > 0) {
		t.Errorf("with air this dear today's settings stand: %+v", a)
	}
}

// TestAdviceKeepsLimits: whatever the machine, the advice costs no more than today's, and keeps the limits.
func TestAdviceKeepsLimits(t *testing.T) {
	for name, changes := range map[string][]string{
		"as it is":          nil,
		"alarm near":        {"setpoints.alarm=4.4 in.w.g."},
		"small header":      {"header.volume=5 L", "header.supply_flow=4 scfm"},
		"header low":        {"header.set=45 psi"},
		"high pressure":     {"header.set=85 psi"},
		"timed":             {"cleaning.mode=timed"},
		"filters free":      {"cost.electricity=0.01", "filters.price_each=1"},
		"starved by pulses": {"cleaning.mode=timed", "header.supply_flow=1 scfm"},
	} {
		t.Run(name, func(t *testing.T) {
			c, o, lim := little(t, changes...)
			a := advise(t, c, o, lim)
			x, now := a.Advised, a.Today
			if x.PerYear.Cost > now.PerYear.Cost || a.Saving < 0 || a.Changed != (x.Settings != now.Settings) || a.Runs > lim.Runs {
				t.Errorf("advised %+v in %d runs", x, a.Runs)
			}
			if x.Summary.ShortFlow > now.Summary.ShortFlow+0.002 || x.Supply > max(lim.Supply, now.Supply) || x.Refused != "" {
				t.Errorf("advised %+v against %+v", x, now)
			}
			if !a.Changed {
				return
			}
			if x.High > max(c.SetPoints.Alarm-inwg+1, now.High) || x.High-x.Low < 0.5*inwg-1 || x.Header > 1.25*c.Header.Set+1 {
				t.Errorf("advised %+v", x.Settings)
			}
			if r := newAdviser(c, o, lim).recovers(x.Header); x.Interval < r && x.Interval != now.Interval {
				t.Errorf("a pulse every %v; the header recovers in %v", x.Interval, r)
			}
		})
	}
}

func TestAdviceRefuses(t *testing.T) {
	c, o, lim := little(t)
	a := newAdviser(c, o, lim)
	trial := func(short, flow, supply, days float64) *Trial {
		return &Trial{Supply: unit.Share(supply), Summary: Summary{ShortFlow: unit.Share(short), MeanFlow: unit.Flow(flow) * c.Duty.Flow,
			LifeDays: jsonFloat(days)}}
	}
	a.today = trial(0.10, 0.99, 0.3, 500)
	for _, x := range []struct {
		trial *Trial
		basis Basis
		want  string
	}{
		{trial(0.10, 0.99, 0.3, 500), ByCost, ""},
		{trial(0.11, 0.99, 0.3, 500), ByCost, ShortOfFlow},
		{trial(0.05, 0.97, 0.3, 500), ByCost, ShortOfFlow},
		{trial(0.05, 1.00, 0.81, 500), ByCost, ShortOfSupply},
		{trial(0.05, 1.00, 0.79, 400), ByCost, ""},
		{trial(0.05, 1.00, 0.79, 400), ByRunning, ShortOfLife},
		{trial(0.05, 1.00, 0.79, 400), ByEnergy, ShortOfLife},
	} {
		a.basis = x.basis
		if got := a.refuse(x.trial); got != x.want {
			t.Errorf("%s: %+v is refused for %q, want %q", x.basis, x.trial, got, x.want)
		}
	}
}

// TestAdviceWithoutPrices falls back on what is known, and says so.
func TestAdviceWithoutPrices(t *testing.T) {
	nan := math.NaN()
	for _, x := range []struct {
		change func(*collector.Collector)
		basis  Basis
		note   string
	}{
		{func(c *collector.Collector) { c.Cost.ElectricityPer = nan }, ByEnergy, "price of electricity is not given"},
		{func(c *collector.Collector) { c.Filters.PriceEach = nan }, ByRunning, "filters' price is not given"},
		{func(c *collector.Collector) { c.Cost.LabourPer = nan }, ByCost, "labour of a filter change is not given"},
		{func(c *collector.Collector) { c.Cost.AirPer = nan }, ByCost, "price of compressed air is not given"},
		{func(c *collector.Collector) { c.Fan.Power = nil }, ByCost, "fan's power is not given"},
	} {
		c, o, lim := little(t)
		x.change(c)
		lim.Runs = 8
		a := advise(t, c, o, lim)
		if a.Basis != x.basis || !strings.Contains(fmt.Sprint(a.Notes), x.note) || math.IsNaN(a.Saving) || a.Saving < 0 {
			t.Errorf("%s: by %s, saving %g, notes %q", x.note, a.Basis, a.Saving, a.Notes)
		}
	}
}

func TestAdviceEndsWithItsContext(t *testing.T) {
	c, o, lim := little(t)
	ctx, cancel := context.WithCancel(context.Background())
	runs := 0
	lim.Progress = func(done, most int) {
		if runs = done; done == 2 {
			cancel()
		}
	}
	if _, err := Advise(ctx, c, o, lim); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if most := 2 + 2*runtime.GOMAXPROCS(0); runs > most {
		t.Errorf("%d runs were finished after cancelling at the second", runs)
	}
	set(t, c, "cleaning.mode", "none")
	if _, err := Advise(context.Background(), c, o, lim); err == nil || !strings.Contains(err.Error(), "never pulsed") {
		t.Errorf("filters that are never pulsed: %v", err)
	}
}
