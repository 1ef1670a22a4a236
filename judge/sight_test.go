package judge

import (
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// A damper that was opened speaks for too much air, unless somebody noted to have opened it, or the air is no more than design:
// then only what it did to the air does. Of other causes it says the same.
func TestAMoveOfTheDamperThatIsExplainedIsNoFinding(t *testing.T) {
	at := time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	weighed := func(logged bool, flow float64) map[Cause]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Features.At = at
		in.Features.FlowBy = []sense.FlowMethod{{Name: "flow"}}
		for q, now := range map[sense.Quantity]float64{sense.DamperOpen: 0.9, sense.FlowShare: flow} {
			m := in.Features.Get(q)
			m.Now, m.Fresh, m.Normal = sense.Estimate{Value: now, Sigma: 0.01, N: 9}, sense.Estimate{Value: now, Sigma: 0.01, N: 9}, sense.Estimate{Value: 0.6, Sigma: 0.01, N: 9}
		}
		in.Features.Changes = []sense.Change{
			{At: at.AddDate(0, 0, -9), Kind: sense.DamperMove, Before: 0.5, After: 0.6, Confidence: 1, Logged: !logged},
			{At: at.AddDate(0, 0, -2), Kind: sense.DamperMove, Before: 0.6, After: 0.9, Confidence: 1, Logged: logged},
		}
		out := map[Cause]float64{}
		for _, h := range weigh(in, observe(in, nil)).hyps {
			out[h.cause] = h.log
		}
		return out
	}
	found, noted := weighed(false, 1.1), weighed(true, 1.1)
	if found[AirflowHigh]-noted[AirflowHigh] < 0.5 {
		t.Errorf("log odds of too much air %.2f, and %.2f where the move was noted: want less", found[AirflowHigh], noted[AirflowHigh])
	}
	if found[DuctBlocked] != noted[DuctBlocked] {
		t.Errorf("log odds of a blocked duct %.2f, and %.2f where the move was noted", found[DuctBlocked], noted[DuctBlocked])
	}
	for flow, stands := range map[float64]bool{0.6: true, 0.96: true, 1.02: true, 1.04: false} {
		if off := weighed(false, flow)[AirflowHigh] - weighed(true, flow)[AirflowHigh]; (math.Abs(off) < 0.5) != stands {
			t.Errorf("at %g of design a move that nobody noted adds %.2f to the log odds of too much air: no finding %v", flow, off, stands)
		}
	}
	if more := weighed(true, 1.5); more[AirflowHigh]-noted[AirflowHigh] < 0.5 {
		t.Errorf("log odds of too much air %.2f, and %.2f where there is a third more of it: want more", noted[AirflowHigh], more[AirflowHigh])
	}
}

func TestASmallShareHasNoSign(t *testing.T) {
	for v, want := range map[float64]string{-0.004: "0 %", 0.004: "0 %", -0.016: "-2 %", 0.5: "50 %"} {
		if got := print(unit.KindShare, v, unit.SI); got != want {
			t.Errorf("a share of %g is printed as %q, want %q", v, got, want)
		}
	}
}

// What lies off what the record makes it is said in a plain sentence.
func TestWhatTheRecordDoesNotMakeItIsSaidPlainly(t *testing.T) {
	for _, c := range []struct {
		q           sense.Quantity
		now, normal float64
		want        string
	}{
		{sense.AfterBeyond, 0.8, 1.1, "the after-filter's dP is 20 % below what the airflow makes it by the record, normally 10 % above"},
		{sense.MotorBeyond, -0.05, 0.001, "the motor's load is 5 % below what dP and damper make it by the record"},
		{sense.MotorBeyond, 0.05, 0.02, "the motor's load is 5 % above what dP and damper make it by the record, normally 2 % above"},
		{sense.MotorBeyond, 0.001, -0.03, "the motor's load is at what dP and damper make it by the record, normally 3 % below"},
	} {
		for i := range quantities {
			if k := &quantities[i]; k.q == c.q {
				if got := k.changed(c.now, c.normal, unit.US); got != c.want {
					t.Errorf("%q, want %q", got, c.want)
				}
			}
		}
	}
}

// Where nothing seems wrong, what lies far out of the usual is told all the same, but for what chance or a trim explains; and
// that cleaning brings the dP back as before is said only where it does.
func TestWhatIsOutOfTheUsualIsToldThoughNothingIsWrong(t *testing.T) {
	says := func(text string) func(unit.System) string { return func(unit.System) string { return text } }
	for name, c := range map[string]struct {
		rate, usual, flow float64 // cleanings an hour, or their number not known the dP over its normal; share of design
		seen              []sight
		want              []string
	}{
		"as before":   {1, 0.9, 1.2, []sight{{"raw", 2, says("raw")}}, []string{"the dP runs at 2.0 in. w.g. and cleaning brings it back once an hour, as before"}},
		"seldom now":  {0.25, 1, 1.2, []sight{{"raw", 1, says("raw")}}, []string{"the dP runs at 2.0 in. w.g. and cleaning brings it back every 4 hours, normally once an hour"}},
		"not at all":  {0, 1, 1.2, []sight{{"busy", -6, says("busy")}, {"cycles", -6, says("cycles")}}, []string{"the dP runs at 2.0 in. w.g. and cleaning brings it back less than once in a day and a half, normally once an hour"}},
		"no normal":   {1, math.NaN(), 1.2, []sight{{"raw:high", 6, says("raw")}}, []string{"the dP runs at 2.0 in. w.g. and cleaning brings it back once an hour"}},
		"not counted": {math.NaN(), 1.2, 1.2, []sight{{"raw", 1, says("raw")}}, []string{"the dP runs at 2.0 in. w.g., near its normal"}},
		"higher":      {math.NaN(), 2, 1.2, []sight{{"raw", 1, says("raw")}}, []string{"the dP runs at 2.0 in. w.g., normally 1.0 in. w.g."}},
		"all day": {1, 1, 1.2, []sight{{"raw", 2.6, says("raw")}, {"cleaning", 3, says("it cleans all day")}, {"flow/fresh", 9, says("fresh")}},
			[]string{"out of the usual, though no cause explains it better: it cleans all day", "the dP runs at 2.0 in. w.g. and cleaning brings it back once an hour, as before"}},
		"damper":  {1, 1, 1.2, []sight{{"damper", 4, says("it is open")}}, []string{"out of the usual, though no cause explains it better: it is open", "the dP runs at 2.0 in. w.g. and cleaning brings it back once an hour, as before"}},
		"trimmed": {1, 1, 1, []sight{{"damper", 4, says("it is open")}}, []string{"the dP runs at 2.0 in. w.g. and cleaning brings it back once an hour, as before"}},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Features.FlowBy = []sense.FlowMethod{{Name: "flow"}}
		raw := in.Features.Get(sense.DPRaw)
		raw.Now = sense.Estimate{Value: 2 * unit.InchWater, N: 9}
		raw.Normal = sense.Estimate{Value: 2 * unit.InchWater / c.usual, N: 9}
		in.Features.Get(sense.FlowShare).Now = sense.Estimate{Value: c.flow, N: 9}
		m := in.Features.Get(sense.CyclesPerHour)
		if m.Now = sense.Unknown(""); c.rate == c.rate {
			m.Now = sense.Estimate{Value: c.rate, N: 9}
		}
		if m.Normal = sense.Unknown(""); c.usual == c.usual {
			m.Normal = sense.Estimate{Value: c.usual, N: 9}
		}
		var got []string
		for _, r := range calm(in, c.seen) {
			got = append(got, r.Text.String())
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// What is to clean on demand and hardly stops any more is drifting, whatever the cause, and says so first, or after what shows a
// cause that is believed; what always cleaned much, or cleans by the clock, is not.
func TestCleaningThatHardlyStopsIsDrifting(t *testing.T) {
	for name, c := range map[string]struct {
		now, normal float64
		mode        collector.Mode
		want        bool
	}{
		"hardly stops": {0.8, 0.07, collector.OnDemand, true},
		"stops":        {0.4, 0.07, collector.OnDemand, false},
		"always did":   {0.8, 0.6, collector.OnDemand, false},
		"not known":    {0.8, math.NaN(), collector.OnDemand, false},
		"by the clock": {0.8, 0.07, collector.Timed, false},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Cleaning.Mode = c.mode
		m := in.Features.Get(sense.CleaningShare)
		m.Now = sense.Estimate{Value: c.now, N: 9}
		if m.Normal = sense.Unknown(""); c.normal == c.normal {
			m.Normal = sense.Estimate{Value: c.normal, N: 9}
		}
		got := standing(in, []Probability{{None, 0, 1}}) == Drifting
		const text = "it hardly stops cleaning any more, 80 % of the running time and normally 7 %, which wastes air and wears the filters"
		told := reasons(in, hypothesis{cause: None}, nil)[0].Text.String() == text
		dead := []sight{{"fired", 3, func(unit.System) string { return "valve 4 shows" }}}
		for at, post := range [...]float64{0.4, 0.9} {
			if r := reasons(in, hypothesis{cause: ValveDead, each: []float64{2}, post: post}, dead); c.want && r[at].Text.String() != text || r[0].Text.String() == text != (c.want && at == 0) {
				t.Errorf("%s, with a cause at %g: %+v", name, post, r)
			}
		}
		if got != c.want || told != c.want {
			t.Errorf("%s: drifting %v and told %v, want %v", name, got, told, c.want)
		}
	}
}

// A window torn between the days before a change and the hours since says little by its own level. The hours since are held
// against the normal by their own width, and by the window's where that is less.
func TestATornWindowDoesNotBlurTheLastHours(t *testing.T) {
	seen := func(now, last sense.Estimate) map[string]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		m := in.Features.Get(sense.DPRaw)
		m.Now, m.Fresh, m.Normal, m.Spread = now, last, sense.Estimate{Value: 450, Sigma: 4, N: 9}, 4
		return Sights(in)
	}
	off := sense.Estimate{Value: 20, Sigma: 2, N: 1}
	whole, torn := seen(sense.Estimate{Value: 20, Sigma: 1, N: 9}, off), seen(sense.Estimate{Value: 230, Sigma: 280, N: 9}, off)
	for _, k := range [...]string{"raw/fresh", "raw/fresh/sure"} {
		if !(torn[k] < 0.8*whole[k]) {
			t.Errorf("%s: %.2f where the window is torn, %.2f where it is not", k, torn[k], whole[k])
		}
	}
	if x := torn["raw"]; x < -1 {
		t.Errorf("raw: %.2f by a window torn between two levels", x)
	}
	off.Sigma = 20
	wide := seen(sense.Estimate{Value: 20, Sigma: 1, N: 9}, off)
	if wide["raw/fresh"] != whole["raw/fresh"] || !(wide["raw/fresh/sure"] > 0.5*whole["raw/fresh/sure"]) {
		t.Errorf("last hours less sure than the window: %v and %v", wide, whole)
	}
}

// A machine that cleans every three hours has not changed where none of three hours had a cleaning, nor where a day had one less;
// a day without any is one.
func TestFewHoursTellFewCleanings(t *testing.T) {
	seen := func(now, last sense.Estimate) map[string]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		m := in.Features.Get(sense.CyclesPerHour)
		m.Now, m.Fresh, m.Normal, m.Spread = now, last, sense.Estimate{Value: 0.33, Sigma: 0.02, N: 30}, 0.05
		return Sights(in)
	}
	few := seen(sense.Estimate{Value: 0.29, Sigma: 0.06, N: 7}, sense.Estimate{Value: 0, Sigma: 0.17, N: 1})
	if x := few["cycles/fresh"]; !(x > -1) {
		t.Errorf("three hours without a cleaning: %.2f", x)
	}
	in := Input{Collector: collector.New(), Features: valveSeen(1)}
	*in.Features.Get(sense.Stop) = sense.Measure{Now: sense.Estimate{Value: 600, Sigma: 10, N: 30}, Fresh: sense.Estimate{Value: 450, Sigma: 150, N: 1},
		Normal: sense.Estimate{Value: 610, Sigma: 10, N: 30}, Spread: 40}
	if x := Sights(in)["stop/fresh"]; !(x > -1) {
		t.Errorf("one cleaning that ended low, give or take as much: %.2f", x)
	}
	if x := seen(sense.Estimate{Value: 0, Sigma: 0.02, N: 1}, sense.Estimate{Value: 0, Sigma: 0.17, N: 1})["cycles"]; !(x < -2) {
		t.Errorf("a day without a cleaning: %.2f", x)
	}
}

// The median of a week of readings by hand strays from its normal less than a single day does; the last reading alone as far.
func TestAWeekStraysLessThanADay(t *testing.T) {
	seen := func(days int) map[key]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		m := in.Features.Get(sense.DPRaw)
		m.Now, m.Fresh = sense.Estimate{Value: 400, Sigma: 10, N: 7}, sense.Estimate{Value: 400, Sigma: 10, N: 1}
		m.Normal, m.Spread, m.Days = sense.Estimate{Value: 500, Sigma: 15, N: 30}, 75, days
		out := map[key]float64{}
		for i := range quantities {
			if quantities[i].key == "raw" {
				for _, s := range quantities[i].see(in, nil) {
					out[s.key] = s.x
				}
			}
		}
		return out
	}
	day, week := seen(0), seen(7)
	if !(week["raw"+sure] < 1.5*day["raw"+sure] && week["raw"] < 1.1*day["raw"]) {
		t.Errorf("a week of readings seen as %.2f and %.2f, one day as %.2f and %.2f: want the week farther off", week["raw"], week["raw"+sure], day["raw"], day["raw"+sure])
	}
	if day["raw"+fresh] != week["raw"+fresh] {
		t.Errorf("the last reading seen as %.2f and %.2f", day["raw"+fresh], week["raw"+fresh])
	}
}

// Every sight that can be a reason is said in words and numbers, whatever the numbers are.
func TestSightsAreSaidInWords(t *testing.T) {
	c, err := collector.Load(filepath.Join("..", "collector", "testdata", "dc1.toml"))
	if err != nil {
		t.Fatal(err)
	}
	broken := regexp.MustCompile(`%!|NaN|Inf|-0 %|%[sd]`)
	for _, level := range []float64{-1, 0, 0.4, 3, 700, 4e5} {
		for _, change := range []float64{0.5, 0.999, 1, 2} {
			f := valveSeen(0.4)
			f.FlowBy = []sense.FlowMethod{{Name: sense.ByMeasurement}}
			f.RunningBy, f.Idle, f.Sampling = sense.DP.String(), 50*time.Hour, time.Minute
			f.Wet = sense.Estimate{Value: 0.9, N: 9}
			for q := range f.Of {
				e := func(v float64) sense.Estimate { return sense.Estimate{Value: v, Sigma: 0.01 * math.Abs(v), N: 9} }
				f.Of[q] = sense.Measure{Now: e(level * change), Fresh: e(level * change), Normal: e(level), Trend: e(0.01 * level), Took: e(12), Days: 3,
					Spread: 0.01, Onset: sense.Onset{Found: true, Kind: "step", Before: level, Size: level * (change - 1), Score: 9}}
			}
			in := Input{Collector: c, Features: f}
			said := map[key]bool{}
			for _, s := range observe(in, facts(f)) {
				if s.says == nil {
					continue
				}
				said[s.key] = true
				if text := s.says(unit.US); broken.MatchString(text) || text == "" {
					t.Errorf("%s: %q", s.key, text)
				}
			}
			if level == 0.4 && (len(said) < 100 || !said["damper:file"]) {
				t.Errorf("only %d sights are said", len(said))
			}
		}
	}
}
