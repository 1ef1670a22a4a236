package plant

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// first is when the records here begin.
var first = time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)

// hours is a record of a reading an hour for thirty days, of the channels that of gives.
func hours(of [sense.NumChannels]func(i int) float64) *sense.History {
	s := &sense.Series{}
	for i := range 720 {
		s.Time = append(s.Time, first.Add(time.Duration(i)*time.Hour).UnixNano())
		for c, v := range of {
			if v != nil {
				s.Col[c] = append(s.Col[c], v(i))
			}
		}
	}
	r := sense.NewReducer(nil)
	r.Add(s)
	return r.History()
}

// A gauge that reads nothing, or below it, with the fan running says nothing of the damper.
func TestNoTrimByABadGauge(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		dp      float64 // in. w.g.
		trimmed bool
	}{{2.5, true}, {0.01, false}, {0, false}, {-0.5, false}, {-14.7, false}} {
		h := hours([sense.NumChannels]func(int) float64{
			sense.DP:      func(i int) float64 { return (x.dp + 0.02*math.Sin(float64(i))*min(1, math.Abs(x.dp))) * unit.InchWater },
			sense.Running: func(int) float64 { return 1 },
		})
		j := Judge(JudgeInput{Collector: c, History: h})
		if _, err := json.Marshal(j); err != nil {
			t.Errorf("dP of %g in. w.g.: %v", x.dp, err)
		}
		told := false
		for _, m := range j.Missing {
			told = told || m.Channel == "damper" && strings.HasPrefix(m.Costs, "no trim can be given")
		}
		if (j.Trim != nil) != x.trimmed || told == x.trimmed {
			t.Errorf("dP of %g in. w.g.: trim %+v, told %v, causes %v", x.dp, j.Trim, told, j.Causes[:2])
		}
	}
}

// Whatever the instruments show, and however little of the file is known, the judgement can be written.
func TestAnyJudgementIsWritten(t *testing.T) {
	var files []*collector.Collector
	const least = "tag = \"DC-1\"\n[duty]\nflow = \"4200 cfm\"\n[filters]\nrows = 4\nper_row = 1\narea_each = \"400 ft2\"\n"
	for _, text := range []string{trimmable, least, least + "[cleaning]\nmode = \"none\"\n",
		trimmable + "[header]\nset = \"60 psi\"\ninterval = \"10 s\"\n[setpoints]\nlow = \"2 in.w.g.\"\nhigh = \"4 in.w.g.\"\nalarm = \"6 in.w.g.\"\n"} {
		c, err := collector.Parse("test", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, c)
	}
	odd := []float64{0, math.NaN(), 1, -1, 1e-12, -1e-12, 1e9, -1e9, 1e300, 500, -500, 4e5, 0.5, math.MaxFloat64}
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 11))
		var of [sense.NumChannels]func(int) float64
		for ch := range of {
			if r.IntN(2) == 0 {
				continue
			}
			a, b, often, slope := odd[r.IntN(len(odd))], odd[r.IntN(len(odd))], r.Float64(), r.NormFloat64()*float64(r.IntN(2))
			of[ch] = func(i int) float64 {
				if r.Float64() < often {
					return a + slope*float64(i)
				}
				return b
			}
		}
		s := &sense.Series{}
		step := []time.Duration{10 * time.Second, time.Minute, time.Hour, time.Hour, 24 * time.Hour}[r.IntN(5)]
		for i := range []int{1, 2, 5, 60, 720}[r.IntN(5)] {
			s.Time = append(s.Time, first.Add(time.Duration(i)*step).UnixNano())
			for c, v := range of {
				if v != nil {
					s.Col[c] = append(s.Col[c], v(i))
				}
			}
			for r.IntN(3) == 0 && seed%2 == 0 {
				s.Pulses = append(s.Pulses, sense.Firing{Row: int32(i), Valve: uint8(r.IntN([]int{3, 256}[r.IntN(2)]))})
			}
		}
		c := files[r.IntN(len(files))]
		red := sense.NewReducer(c)
		red.Add(s)
		for _, at := range []time.Time{{}, first.Add(25 * time.Hour)} {
			j := Judge(JudgeInput{Collector: c, History: red.History(), At: at})
			if _, err := json.Marshal(j); err != nil {
				t.Errorf("seed %d: %v", seed, err)
			}
			sum := 0.0
			for _, p := range j.Causes {
				sum += p.P
			}
			if !(math.Abs(sum-1) < 1e-6) {
				t.Errorf("seed %d: the causes' probabilities sum to %g", seed, sum)
			}
		}
	}
}

// That the filters end soon comes after what is wrong with the collector, and first where nothing is.
func TestTheEndComesAfterTheTrouble(t *testing.T) {
	for _, x := range []struct {
		standing, want judge.Standing
		cause          judge.Cause
		at             int // place of the reason that tells of the end
	}{{judge.NeedsHands, judge.NeedsHands, judge.ValveDead, 1}, {judge.Drifting, judge.Drifting, judge.ValveDead, 1},
		{judge.Steady, judge.Drifting, judge.ValveDead, 0}, {judge.Steady, judge.Drifting, judge.None, 0}} {
		j := &Judgement{At: first, Standing: x.standing, Causes: []judge.Probability{{Cause: x.cause, P: 0.9}}, Reasons: []collector.Text{collector.Plain("the reason of the cause")},
			Life: &Life{OrderBy: Date{Time: first.AddDate(0, 0, 5)}}}
		j.ending(first)
		if j.Standing != x.want || len(j.Reasons) != 2 || !strings.Contains(j.Reasons[x.at].String(), "order new ones by 6 May 2026") {
			t.Errorf("%s, %s: %s, %q", x.standing, x.cause, j.Standing, j.Reasons)
		}
	}
}

// Filters of months whose dP stands above its limit have to be ordered: that they end within hours, or have ended, is no reason to
// be silent.
func TestFiltersPastTheirEndAreTold(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable+"[cleaning]\nmode = \"none\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	of := [sense.NumChannels]func(i int) float64{sense.DP: func(i int) float64 { return 300 + float64(i) + 2*math.Sin(2.399*float64(i)) }}
	for max, soon := range map[unit.Pressure]bool{5000: false, 1030: true, 900: true, 700: true} {
		c.Filters.MaxDP = max
		j := Judge(JudgeInput{Collector: c, History: hours(of)})
		if j.Life == nil || j.EndsSoon() != soon || soon && (j.Standing == judge.Steady || j.Life.P50.Sub(j.At) > 8*24*time.Hour) {
			t.Errorf("max dP %.0f Pa where 1018 are read: %s, %+v, %q", float64(max), j.Standing, j.Life, j.Reasons)
		}
	}
}

// A record that begins in summer has its days begin at 23:00 of the winter's clock: what it knows by the day stays that day, and what
// it knows to the minute is told by the clock on the wall.
func TestDaysAndDaylightSaving(t *testing.T) {
	site, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Skip("no time zones here:", err)
	}
	summer, winter := time.FixedZone("", -4*3600), time.FixedZone("", -5*3600)
	for _, x := range []struct{ at, want time.Time }{
		{time.Date(2026, 12, 1, 0, 0, 0, 0, summer), time.Date(2026, 12, 1, 0, 0, 0, 0, site)},
		{time.Date(2026, 7, 1, 0, 0, 0, 0, summer), time.Date(2026, 7, 1, 0, 0, 0, 0, site)},
		{time.Date(2026, 7, 1, 0, 0, 0, 0, winter), time.Date(2026, 7, 1, 0, 0, 0, 0, site)},
		{time.Date(2026, 12, 1, 10, 15, 0, 0, summer), time.Date(2026, 12, 1, 9, 15, 0, 0, site)},
		{time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), time.Date(2026, 11, 30, 19, 0, 0, 0, site)}, // another clock altogether
		{time.Time{}, time.Time{}},
	} {
		if got := onSite(x.at, site); !got.Equal(x.want) || got.IsZero() != x.at.IsZero() {
			t.Errorf("%v is %v on site, want %v", x.at, got, x.want)
		}
	}
}

// A move of the damper is told with where it stood before, where that is known. What sense doubts isn't told.
func TestMovesAreTold(t *testing.T) {
	f := &sense.Features{Changes: []sense.Change{
		{At: first, Kind: "damper", Before: math.NaN(), After: 0.6, Unit: "1", Logged: true},
		{At: first, Kind: "damper", Before: 0.6, After: 0.77, Unit: "1", Confidence: 0.9},
		{At: first, Kind: "filters", Before: 494, After: 264, Unit: "Pa", Confidence: 0.47},
	}}
	var j Judgement
	j.changes(f, time.UTC)
	if len(j.Changes) != 2 || j.Changes[0].Text.String() != "damper moved to 60 %" || j.Changes[1].Text.String() != "damper moved from 60 % to 77 %, found in the record" {
		t.Errorf("told as %+v", j.Changes)
	}
}
