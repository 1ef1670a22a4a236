package rehearse

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/solve"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

// contract loads the collector that the package's tests run: the contract's own, kept in testdata.
func contract(t testing.TB) *collector.Collector {
	t.Helper()
	c, err := collector.Load(filepath.Join(unittest.Root(t), "rehearse", "testdata", "collector.toml"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func set(t testing.TB, c *collector.Collector, key, value string) {
	t.Helper()
	if err := c.Set(key, value); err != nil {
		t.Fatal(err)
	}
}

func run(t testing.TB, c *collector.Collector, o Options) *Result {
	t.Helper()
	r, err := Run(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func days(n float64) time.Duration { return time.Duration(n * 24 * float64(time.Hour)) }

const inwg = unit.InchWater

func TestSameSeedSameBits(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.Spread, o.Channels = days(20), true, 1, AllChannels()
	o.Faults = []Fault{{Cause: ValveDead, Number: 3, After: days(5), Severity: 0.7, Ramp: -1}, {Cause: FanWeak, After: days(9), Severity: 0.3, Ramp: -1}}
	a, b := run(t, c, o), run(t, c, o)
	if !equalBits(a.Series, b.Series) {
		t.Error("two runs of one seed differ in their rows")
	}
	if text(t, a) != text(t, b) {
		t.Error("two runs of one seed differ in their truth")
	}
	o.Seed++
	if d := run(t, c, o); text(t, d) == text(t, a) {
		t.Error("another seed gives the same truth")
	}
	// what is measured, and how often, does not move the machine
	o.Seed--
	o.Channels, o.Sample, o.Keep = []Channel{DP}, time.Hour, false
	if d := run(t, c, o); !reflect.DeepEqual(d.Truth.Rows, a.Truth.Rows) || d.Summary.Pulses != a.Summary.Pulses {
		t.Errorf("another log moves the machine: %+v, %+v", d.Truth.Rows, a.Truth.Rows)
	}
}

func text(t *testing.T, r *Result) string {
	t.Helper()
	b, err := json.Marshal(r.Truth)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func equalBits(a, b Series) bool {
	if !reflect.DeepEqual(a.Time, b.Time) || !reflect.DeepEqual(a.Pulses, b.Pulses) {
		return false
	}
	for c := range a.Col {
		if len(a.Col[c]) != len(b.Col[c]) {
			return false
		}
		for i := range a.Col[c] {
			if math.Float64bits(a.Col[c][i]) != math.Float64bits(b.Col[c][i]) {
				return false
			}
		}
	}
	return true
}

// closes fails unless every balance of a run closes to 0.1 %.
func closes(t testing.TB, r *Result) {
	t.Helper()
	b := r.Truth.Balance
	for what, x := range map[string][2]float64{
		"dust": {float64(b.DustIn), float64(b.DustOnFilters + b.DustInBin + b.DustPassed)},
		"air":  {float64(b.AirIn), float64(b.AirValves + b.AirLeaks + b.AirInTank)},
		"fan":  {float64(b.FanGives), float64(b.PartsTake)},
	} {
		if d := math.Abs(x[0] - x[1]); !(d <= 1e-3*math.Abs(x[0])+1e-9) {
			t.Errorf("%s: %g in, %g out", what, x[0], x[1])
		}
	}
}

func TestSeasonBalances(t *testing.T) {
	c := contract(t)
	for _, fault := range []string{"", "leak-inward@20d", "valve-stuck-open:2@20d:0.1", "bin-overfull@30d", "fan-weak@10d", "cake-damp@15d", "cleaning-off@40d"} {
		o := NewOptions(c)
		o.Sample, o.Length = 0, days(90)
		if fault != "" {
			f, err := ParseFault(fault, o.Start)
			if err != nil {
				t.Fatal(err)
			}
			o.Faults = []Fault{f}
		}
		o.Events = []Event{{Kind: ChangeFilters, After: days(60)}, {Kind: EmptyBin, After: days(70)}}
		r := run(t, c, o)
		t.Run("fault "+fault, func(t *testing.T) { closes(t, r) })
	}
}

// The facts of the trade that DESIGN.md section 3 names.
func TestFactsOfTheTrade(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Sample, o.Length = 0, days(60)
	r := run(t, c, o)
	if d := r.Truth.Daily[0]; d.AfterClean >= inwg {
		t.Errorf("new filters stand at %.2f in. w.g.", float64(d.AfterClean)/inwg)
	}
	for _, d := range r.Truth.Daily[20:60] {
		if d.Ran > 3600 && (d.AfterClean < 1*inwg || d.Highest > 6*inwg) {
			t.Errorf("%s: seasoned filters between %.2f and %.2f in. w.g.", d.Date.Format("2 January"), float64(d.AfterClean)/inwg, float64(d.Highest)/inwg)
		}
	}
	if s := r.Summary; s.Pulses < 1000 || s.Limit != "" {
		t.Errorf("a healthy season: %+v", s)
	}
}

// The header comes back within the interval on an adequate supply and does not on a poor one.
func TestHeaderRecoversOnAdequateSupply(t *testing.T) {
	for supply, recovers := range map[string]bool{"20 scfm": true, "4 scfm": false} {
		c := contract(t)
		set(t, c, "header.supply_flow", supply)
		set(t, c, "cleaning.mode", "continuous")
		o := NewOptions(c)
		o.Length, o.Keep, o.Channels, o.Sample = days(1.5), true, []Channel{Running, HeaderLow}, 10*time.Second
		r := run(t, c, o)
		var lows []float64
		for i, v := range r.Series.Col[HeaderLow] {
			if r.Series.Col[Running][i] == 1 && !math.IsNaN(v) {
				lows = append(lows, v)
			}
		}
		low := solve.Median(lows)
		if back := low > 28*unit.Psi; back != recovers {
			t.Errorf("supply %s: the header falls to %.1f psi", supply, low/unit.Psi)
		}
	}
}

// The controller keeps the dP between its set points while cleaning can.
func TestSawTooth(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep = days(40), true
	o.Instruments = map[Channel]Instrument{DP: {}}
	r := run(t, c, o)
	dp := r.Series.Col[DP]
	starts := 0
	for i, v := range dp {
		if v > 4.02*inwg {
			t.Fatalf("row %d: %.3f in. w.g. above the high set point", i, v/inwg)
		}
		if i > 0 && r.Series.Col[Cleaning][i] == 1 && r.Series.Col[Cleaning][i-1] == 0 && r.Series.Col[Running][i] == 1 {
			starts++
			if v < 3.3*inwg {
				t.Errorf("row %d: cleaning began at %.3f in. w.g. or before", i, v/inwg)
			}
		}
	}
	if starts < 30 || starts > 400 {
		t.Errorf("%d cleanings in 40 days", starts)
	}
	if n := len(r.Series.Pulses); n < 15*starts {
		t.Errorf("%d pulses in %d cleanings", n, starts)
	}
	for i := 1; i < len(r.Series.Pulses); i++ {
		if a, b := r.Series.Pulses[i-1].Valve, r.Series.Pulses[i].Valve; b != a%6+1 {
			t.Fatalf("valve %d after valve %d", b, a)
		}
	}
}

func TestDowntimeCleaning(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep = days(10), true
	r := run(t, c, o)
	off := 0
	for _, p := range r.Series.Pulses {
		if r.Series.Col[Running][p.Row] == 0 {
			off++
		}
	}
	stops := 0
	for i, on := range r.Series.Col[Running] {
		if i > 0 && on == 0 && r.Series.Col[Running][i-1] == 1 {
			stops++
		}
	}
	if want := stops * 5 * 6; math.Abs(float64(off-want)) > 0.12*float64(want) {
		t.Errorf("%d pulses with the fan off after %d stops, want about %d (5 cycles of 6)", off, stops, want)
	}
}

func TestWrongOptions(t *testing.T) {
	c := contract(t)
	for name, change := range map[string]func(*Options){
		"no start":         func(o *Options) { o.Start = time.Time{} },
		"negative length":  func(o *Options) { o.Length = -1 },
		"too long":         func(o *Options) { o.Horizon = 100 * 366 * 24 * time.Hour },
		"too fast":         func(o *Options) { o.Sample = time.Millisecond },
		"spread":           func(o *Options) { o.Spread = math.NaN() },
		"damper":           func(o *Options) { o.Damper = 1.2 },
		"age":              func(o *Options) { o.Aged = -1 },
		"channel":          func(o *Options) { o.Channels = []Channel{99} },
		"cause":            func(o *Options) { o.Faults = []Fault{{Cause: "valve-ded"}} },
		"valve":            func(o *Options) { o.Faults = []Fault{{Cause: ValveDead, Number: 7, Severity: 1}} },
		"number":           func(o *Options) { o.Faults = []Fault{{Cause: FanWeak, Number: 7, Severity: 1}} },
		"severity":         func(o *Options) { o.Faults = []Fault{{Cause: FanWeak, Severity: 2}} },
		"variant":          func(o *Options) { o.Faults = []Fault{{Cause: FanWeak, Severity: 1, Variant: 4}} },
		"event":            func(o *Options) { o.Events = []Event{{Kind: "party"}} },
		"event position":   func(o *Options) { o.Events = []Event{{Kind: MoveDamper, Value: 3}} },
		"event before":     func(o *Options) { o.Events = []Event{{Kind: ChangeFilters, After: -1}} },
		"impossible dust":  func(o *Options) { o.Physics = func(p *Physics) { p.Loading = -1 } },
		"impossible media": func(o *Options) { o.Physics = func(p *Physics) { p.Law.K2 = 0 } },
	} {
		o := NewOptions(c)
		change(&o)
		if _, err := Run(context.Background(), c, o); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	bare := collector.New()
	if _, err := Run(context.Background(), bare, NewOptions(c)); !errors.Is(err, collector.ErrMissing) {
		t.Errorf("an empty collector file: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Run(ctx, c, NewOptions(c)); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestPulsesAreKeptOnlyWhereTheyAreLogged(t *testing.T) {
	c := contract(t)
	for _, x := range []struct {
		list []Channel
		want bool
	}{{[]Channel{Running, DP, FanCurrent}, false}, {[]Channel{DP, Pulse}, true}} {
		o := NewOptions(c)
		o.Length, o.Keep, o.Channels = days(10), true, x.list
		r := run(t, c, o)
		if r.Summary.Pulses == 0 {
			t.Fatal("nothing was cleaned")
		}
		if kept := len(r.Series.Pulses) > 0; kept != x.want {
			t.Errorf("a log of %v: %d pulses in it", x.list, len(r.Series.Pulses))
		}
	}
}
