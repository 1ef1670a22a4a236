package life_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"dustwright/life"
	"dustwright/life/lifetest"
	"dustwright/unit"
)

// TestHolds asks for forecasts on invented lives never used for setting anything (their seeds are
// far from bench/life's) and counts how often the 80 % interval holds. The band is three standard
// deviations of such a count around 80 %.
func TestHolds(t *testing.T) {
	if testing.Short() {
		t.Skip("foretells many lives")
	}
	const first, n = 700_000, 24
	var asked, held int
	for _, make := range []func(uint64) lifetest.Case{
		func(s uint64) lifetest.Case { return lifetest.Pulsed(s, false) },
		func(s uint64) lifetest.Case { return lifetest.Pulsed(s, true) },
		func(s uint64) lifetest.Case { return lifetest.Lab(s, 0, false, false) },
		func(s uint64) lifetest.Case { return lifetest.Lab(s, 3, true, false) },
		func(s uint64) lifetest.Case { return lifetest.Static(s, 2) },
	} {
		for s := range uint64(n) {
			c := make(first + s)
			share := 0.3 + 0.6*float64(s)/n
			r := life.Forecast(c.Input(share))
			if !r.Known {
				continue
			}
			asked++
			if left := c.Left(share); left >= r.Hours[0] && left <= r.Hours[2] {
				held++
			}
		}
	}
	got, tol := float64(held)/float64(asked), 3*math.Sqrt(0.8*0.2/float64(asked))
	if math.Abs(got-0.8) > tol {
		t.Errorf("the 80 %% interval held in %d of %d (%.0f %%), want 80 %% within %.0f %%", held, asked, 100*got, 100*tol)
	}
}

// TestHandsOver: with earlier lives known the forecast is good from the start, and it narrows as
// the curve begins to tell.
func TestHandsOver(t *testing.T) {
	var early, late, widthEarly, widthLate []float64
	for s := range uint64(20) {
		c := lifetest.Lab(800_000+s, 3, true, false)
		for _, share := range []float64{0.15, 0.9} {
			r := life.Forecast(c.Input(share))
			err, width := math.Abs(r.Hours[1]/c.Left(share)-1), r.Hours[2]-r.Hours[0]
			if share < 0.5 {
				early, widthEarly = append(early, err), append(widthEarly, width/c.Life.End)
			} else {
				late, widthLate = append(late, err), append(widthLate, width/c.Life.End)
			}
		}
	}
	if m := median(early); m > 0.25 {
		t.Errorf("at 15 %% of the life: median error %.0f %%, want below 25 %% since earlier lives are known", 100*m)
	}
	if m := median(late); m > 0.15 {
		t.Errorf("at 90 %% of the life: median error %.0f %%, want below 15 %%", 100*m)
	}
	if a, b := median(widthEarly), median(widthLate); b > a/3 {
		t.Errorf("width fell only from %.3f to %.3f of the life", a, b)
	}
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}

// straight is a record of one reading a day that rises in a line, dp = 200 + hours Pa, seen until
// some hours.
func straight(hours float64, skip func(day int) bool) life.Input {
	start := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	in := life.Input{MaxDP: 1200, CleanDP: 200, FlowLimit: unit.Pressure(math.NaN()), HoursPerWeek: 84, LeadTime: 14 * 24 * time.Hour,
		Pulsed: true, Air: life.Gauge{Limit: math.NaN()}, Afterfilter: life.Gauge{Limit: math.NaN()}}
	r := life.Record{StartKnown: true}
	for d := 0; float64(d)*12 <= hours; d++ {
		at := start.Add(time.Duration(d) * 24 * time.Hour)
		wobble := 4 * math.Sin(2.399*float64(d)) // a fixed scatter without trend
		if skip == nil || !skip(d) {
			r.Points = append(r.Points, life.Point{At: at, Hours: float64(d) * 12, DP: unit.Pressure(200 + float64(d)*12 + wobble), Sigma: 5, Dust: math.NaN()})
		}
		in.At = at
	}
	in.Lives = []life.Record{r}
	return in
}

// TestStraightLine: a line of 1 Pa an hour at 900 Pa has 300 h to 1200 Pa, at 12 h a day 25 days.
func TestStraightLine(t *testing.T) {
	in := straight(700, nil)
	r := life.Forecast(in)
	left := 1000 - in.Lives[0].Points[len(in.Lives[0].Points)-1].Hours
	if !agree(r.Hours[1], left, 0.15) {
		t.Errorf("%.0f h, want about %.0f", r.Hours[1], left)
	}
	if days := r.P50.Sub(in.At).Hours() / 24; !agree(days, r.Hours[1]/12, 0.05) {
		t.Errorf("%.1f days for %.0f running hours at 84 h a week", days, r.Hours[1])
	}
	if r.Limit != life.ByDP || !r.OrderBy.Equal(r.Due.AddDate(0, 0, -14)) || !r.Due.Equal(r.P10) {
		t.Errorf("limit %q, order by %v, due %v, P10 %v", r.Limit, r.OrderBy, r.Due, r.P10)
	}
	if r.Fine {
		t.Error("25 days left do not ask for the time of day")
	}
}

// TestHigherLimit: the same line up to a limit 150 Pa higher takes about 150 h more.
func TestHigherLimit(t *testing.T) {
	in := straight(800, nil)
	low := life.Forecast(in).Hours[1]
	in.MaxDP += 150
	if high := life.Forecast(in).Hours[1]; high < low+60 || high > low+200 {
		t.Errorf("%.0f h, and %.0f h with 150 Pa more", low, high)
	}
}

// TestPastTheLimit: filters that run on far beyond their limit have nothing left, whatever they began at; where their level is known
// within 10 % only, less than such as are yet below it.
func TestPastTheLimit(t *testing.T) {
	for _, c := range []lifetest.Case{lifetest.Pulsed(900_000, true), lifetest.Pulsed(900_001, false), lifetest.Static(900_000, 0), lifetest.Static(900_001, 1)} {
		in := c.Input(0.9)
		ps := in.Lives[len(in.Lives)-1].Points
		var newest []float64
		for _, p := range ps[len(ps)-9:] {
			newest = append(newest, float64(p.DP))
		}
		level := unit.Pressure(median(newest))
		in.MaxDP = level / 0.95
		below := life.Forecast(in).Hours
		for _, share := range []unit.Pressure{0.8, 0.65, 0.5} {
			in.MaxDP, in.Shared = share*level, 0
			r := life.Forecast(in)
			if !(r.Hours[2] < 0.01*c.Life.End) || !strings.Contains(strings.Join(r.Basis, " "), "beyond the limit") {
				t.Errorf("limit at %g of the level: %v h of %.0f left; %q", float64(share), r.Hours, c.Life.End, r.Basis)
			}
			in.Shared = 0.1
			if r := life.Forecast(in); !(r.Hours[1] <= below[1]) {
				t.Errorf("limit at %g of a level known within 10 %%: %v h left, %v where it lies above", float64(share), r.Hours, below)
			}
		}
	}
}

// TestGapsHarmless: a record with holes says the same within its width.
func TestGapsHarmless(t *testing.T) {
	whole := life.Forecast(straight(700, nil))
	holes := life.Forecast(straight(700, func(d int) bool { return d%7 > 4 || d > 20 && d < 32 }))
	if holes.Hours[1] < whole.Hours[0] || holes.Hours[1] > whole.Hours[2] {
		t.Errorf("with gaps %v, without %v", holes.Hours, whole.Hours)
	}
}

// TestFlowBindsFirst: a flow limit below max dP is the one that binds.
func TestFlowBindsFirst(t *testing.T) {
	in := straight(500, nil)
	in.FlowLimit = 1000
	r := life.Forecast(in)
	if r.Limit != life.ByFlow || !agree(r.Hours[1], 800-500, 0.25) {
		t.Errorf("limit %q in %.0f h, want flow in about 300 h", r.Limit, r.Hours[1])
	}
}

// TestAfterfilterBindsFirst: an after-filter near its limit comes before primary filters far from theirs.
func TestAfterfilterBindsFirst(t *testing.T) {
	in := straight(500, nil)
	in.Afterfilter = life.Gauge{Limit: 620, New: 250}
	for i, p := range in.Lives[0].Points {
		in.Afterfilter.Points = append(in.Afterfilter.Points, life.Mark{At: p.At, Hours: p.Hours, Value: 250 + 0.6*p.Hours + float64(i%3)})
	}
	r := life.Forecast(in)
	if r.Limit != life.ByAfterfilter || !agree(r.Hours[1], (620-550)/0.6, 0.3) {
		t.Errorf("limit %q in %.0f h, want afterfilter in about 117 h", r.Limit, r.Hours[1])
	}
	var sum float64
	for _, l := range r.Limits {
		sum += l.First
	}
	if len(r.Limits) != 2 || !agree(sum, 1, 1e-6) {
		t.Errorf("limits %+v: chances of being first must sum to one", r.Limits)
	}
}

// TestFaultCured: a jump of the dP by a fault shortens the life; once it is put right the old line goes on.
func TestFaultCured(t *testing.T) {
	in := straight(600, nil)
	ps := in.Lives[0].Points
	for i := range ps {
		if ps[i].Hours > 480 {
			ps[i].DP += 250
			if in.FaultSince.IsZero() {
				in.FaultSince = ps[i].At.Add(-time.Hour)
			}
		}
	}
	r := life.Forecast(in)
	want := in.At.Add(400 * 2 * time.Hour) // 400 running hours to go, half the clock
	if r.Cured == nil || want.Before(r.Cured.P10) || want.After(r.Cured.P90) || !r.Cured.P50.After(r.P50) {
		t.Errorf("P50 %v, cured %v, want the latter around %v", r.P50, r.Cured, want)
	}
	// Seen from few readings before it began, or where it lowers the dP, putting it right still makes no life shorter.
	for _, from := range []float64{60, 120, 300} {
		for _, step := range []unit.Pressure{-100, 0, 50} {
			in := straight(600, nil)
			for i, p := range in.Lives[0].Points {
				if p.Hours > from {
					in.Lives[0].Points[i].DP += step
					if in.FaultSince.IsZero() {
						in.FaultSince = p.At.Add(-time.Hour)
					}
				}
			}
			r := life.Forecast(in)
			if c := r.Cured; c != nil && (earlier(c.P10, r.P10) || earlier(c.P50, r.P50) || earlier(c.P90, r.P90)) {
				t.Errorf("since %g h by %v: %v, cured %v", from, step, r.Dates, *c)
			}
		}
	}
}

// earlier compares dates of which a zero one is beyond three years.
func earlier(a, b time.Time) bool { return !a.IsZero() && (b.IsZero() || a.Before(b)) }

// TestNothingToSay names what is missing and gives no date.
func TestNothingToSay(t *testing.T) {
	r := life.Forecast(life.Input{MaxDP: unit.Pressure(math.NaN())})
	if r.Known || !r.P50.IsZero() || len(r.Missing) == 0 {
		t.Errorf("%+v", r)
	}
	in := straight(24, nil)
	if r := life.Forecast(in); r.Known || len(r.Missing) != 1 || r.Missing[0].What != "dp" {
		t.Errorf("three readings: %+v", r)
	}
}

// TestAsOfTheNewestReading: without a time a forecast is as of the newest reading, be it of the after-filter alone.
func TestAsOfTheNewestReading(t *testing.T) {
	from := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	g := life.Gauge{Limit: 620, New: 250}
	for d := range 20 {
		g.Points = append(g.Points, life.Mark{At: from.AddDate(0, 0, d), Hours: 24 * float64(d), Value: 250 + 10*float64(d)})
	}
	r := life.Forecast(life.Input{Afterfilter: g})
	if !r.Known || r.P10.Before(from.AddDate(0, 0, 19)) || r.P50.After(from.AddDate(0, 0, 60)) {
		t.Errorf("%v to %v, want within weeks of %v", r.P10, r.P50, from.AddDate(0, 0, 19))
	}
}

// TestHourlyLife: a laboratory life of hours gets the time of day, one of months a day to the end.
func TestHourlyLife(t *testing.T) {
	c := lifetest.Lab(5, 2, true, false)
	r := life.Forecast(c.Input(0.8))
	if !r.Fine || r.P50.IsZero() {
		t.Errorf("%.2f h left: fine %v, P50 %v", r.Hours[1], r.Fine, r.P50)
	}
	in := straight(990, nil) // after 82 days
	if r := life.Forecast(in); r.Fine || !(r.P50.Sub(in.At) < 3*24*time.Hour) {
		t.Errorf("%.2f h left of %.0f: fine %v, P50 %v", r.Hours[1], 990.0, r.Fine, r.P50)
	}
}

// TestCheapest: with fan energy that rises with the dP it pays to change before the limit, and
// waiting longer costs ever more.
func TestCheapest(t *testing.T) {
	in := straight(500, nil)
	_, ch, ok := life.Plan(in, life.Costs{Planned: 500, Failure: 900, FanPerPaH: 0.004})
	if !ok || ch.AtLimit || ch.Date.IsZero() {
		t.Fatalf("%+v %v", ch, ok)
	}
	// C(T) = 500/T + 0.004 T/2 is least at 500 h.
	if d := ch.Date.Sub(in.At).Hours(); d > 4*7*24 {
		t.Errorf("cheapest %.0f days from now, want within weeks", d/24)
	}
	for i := 1; i < len(ch.Waiting); i++ {
		if ch.Waiting[i].Extra <= ch.Waiting[i-1].Extra {
			t.Errorf("waiting %+v", ch.Waiting)
		}
	}
}

func BenchmarkForecast(b *testing.B) {
	for _, bc := range []struct {
		name string
		c    lifetest.Case
	}{
		{"pulsed", lifetest.Pulsed(3, false)}, {"laboratory", lifetest.Lab(3, 0, false, false)},
		{"laboratory with 3 earlier lives", lifetest.Lab(3, 3, true, false)}, {"static with 3 earlier lives", lifetest.Static(3, 3)},
	} {
		in := bc.c.Input(0.6)
		b.Run(bc.name, func(b *testing.B) {
			for b.Loop() {
				life.Forecast(in)
			}
		})
	}
}

// TestHoursAreToldWhereTheyAreKnown: what may be over tomorrow and may last for weeks has dates, no times of day.
func TestHoursAreToldWhereTheyAreKnown(t *testing.T) {
	in := straight(900, nil)
	in.MaxDP = 1140
	points := in.Lives[0].Points
	for i := range points {
		points[i].DP += unit.Pressure(60 * math.Sin(2.399*float64(i)))
		points[i].Sigma = 60
	}
	r := life.Forecast(in)
	if left, wide := r.P50.Sub(in.At), r.P90.Sub(r.P10); left > 72*time.Hour || wide < 72*time.Hour {
		t.Fatalf("%v left, within %v: this is no test of what is meant", left, wide)
	}
	if r.Fine {
		t.Error("a span of days is told by the hour")
	}
}
