package rehearse

import (
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/solve"
)

func TestParseFault(t *testing.T) {
	start := time.Date(2026, 3, 2, 0, 0, 0, 0, time.FixedZone("", -6*3600))
	for text, want := range map[string]Fault{
		"valve-dead:3@60d":                      {Cause: ValveDead, Number: 3, After: days(60), Severity: 1, Ramp: -1},
		"valve-dead:3@60d:0.5":                  {Cause: ValveDead, Number: 3, After: days(60), Severity: 0.5, Ramp: -1},
		"fan-weak":                              {Cause: FanWeak, Severity: 1, Ramp: -1},
		"fan-weak:30 %":                         {Cause: FanWeak, Severity: 0.3, Ramp: -1},
		"fan-weak@36h":                          {Cause: FanWeak, After: 36 * time.Hour, Severity: 1, Ramp: -1},
		"duct-blocked@2026-03-12:0.4":           {Cause: DuctBlocked, After: days(10), Severity: 0.4, Ramp: -1},
		"duct-blocked@2026-03-12T06:00":         {Cause: DuctBlocked, After: days(10.25), Severity: 1, Ramp: -1},
		"leak-inward@2026-03-12T12:00:00Z:0.25": {Cause: LeakInward, After: days(10.25), Severity: 0.25, Ramp: -1},
		"filter-leak:6:1":                       {Cause: FilterLeak, Number: 6, Severity: 1, Ramp: -1},
	} {
		got, err := ParseFault(text, start)
		if err != nil || got != want {
			t.Errorf("%s: %+v, %v; want %+v", text, got, err, want)
		}
	}
	for text, part := range map[string]string{
		"valve-ded:3":            "did you mean valve-dead",
		"valve-dead":             "needs the number",
		"valve-dead:x":           "no valve or row",
		"valve-dead:0":           "no valve or row",
		"fan-weak:2":             "no severity",
		"fan-weak:0.5:0.5":       "too many parts",
		"fan-weak@yesterday":     "no time",
		"fan-weak@2020-01-01":    "before the run starts",
		"fan-weak:0.5@60d":       "stands last",
		"":                       "is no cause",
		"fan-weak@60d:lots":      "no severity",
		"header-pressure-low@-3": "no time",
	} {
		if _, err := ParseFault(text, start); err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("%q: %v; want a sentence with %q", text, err, part)
		}
	}
}

func FuzzParseFault(f *testing.F) {
	for _, s := range []string{"valve-dead:3@60d", "fan-weak@2026-03-12T12:00:00Z:0.25", "x", "fan-weak:@:", "duct-blocked@1e9d"} {
		f.Add(s)
	}
	start := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ParseFault(text, start)
		if err == nil {
			if err := got.check(math.MaxInt); err != nil {
				t.Errorf("%q parses and then is refused: %v", text, err)
			}
		} else if err.Error() == "" {
			t.Errorf("%q: no sentence", text)
		}
	})
}

// means are a run's columns after a day, while the fan runs.
func means(t *testing.T, r *Result, from float64) [NumChannels]float64 {
	t.Helper()
	var out [NumChannels]float64
	for c := range out {
		var v []float64
		for i, x := range r.Series.Col[c] {
			at := float64(r.Series.Time[i]-r.Series.Time[0]) / 1e9 / day
			if at > from && r.Series.Col[Running][i] == 1 && !math.IsNaN(x) {
				v = append(v, x)
			}
		}
		out[c] = solve.Median(v)
	}
	return out
}

// every cause must show where it shows on a machine, and in the right direction.
func TestEveryCauseShows(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every cause")
	}
	c := contract(t)
	base := NewOptions(c)
	base.Length, base.Keep, base.Channels, base.TrimEvery = days(26), true, AllChannels(), 0
	sound := run(t, c, base)
	ref := means(t, sound, 12)
	type seen struct {
		r *Result
		m [NumChannels]float64
	}
	pulses := func(r *Result) int { return r.Summary.Pulses }
	last := func(r *Result) Day { return r.Truth.Daily[len(r.Truth.Daily)-4] }
	for _, x := range []struct {
		fault   string
		variant int
		shows   func(s seen) bool
	}{
		{"filters-blinded@4d", 0, func(s seen) bool { return last(s.r).Residual > 1.8*last(sound).Residual }},
		{"dust-load-heavy@10d", 0, func(s seen) bool { return pulses(s.r) > pulses(sound)*3/2 && s.r.Summary.Dust > 1.5*sound.Summary.Dust }},
		{"cake-damp@10d", 0, func(s seen) bool { return pulses(s.r) > 2*pulses(sound) }},
		{"airflow-high@10d", 0, func(s seen) bool { return s.m[Flow] > 1.1*ref[Flow] && s.m[Damper] > ref[Damper]+0.3 }},
		{"airflow-low@10d", 0, func(s seen) bool { return s.m[Flow] < 0.85*ref[Flow] && s.m[InletSP] > ref[InletSP] }},
		{"duct-blocked@5d", 0, func(s seen) bool { return s.m[Flow] < 0.85*ref[Flow] && s.m[InletSP] < 1.3*ref[InletSP] }},
		{"leak-inward@10d", 0, func(s seen) bool { return s.m[Flow] > 1.02*ref[Flow] && s.m[InletSP] > 0.7*ref[InletSP] }},
		{"fan-weak@2d", 1, func(s seen) bool { return s.m[Flow] < 0.9*ref[Flow] }},
		{"fan-weak@10d", 2, func(s seen) bool { return s.m[Flow] < 0.9*ref[Flow] && s.m[FanCurrent] < 0.85*ref[FanCurrent] }},
		{"fan-weak@10d", 3, func(s seen) bool { return s.m[Flow] < 0.75*ref[Flow] }},
		{"cleaning-off@10d", 0, func(s seen) bool { return pulses(s.r) < pulses(sound)*2/3 && s.m[DP] > 4*inwg }},
		{"header-pressure-low@10d", 1, func(s seen) bool { return s.m[Header] < 0.6*ref[Header] && pulses(s.r) > pulses(sound) }},
		{"header-pressure-low@10d", 2, func(s seen) bool { return lowest(s.r) < 0.6*lowest(sound) }},
		{"valve-dead:3@10d", 0, func(s seen) bool {
			return s.r.Truth.Rows[2].Cake > 2*sound.Truth.Rows[2].Cake && pulses(s.r) > pulses(sound)
		}},
		{"valve-weak:3@10d", 1, func(s seen) bool { return s.r.Truth.Rows[2].Pulses < 0.8*sound.Truth.Rows[2].Pulses }},
		{"valve-weak:3@10d", 2, func(s seen) bool { return s.r.Truth.Rows[2].Pulses < 0.9*s.r.Truth.Rows[1].Pulses }},
		{"valve-stuck-open:3@10d", 0, func(s seen) bool {
			return s.m[Header] < 0.2*ref[Header] && s.r.Truth.Balance.AirLeaks > s.r.Truth.Balance.AirValves
		}},
		{"gauge-line-blocked@10d", 0, func(s seen) bool { return wander(s.r, 12) < 0.5*wander(sound, 12) }},
		{"gauge-line-off@10d", 1, func(s seen) bool { return s.m[DP] < 0.1*ref[DP] && s.m[DP] > -20 && pulses(s.r) < pulses(sound) }},
		{"gauge-line-off@10d", 2, func(s seen) bool { return s.m[DP] < -0.5*ref[DP] }},
		{"filter-leak:3@10d", 0, func(s seen) bool {
			return s.m[Emission] > 3*ref[Emission] && last(s.r).AfterFilter > last(sound).AfterFilter+100
		}},
		{"bin-overfull@10d", 0, func(s seen) bool { return s.m[BinLevel] == 1 && pulses(s.r) > pulses(sound) }},
	} {
		f, err := ParseFault(x.fault, base.Start)
		if err != nil {
			t.Fatal(err)
		}
		f.Variant = x.variant
		o := base
		o.Faults = []Fault{f}
		r := run(t, c, o)
		m := means(t, r, 12)
		if !x.shows(seen{r, m}) {
			t.Errorf("%s (variant %d) does not show: %+v, pulses %d against %d, balance %+v, medians %v against %v, rows %+v against %+v", x.fault, x.variant, last(r),
				pulses(r), pulses(sound), r.Truth.Balance, m, ref, r.Truth.Rows, sound.Truth.Rows)
		}
		closes(t, r)
	}
}

// lowest is the median of the daily lowest header pressures of the run's second half.
func lowest(r *Result) float64 {
	var v []float64
	for _, d := range r.Truth.Daily[len(r.Truth.Daily)/2:] {
		if d.Pulses > 0 {
			v = append(v, float64(d.HeaderLow))
		}
	}
	return solve.Median(v)
}

// wander is the typical change of the dP reading from minute to minute.
func wander(r *Result, from float64) float64 {
	var v []float64
	dp := r.Series.Col[DP]
	for i := 1; i < len(dp); i++ {
		if float64(r.Series.Time[i]-r.Series.Time[0])/1e9/day > from && r.Series.Col[Running][i]+r.Series.Col[Running][i-1] == 2 {
			v = append(v, math.Abs(dp[i]-dp[i-1]))
		}
	}
	return solve.Median(v)
}

func TestEveryCauseHasATest(t *testing.T) {
	if n := len(Causes()); n != 17 {
		t.Errorf("%d causes; TestEveryCauseShows knows 17", n)
	}
}

func TestFaultPutRight(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.TrimEvery = days(30), true, 0
	o.Faults = []Fault{{Cause: AirflowLow, After: days(10), Until: days(20), Severity: 1, Ramp: -1}}
	r := run(t, c, o)
	d := r.Truth.Daily
	if d[9].Damper != d[25].Damper || d[15].Damper >= d[9].Damper {
		t.Errorf("damper %g before, %g during, %g after", float64(d[9].Damper), float64(d[15].Damper), float64(d[25].Damper))
	}
}
