package collector

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// run drives a controller for a time in steps of one second and returns the valves fired, with their times.
func fired(k *Controller, from, to int, dp float64, running bool) (valves, times []int) {
	for t := from; t < to; t++ {
		if a := k.Step(unit.Seconds(t), unit.Pressure(dp*unit.InchWater), running); a.Fire != 0 {
			valves, times = append(valves, a.Fire), append(times, t)
		}
	}
	return valves, times
}

func controller(t testing.TB, change func(*Collector)) *Controller {
	t.Helper()
	c := dc1(t)
	change(c)
	k, err := c.NewController()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func expect(t *testing.T, what string, got, want []int) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

func TestOnDemand(t *testing.T) {
	k := controller(t, func(*Collector) {})
	v, _ := fired(k, 0, 100, 3.9, true)
	expect(t, "below high", v, nil)
	v, at := fired(k, 100, 135, 4.0, true)
	expect(t, "at high", v, []int{1, 2, 3, 4})
	expect(t, "times", at, []int{100, 110, 120, 130})
	v, _ = fired(k, 135, 155, 2.1, true)
	expect(t, "between low and high it goes on", v, []int{5, 6})
	if !k.Step(155, unit.Pressure(math.NaN()), true).Cleaning {
		t.Error("a missing reading ended the cleaning")
	}
	v, _ = fired(k, 156, 200, 2.0, true)
	expect(t, "at low it stops", v, nil)
	if d := k.Due(); !math.IsInf(float64(d), 1) {
		t.Errorf("nothing is due, yet Due says %v", d)
	}
	v, _ = fired(k, 200, 215, 4.5, true)
	expect(t, "the order goes on where it left off", v, []int{1, 2})
	if a := k.Step(216, 6*unit.InchWater, true); !a.Alarm {
		t.Error("no alarm at the alarm set point")
	}
}

func TestDowntimeCleaning(t *testing.T) {
	k := controller(t, func(c *Collector) { c.Cleaning.DowntimeCycles = 2 })
	fired(k, 0, 10, 3, true)
	v, at := fired(k, 10, 500, 0, false)
	expect(t, "two cycles after the fan stops", v, []int{1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 5, 6})
	if at[0] != 10 || at[11] != 120 {
		t.Errorf("first at %d, last at %d s, want 10 and 120", at[0], at[11])
	}
	k = controller(t, func(c *Collector) { c.Cleaning.DowntimeCycles = 2 })
	fired(k, 0, 10, 3, true)
	v, _ = fired(k, 10, 25, 0, false)
	expect(t, "before the restart", v, []int{1, 2})
	v, _ = fired(k, 25, 300, 3, true)
	expect(t, "a restart ends downtime cleaning", v, nil)
}

func TestOtherModes(t *testing.T) {
	for _, mode := range []Mode{Timed, Continuous} {
		k := controller(t, func(c *Collector) { c.Cleaning.Mode, c.Cleaning.Order = mode, []int{6, 5, 4, 3, 2, 1} })
		v, at := fired(k, 0, 25, 0.5, true)
		expect(t, string(mode), v, []int{6, 5, 4})
		expect(t, string(mode)+" times", at, []int{0, 10, 20})
	}
	k := controller(t, func(c *Collector) { c.Cleaning.Mode = None })
	v, _ := fired(k, 0, 100, 9, true)
	expect(t, "none", v, nil)
	v, _ = fired(k, 100, 200, 0, false)
	expect(t, "none after the stop", v, nil)
}

func TestControllerNeeds(t *testing.T) {
	c := New()
	var m *Missing
	if _, err := c.NewController(); !errors.As(err, &m) || m.Keys[0] != "cleaning.mode" {
		t.Errorf("empty collector: %v", err)
	}
	c.Cleaning.Mode = OnDemand
	_, err := c.NewController()
	const want = `the cleaning controller cannot be given from this collector file: add interval = "10 s" under [header] and low = "2.0 in.w.g." under [setpoints] and high = "4.0 in.w.g." under [setpoints]`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	k := controller(t, func(*Collector) {})
	if err := k.Reset(5*unit.InchWater, unit.Pressure(math.NaN())); err == nil {
		t.Error("low above high was taken")
	}
	if err := k.Reset(1*unit.InchWater, 3*unit.InchWater); err != nil {
		t.Error(err)
	}
	v, _ := fired(k, 0, 1, 3, true)
	expect(t, "at the new high", v, []int{1})
}

// TestPulsesKeepTheirDistance: whatever dP and fan do, two pulses are at least an interval apart and follow the order.
func TestPulsesKeepTheirDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := New()
		c.Filters.Rows, c.Filters.PerRow = rapid.IntRange(1, 9).Draw(t, "rows"), 1
		c.Cleaning.Mode = rapid.SampledFrom([]Mode{OnDemand, Timed, Continuous}).Draw(t, "mode")
		c.Cleaning.DowntimeCycles = rapid.IntRange(0, 3).Draw(t, "downtime")
		c.Header.Interval = unit.Seconds(rapid.Float64Range(1, 60).Draw(t, "interval"))
		c.SetPoints.Low, c.SetPoints.High = 500, 1000
		k, err := c.NewController()
		if err != nil {
			t.Fatal(err)
		}
		now, last, valve := 0.0, math.Inf(-1), 0
		for range rapid.IntRange(1, 200).Draw(t, "steps") {
			now += rapid.Float64Range(0, 40).Draw(t, "wait")
			a := k.Step(unit.Seconds(now), unit.Pressure(rapid.Float64Range(0, 2000).Draw(t, "dp")), rapid.Bool().Draw(t, "running"))
			if a.Fire == 0 {
				continue
			}
			if now-last < float64(c.Header.Interval) {
				t.Fatalf("pulses %g s apart, interval %g s", now-last, float64(c.Header.Interval))
			}
			if want := valve%c.Filters.Rows + 1; a.Fire != want {
				t.Fatalf("valve %d fired, %d was due", a.Fire, want)
			}
			if !a.Cleaning {
				t.Fatal("a valve fired outside a cleaning run")
			}
			last, valve = now, a.Fire
		}
	})
}
