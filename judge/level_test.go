package judge

import (
	"math"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// A damper that has stood too far shut since the first reading has no normal to be held against: the file's points say where it
// belongs for design flow, and nothing is said where they don't reach there.
func TestTheFileSaysWhereTheDamperBelongs(t *testing.T) {
	points := []collector.DamperPoint{{Open: 0.3, Flow: 2.1}, {Open: 0.2, Flow: 1.6}, {Open: 0.65, Flow: 2.7}}
	for _, c := range []struct {
		name   string
		points []collector.DamperPoint
		flow   unit.Flow // of design
		open   float64
		want   float64 // of the sight; NaN none
	}{
		{"where it belongs, with seasoned filters", points, 2.1, 0.366, 0},
		{"at the widest point", points, 2.7, 0.794, 0},
		{"too far shut", points, 2.1, 0.17, -6.4},
		{"too far open", points, 1.9, 0.5, 3.8},
		{"past the points", points, 3, 0.6, math.NaN()},
		{"below the points", points, 1.5, 0.6, math.NaN()},
		{"no points", nil, 2, 0.6, math.NaN()},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Duty.Flow, in.Collector.Damper.Points = c.flow, c.points
		in.Features.Get(sense.DamperOpen).Now = sense.Estimate{Value: c.open, N: 9}
		got, ok := Sights(in)["damper:file"]
		if !ok {
			got = math.NaN()
		}
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 0.3 {
			t.Errorf("%s: damper at %g seen as %.2f, want %.2f", c.name, c.open, got, c.want)
		}
	}
}

// A dP that reads nothing for longer than the plant ever stood is seen, where nothing else says that the fan stands.
func TestADPThatReadsNothingForLongerThanThePlantEverStood(t *testing.T) {
	const day = 24 * time.Hour
	for _, c := range []struct {
		by           string
		idle, before time.Duration
		want         float64
		seen         bool
	}{
		{"dp", 16 * day, 2 * day, 3.5, true}, {"dp", 2 * day, 0, 2.2, true}, {"dp", day, 3 * day, 0, true},
		{"dp", 0, 2 * day, 0, false}, {"fan current", 16 * day, 2 * day, 0, false},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Features.RunningBy, in.Features.Idle, in.Features.IdleBefore = c.by, c.idle, c.before
		got, seen := Sights(in)["stands:dp"]
		if seen != c.seen || math.Abs(got-c.want) > 0.1 {
			t.Errorf("by %s, %v after %v at most: seen %v as %.2f, want %v, %.2f", c.by, c.idle, c.before, seen, got, c.seen, c.want)
		}
	}
}

// A dP that reads nothing in hours in which the fan used to run is seen before it has done so for longer than any weekend.
func TestADPThatReadsNothingWhereTheFanUsedToRun(t *testing.T) {
	for _, c := range []struct {
		by     string
		missed float64
		want   float64
		seen   bool
	}{
		{"dp", 0, 0, true}, {"dp", 8, 1.4, true}, {"dp", 40, 3.6, true}, {"fan current", 40, 0, false},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Features.RunningBy, in.Features.Idle, in.Features.IdleBefore, in.Features.Missed = c.by, 50*time.Hour, 60*time.Hour, c.missed
		got, seen := Sights(in)["stands:habit"]
		if seen != c.seen || math.Abs(got-c.want) > 0.1 {
			t.Errorf("by %s, %.0f h missed: seen %v as %.2f, want %v, %.2f", c.by, c.missed, seen, got, c.seen, c.want)
		}
	}
}

// A dP that reads as if the fan ran in hours in which it used to stand is seen where nothing else says that it runs, and one
// that falls more slowly than rows come, or than a fan runs down.
func TestADPThatALineHolds(t *testing.T) {
	for _, c := range []struct {
		by                    string
		extra, sampling, fall float64
		habit, rows           float64
		habitSeen             bool
	}{
		{"dp", 0, 60, 60, 0, 0, true}, {"dp", 40, 60, 3600, 3.6, 5.8, true}, {"fan current", 40, 10, 20, 0, -1.6, false},
		{"dp", 14, 600, 600, 2, 0, true},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		f := in.Features
		f.RunningBy, f.Extra, f.Sampling = c.by, c.extra, time.Duration(c.sampling)*time.Second
		f.Get(sense.FallTime).Now = sense.Estimate{Value: c.fall, N: 3}
		s := Sights(in)
		if got, seen := s["runs:habit"]; seen != c.habitSeen || math.Abs(got-c.habit) > 0.1 {
			t.Errorf("by %s, %.0f h beyond habit: seen %v as %.2f, want %v, %.2f", c.by, c.extra, seen, got, c.habitSeen, c.habit)
		}
		if got := s["fall:rows"]; math.Abs(got-c.rows) > 0.1 {
			t.Errorf("falls in %.0f s, rows every %.0f s: seen as %.2f, want %.2f", c.fall, c.sampling, got, c.rows)
		}
	}
}

// A dP that never gets down to the low set point is told from one that does, whatever its median is.
func TestADPThatNeverGetsDown(t *testing.T) {
	for _, c := range []struct{ floor, ceiling, low, high float64 }{{400, 800, 0, 0}, {690, 790, 5.5, -0.1}, {480, 560, 1.8, -3.6}} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.SetPoints.Low, in.Collector.SetPoints.High = 400, 800
		in.Features.Get(sense.DPFloor).Now = sense.Estimate{Value: c.floor, N: 9}
		in.Features.Get(sense.DPCeiling).Now = sense.Estimate{Value: c.ceiling, N: 9}
		s := Sights(in)
		if low, high := s["floor:low"], s["ceiling:high"]; math.Abs(low-c.low) > 0.1 || math.Abs(high-c.high) > 0.1 {
			t.Errorf("from %g to %g Pa: low end seen as %.2f, high end as %.2f, want %.2f, %.2f", c.floor, c.ceiling, low, high, c.low, c.high)
		}
	}
}

// A file that still has the set points of before they were moved does not make a machine idle that waits for its own.
func TestADPBelowWhereCleaningUsedToStartIsNotIdle(t *testing.T) {
	for _, c := range []struct{ raw, trigger, want float64 }{
		{800, math.NaN(), 2}, {800, 590, 2}, {800, 900, 0}, {1300, 900, 2}, {500, 900, 0},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.SetPoints.High, in.Collector.Cleaning.Mode = 600, collector.OnDemand
		in.Features.Get(sense.DPRaw).Now = sense.Estimate{Value: c.raw, N: 9}
		in.Features.Get(sense.CleaningShare).Now = sense.Estimate{Value: 0, N: 9}
		in.Features.Get(sense.Trigger).Normal = sense.Estimate{Value: c.trigger, N: 9}
		if got := Sights(in)["idle:high"]; math.Abs(got-c.want) > 1e-9 {
			t.Errorf("dP %g Pa where cleaning used to start at %g: idle %.2f, want %.2f", c.raw, c.trigger, got, c.want)
		}
	}
}

// Cleaning on demand that has no end shows nowhere where it ends: how far the dP stays above where it is to stop, or used to, does.
func TestCleaningThatDoesNotGetTheDPDown(t *testing.T) {
	for _, c := range []struct {
		mode                     collector.Mode
		raw, cleaning, low, stop float64
		want                     float64 // NaN none
	}{
		{collector.OnDemand, 740, 0.8, 490, math.NaN(), 0.6 * 4.12},
		{collector.OnDemand, 670, 0.9, 490, 570, 0.8 * 1.62},
		{collector.OnDemand, 740, 0.3, 490, math.NaN(), 0}, // between the set points
		{collector.OnDemand, 480, 1, 490, math.NaN(), 0},
		{collector.OnDemand, 740, 1, math.NaN(), math.NaN(), math.NaN()},
		{collector.Continuous, 740, 1, 490, math.NaN(), math.NaN()},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.SetPoints.Low, in.Collector.Cleaning.Mode = unit.Pressure(c.low), c.mode
		in.Features.Get(sense.DPRaw).Now = sense.Estimate{Value: c.raw, N: 9}
		in.Features.Get(sense.CleaningShare).Now = sense.Estimate{Value: c.cleaning, N: 9}
		in.Features.Get(sense.Stop).Normal = sense.Estimate{Value: c.stop, N: 9}
		got, ok := Sights(in)["labour:low"]
		if !ok {
			got = math.NaN()
		}
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 0.01 {
			t.Errorf("%s, %g Pa, cleaning %g of the time to %g or %g: seen as %.2f, want %.2f", c.mode, c.raw, c.cleaning, c.low, c.stop, got, c.want)
		}
	}
}

// Where somebody moved the high set point and left the file as it was, the dP is held against where it stands now; a move that
// is only suspected, or one of the low one, changes nothing.
func TestAMovedSetPointIsHeldAgainstWhereItStands(t *testing.T) {
	for _, c := range []struct {
		name   string
		change sense.Change
		want   float64 // of the sight
	}{
		{"none", sense.Change{}, 9.4},
		{"surely moved", sense.Change{Kind: sense.HighMoved, Before: 350, After: 600, Confidence: 0.9}, 0.4},
		{"noted", sense.Change{Kind: sense.HighMoved, After: 600, Logged: true}, 0.4},
		{"noted without a figure", sense.Change{Kind: sense.HighMoved, After: math.NaN(), Logged: true}, 9.4},
		{"to beyond the alarm", sense.Change{Kind: sense.HighMoved, Before: 350, After: 900, Confidence: 0.9}, 9.4},
		{"suspected", sense.Change{Kind: sense.HighMoved, Before: 350, After: 600, Confidence: 0.5}, 9.4},
		{"the low one", sense.Change{Kind: sense.LowMoved, Before: 350, After: 600, Confidence: 0.9}, 9.4},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.SetPoints.High, in.Collector.SetPoints.Alarm = 350, 850
		in.Features.Changes = []sense.Change{c.change}
		in.Features.Get(sense.Trigger).Now = sense.Estimate{Value: 615, N: 9}
		if got := Sights(in)["trigger:high"]; math.Abs(got-c.want) > 0.1 {
			t.Errorf("%s: cleaning that starts at 615 Pa seen as %.2f, want %.2f", c.name, got, c.want)
		}
	}
}

// Dust that was damp, and what breaks, is there within a shift, what blinds the filters takes many: how long the pulses and the dP
// took to rise is seen, and how damp the air was then. What has not changed says nothing.
func TestHowLongARiseTook(t *testing.T) {
	for _, c := range []struct {
		took, now, wet, rose, fell, damp float64
	}{
		{4, 90, 0.95, -1.8, math.NaN(), 2.4}, {96, 90, 0.52, 1.4, math.NaN(), 0.1},
		{4, 3, math.NaN(), math.NaN(), -1.8, math.NaN()}, {math.NaN(), 11, math.NaN(), math.NaN(), math.NaN(), math.NaN()},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		m := in.Features.Get(sense.PulsesPerHour)
		m.Now, m.Normal, m.Spread = sense.Estimate{Value: c.now, N: 9}, sense.Estimate{Value: 10, N: 9}, 1
		m.Took = sense.Estimate{Value: c.took, N: 9}
		in.Features.Wet = sense.Estimate{Value: c.wet, N: 9}
		h := in.Features.Get(sense.HumidityLevel)
		h.Normal, h.Spread = sense.Estimate{Value: 0.5, N: 9}, 0.1
		seen := Sights(in)
		for name, want := range map[string]float64{"busy:rose": c.rose, "busy:fell": c.fell, "humidity:rose": c.damp} {
			got, ok := seen[name]
			if !ok {
				got = math.NaN()
			}
			if math.IsNaN(got) != math.IsNaN(want) || math.Abs(got-want) > 0.15 {
				t.Errorf("after %.0f h at %.2f humidity: %s is %.2f, want %.2f", c.took, c.wet, name, got, want)
			}
		}
	}
}

// A bin's level that is told in quarters and stood through a day is no bin that fills by nothing: it may as well fill as it should.
func TestABinTheLevelOfWhichIsCoarse(t *testing.T) {
	for _, c := range []struct {
		sigma, want float64
	}{{0.0005, -1}, {0.015, math.NaN()}} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		d := &in.Collector.Duty
		d.Loading, d.Flow, d.BulkDensity, in.Collector.Bin.Volume = 0.001, 2, 720, 1
		in.Features.Get(sense.BinRate).Now = sense.Estimate{Sigma: c.sigma, N: 9}
		got, ok := Sights(in)["bin-rate:file"]
		if !ok {
			got = math.NaN()
		}
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 0.1 {
			t.Errorf("told to %.4f: seen as %.2f, want %.2f", c.sigma, got, c.want)
		}
	}
}

// What is cleaned by the clock lies anywhere below its set points and all is well; above them it says something there too.
func TestCleaningByTheClockGoesByNoSetPoint(t *testing.T) {
	sights := []string{"raw:high", "raw:low", "floor:low", "ceiling:high", "trigger:high", "stop:low", "top:high"}
	seen := func(mode collector.Mode, dp float64) map[string]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Cleaning.Mode, in.Collector.SetPoints.Low, in.Collector.SetPoints.High = mode, 600, 900
		for _, q := range []sense.Quantity{sense.DPRaw, sense.DPFloor, sense.DPCeiling, sense.Trigger, sense.Stop, sense.DPHigh} {
			in.Features.Get(q).Now = sense.Estimate{Value: dp, Sigma: 5, N: 9}
		}
		return Sights(in)
	}
	for _, mode := range []collector.Mode{"", collector.OnDemand, collector.Timed, collector.Continuous} {
		below, above := seen(mode, 300), seen(mode, 1500)
		for _, k := range sights {
			if clock := mode == collector.Timed || mode == collector.Continuous; clock != (below[k] == 0) || below[k] > 0 {
				t.Errorf("%q, far below the set points: %s is %.2f", mode, k, below[k])
			}
			if above[k] < 3 {
				t.Errorf("%q, far above the set points: %s is %.2f", mode, k, above[k])
			}
		}
	}
}
