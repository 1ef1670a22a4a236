package life_test

import (
	"flag"
	"math"
	"os"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dustwright/life"
	"dustwright/life/lifetest"
	"dustwright/unit"
)

// TestMain keeps the property tests short where nobody asks for more: each draw is several forecasts.
func TestMain(m *testing.M) {
	flag.Parse()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if !asked {
		if err := flag.Set("rapid.checks", "15"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}

// drawCase draws one invented life of any kind.
func drawCase(t *rapid.T) lifetest.Case {
	seed := rapid.Uint64Range(1, 1<<40).Draw(t, "seed")
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		return lifetest.Pulsed(seed, false)
	case 1:
		return lifetest.Pulsed(seed, true)
	case 2:
		return lifetest.Lab(seed, rapid.IntRange(0, 2).Draw(t, "earlier"), rapid.Bool().Draw(t, "known"), false)
	}
	return lifetest.Static(seed, rapid.IntRange(0, 1).Draw(t, "earlier"))
}

func drawShare(t *rapid.T) float64 { return rapid.Float64Range(0.2, 0.95).Draw(t, "share") }

// close reports whether two hours agree within a share.
func agree(a, b, tol float64) bool { return math.Abs(a-b) <= tol*math.Max(math.Abs(a), math.Abs(b)) }

// TestOrdered: quantiles are in order, finite and not negative; dates follow them; the level to come does not come down again;
// the same input gives the same answer.
func TestOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawCase(t).Input(drawShare(t))
		r := life.Forecast(in)
		if !r.Known {
			return
		}
		h := r.Hours
		if !(h[0] >= 0 && h[0] <= h[1] && h[1] <= h[2]) || math.IsInf(h[2], 0) {
			t.Fatalf("hours out of order: %v", h)
		}
		if !r.P90.IsZero() && (r.P10.After(r.P50) || r.P50.After(r.P90) || r.P10.Before(in.At)) {
			t.Fatalf("dates out of order: %v %v %v at %v", r.P10, r.P50, r.P90, in.At)
		}
		for i, f := range r.Fan {
			if !(f.P10 >= 0 && f.P10 <= f.P50 && f.P50 <= f.P90) {
				t.Fatalf("fan out of order: %+v", f)
			}
			if i > 0 && (f.P10 < r.Fan[i-1].P10 || f.P50 < r.Fan[i-1].P50 || f.P90 < r.Fan[i-1].P90) {
				t.Fatalf("fan comes down: %+v after %+v", f, r.Fan[i-1])
			}
		}
		if again := life.Forecast(in); again.Hours != h {
			t.Fatalf("same input, other answer: %v then %v", h, again.Hours)
		}
	})
}

// TestHigherLimitLater: filters that may go to a higher dP last longer. Curves are drawn relative to
// the limit, so that on a record that leaves two answers open the median may move the wrong way
// (METHOD.md, where it fails), but the intervals never contradict each other.
func TestHigherLimitLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawCase(t).Input(drawShare(t))
		low := life.Forecast(in)
		in.MaxDP *= unit.Pressure(rapid.Float64Range(1.2, 2).Draw(t, "higher"))
		if high := life.Forecast(in); high.Hours[2] < low.Hours[0] {
			t.Fatalf("higher limit, shorter life: %v then %v", low.Hours, high.Hours)
		}
	})
}

// TestLaterIsSurer: on a plain record the interval narrows as the curve comes nearer to the limit.
func TestLaterIsSurer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(250, 550).Draw(t, "hours")
		early := life.Forecast(straight(at, nil)).Hours
		late := life.Forecast(straight(at+rapid.Float64Range(250, 350).Draw(t, "later"), nil)).Hours
		if late[2]-late[0] >= early[2]-early[0] {
			t.Fatalf("after %.0f h: %v, later %v", at, early, late)
		}
	})
}

// TestUnitsOfTimeAndPressure: the same life told in another unit of time or pressure is the same, but for
// what the rounding of times does at the edge of what is dropped as negligible.
func TestUnitsOfTimeAndPressure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCase(t)
		in := c.Input(drawShare(t))
		was := life.Forecast(in)
		slow := rapid.Float64Range(0.1, 10).Draw(t, "slower")
		more := unit.Pressure(rapid.Float64Range(0.1, 10).Draw(t, "higher"))
		birth := in.At
		lives := in.Lives
		in.Lives = nil
		for _, l := range lives {
			ps := append([]life.Point(nil), l.Points...)
			for i := range ps {
				ps[i].Hours *= slow
				ps[i].DP *= more
				ps[i].At = birth.Add(time.Duration(float64(ps[i].At.Sub(birth)) * slow))
			}
			l.Points = ps
			in.Lives = append(in.Lives, l)
		}
		in.MaxDP *= more
		in.CleanDP *= more
		is := life.Forecast(in)
		for i := range was.Hours {
			if !agree(is.Hours[i], was.Hours[i]*slow, 0.01) {
				t.Fatalf("time times %.3g, pressure times %.3g: %v became %v", slow, more, was.Hours, is.Hours)
			}
		}
	})
}

// relived returns the same input with every life's points changed.
func relived(in life.Input, change func([]life.Point)) life.Input {
	lives := in.Lives
	in.Lives = nil
	for _, l := range lives {
		l.Points = slices.Clone(l.Points)
		change(l.Points)
		in.Lives = append(in.Lives, l)
	}
	return in
}

// TestWhenAndInWhatOrder: a forecast does not depend on the date, on the order in which points are given, nor on what came after
// it, also where a fault is named that lifted the dP.
func TestWhenAndInWhatOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, share := drawCase(t), drawShare(t)
		in := c.Input(share)
		if ps := in.Lives[len(in.Lives)-1].Points; rapid.Bool().Draw(t, "fault") && len(ps) > 30 {
			k := len(ps) - 8
			in.FaultSince, in.FaultThere = ps[k].At.Add(-1), ps[k+1].At
			for i := k + 1; i < len(ps); i++ {
				ps[i].DP *= 1.2
			}
		}
		want := life.Forecast(in)
		mixed := relived(in, func(ps []life.Point) {
			rapid.SampledFrom([]func([]life.Point){slices.Reverse[[]life.Point], func(ps []life.Point) {
				for i := range ps[:len(ps)/2] {
					ps[i], ps[i+len(ps)/2] = ps[i+len(ps)/2], ps[i]
				}
			}}).Draw(t, "order")(ps)
		})
		if got := life.Forecast(mixed); !agree(got.Hours[1], want.Hours[1], 0.01) {
			t.Fatalf("in another order: %v, want %v", got.Hours, want.Hours)
		}
		if rapid.Bool().Draw(t, "moved") {
			by := time.Duration(rapid.IntRange(-4000, 4000).Draw(t, "days")) * 24 * time.Hour
			moved := relived(in, func(ps []life.Point) {
				for i := range ps {
					ps[i].At = ps[i].At.Add(by)
				}
			})
			moved.At = in.At.Add(by)
			if !in.FaultSince.IsZero() {
				moved.FaultSince, moved.FaultThere = in.FaultSince.Add(by), in.FaultThere.Add(by)
			}
			if got := life.Forecast(moved); got.Hours != want.Hours || got.P50.IsZero() != want.P50.IsZero() || !want.P50.IsZero() && !got.P50.Equal(want.P50.Add(by)) {
				t.Fatalf("%v later: %v, %v; want %v, %v", by, got.Hours, got.P50, want.Hours, want.P50)
			}
			return
		}
		more := relived(in, func([]life.Point) {})
		last := &more.Lives[len(more.Lives)-1].Points
		for h := range 5 {
			*last = append(*last, life.Point{At: in.At.Add(time.Duration(1+h) * time.Hour), Hours: 1.1 * c.Life.End, DP: 2 * in.MaxDP, Dust: 1e6})
		}
		if got := life.Forecast(more); got.Hours != want.Hours {
			t.Fatalf("with later readings: %v, want %v", got.Hours, want.Hours)
		}
	})
}

// TestRubbishIn: missing, negative, repeated and disordered readings never bring a NaN or a panic.
func TestRubbishIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawCase(t).Input(drawShare(t))
		odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -100, 1e12}
		for i := range in.Lives {
			ps := append([]life.Point(nil), in.Lives[i].Points...)
			for range rapid.IntRange(0, 5).Draw(t, "odd") {
				if len(ps) == 0 {
					break
				}
				k := rapid.IntRange(0, len(ps)-1).Draw(t, "at")
				v := rapid.SampledFrom(odd).Draw(t, "value")
				switch rapid.IntRange(0, 5).Draw(t, "field") {
				case 0:
					ps[k].DP = unit.Pressure(v)
				case 1:
					ps[k].Hours = v
				case 2:
					ps[k].Dust = v
				case 3:
					ps[k].Sigma = unit.Pressure(v)
				case 4:
					ps[k].Doubt = v
				default:
					ps[k] = ps[0]
				}
			}
			in.Lives[i].Points = ps
		}
		for _, field := range []*float64{(*float64)(&in.CleanDP), (*float64)(&in.MaxDP), (*float64)(&in.FlowLimit), &in.FlowDoubt,
			(*float64)(&in.FlowHeld), (*float64)(&in.AirLevel), &in.Shared, &in.HoursPerWeek, (*float64)(&in.Risk)} {
			if rapid.IntRange(0, 8).Draw(t, "odd input") == 0 {
				*field = rapid.SampledFrom(odd).Draw(t, "value")
			}
		}
		for k := range 30 {
			in.Air.Points = append(in.Air.Points, life.Mark{At: in.At.Add(time.Duration(k-30) * time.Hour), Hours: float64(k), Value: 0.01 * float64(k)})
		}
		in.Air.Limit, in.Air.New = rapid.SampledFrom(odd).Draw(t, "limit"), rapid.SampledFrom(odd).Draw(t, "new")
		in.Air.Points[7].Value, in.Air.Points[9].Hours = rapid.SampledFrom(odd).Draw(t, "value"), rapid.SampledFrom(odd).Draw(t, "hours")
		r, change, priced := life.Plan(in, life.Costs{Planned: 1000, Failure: 2000, FanPerPaH: 0.001})
		for _, h := range r.Hours {
			if math.IsNaN(h) || h < 0 {
				t.Fatalf("hours %v", r.Hours)
			}
		}
		if priced && math.IsNaN(change.PerWeek) {
			t.Fatalf("it costs %v", change)
		}
		sum := 0.0
		for _, l := range r.Limits {
			sum += l.First
		}
		if r.Known && !(math.Abs(sum-1) < 1e-6) {
			t.Fatalf("%+v sum to %g", r.Limits, sum)
		}
		for _, f := range r.Fan {
			if math.IsNaN(float64(f.P10 + f.P50 + f.P90)) {
				t.Fatalf("fan %+v", f)
			}
		}
		if dp, s := life.Ahead(in, 10); math.IsNaN(float64(dp)) != math.IsNaN(float64(s)) {
			t.Fatalf("ahead %v %v", dp, s)
		}
	})
}

// A gauge that shows nothing, or less, or what no gauge can, is no level: nothing is foretold by it, and it spoils no
// other reading.
func TestReadingsThatAreNone(t *testing.T) {
	at := func(dp ...float64) life.Input {
		from := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)
		in := life.Input{At: from.AddDate(0, 0, len(dp)), MaxDP: 1500, Pulsed: true, Lives: []life.Record{{}}}
		for i, v := range dp {
			in.Lives[0].Points = append(in.Lives[0].Points, life.Point{At: from.AddDate(0, 0, i), Hours: 24 * float64(i), DP: unit.Pressure(v)})
		}
		return in
	}
	good := []float64{500, 510, 525, 530, 541, 555, 560, 571, 580, 595}
	want := life.Forecast(at(good...))
	for name, dp := range map[string][]float64{
		"zeros": make([]float64, 30), "below zero": {-1, -2, -3, -4, -5, -6}, "endless": {math.Inf(1), math.Inf(1), 1e300, 1e300, 1e300},
	} {
		if r := life.Forecast(at(dp...)); !r.P50.IsZero() && r.Limit == life.ByDP {
			t.Errorf("%s: the filters go on %v by dP", name, r.P50)
		}
	}
	mixed := at(good...)
	mixed.Lives[0].Points[3].DP, mixed.Lives[0].Points[6].DP = 0, unit.Pressure(math.MaxFloat64)
	if r := life.Forecast(mixed); !r.Known || math.Abs(r.P50.Sub(want.P50).Hours()) > 0.5*want.P50.Sub(mixed.At).Hours() {
		t.Errorf("with two readings that are none %v, without %v", r.P50, want.P50)
	}
}
