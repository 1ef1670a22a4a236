package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// days makes a daily record of DPLow.
func daysOf(x func(d int) float64, n int) []Day {
	out := make([]Day, n)
	for i := range out {
		out[i] = newDay()
		out[i].Start = start.Add(time.Duration(i) * 24 * time.Hour)
		out[i].Hours = 10
		out[i].set(DPLow, x(i), 3)
	}
	return out
}

func TestOnsetOfAStepAndARamp(t *testing.T) {
	for _, c := range []struct {
		name  string
		trend bool
		kind  string
		x     func(d int) float64
		size  float64
	}{
		{"step on a level", false, "step", func(d int) float64 { return 500 + 60*b2f(d >= 40) }, 60},
		{"step on a slope", true, "step", func(d int) float64 { return 500 + 2*float64(d) + 60*b2f(d >= 40) }, 60},
		{"ramp on a slope", true, "ramp", func(d int) float64 { return 500 + float64(d) + 6*math.Max(0, float64(d-40)) }, 120},
		{"slide on a level", false, "slide", func(d int) float64 { return 500 - 120*math.Min(1, math.Max(0, float64(d-40)/12)) }, -120},
		{"slide on a slope", true, "slide", func(d int) float64 { return 500 + float64(d) + 150*math.Min(1, math.Max(0, float64(d-40)/5)) }, 150},
		{"fall on a level", false, "step", func(d int) float64 { return 500 - 60*b2f(d >= 40) }, -60},
	} {
		t.Run(c.name, func(t *testing.T) {
			rnd := rand.New(rand.NewPCG(1, 9))
			o := onset(series(daysOf(func(d int) float64 { return c.x(d) + 8*rnd.NormFloat64() }, 60), DPLow, 0), c.trend)
			at := start.Add(40 * 24 * time.Hour)
			if !o.Found || o.Kind != c.kind {
				t.Fatalf("found %v, %q, score %.1f; want %q", o.Found, o.Kind, o.Score, c.kind)
			}
			if d := o.At.Sub(at).Abs(); d > 5*24*time.Hour {
				t.Errorf("onset %v, want %v", o.At, at)
			}
			if o.From.After(at.Add(24*time.Hour)) || o.To.Before(at) {
				t.Errorf("interval %v to %v leaves out %v", o.From, o.To, at)
			}
			near(t, "size", o.Size, c.size, 0.3)
		})
	}
}

// A change far past all scatter is found however short the record and however few the days since, also where it takes
// two days to come up.
func TestAGrossChangeIsFoundInAShortRecord(t *testing.T) {
	for _, trend := range []bool{false, true} {
		for _, n := range []int{16, 20, 30, 60} {
			for _, since := range []int{3, 4, 6} {
				rnd := rand.New(rand.NewPCG(uint64(n), uint64(since)))
				from := n - since
				o := onset(series(daysOf(func(d int) float64 {
					return 500 - 300*math.Min(1, math.Max(0, 0.6*float64(d-from+1))) + 8*rnd.NormFloat64()
				}, n), DPLow, 0), trend)
				if at := start.Add(time.Duration(from) * 24 * time.Hour); !o.Found || o.At.Sub(at).Abs() > 24*time.Hour {
					t.Errorf("trend %v, %d days, %d since: found %v, score %.1f, at %v, want %v", trend, n, since, o.Found, o.Score, o.At, at)
				}
			}
		}
	}
}

// Filters that season rise fast and then slowly: that is their course, and no onset in it; a later step still is one.
func TestFiltersThatSeasonShowNoOnset(t *testing.T) {
	for _, tau := range []float64{1.5, 2.2, 4, 6, 8, 12, 16} {
		for _, step := range []float64{0, 60} {
			rnd := rand.New(rand.NewPCG(uint64(tau), 3))
			d := series(daysOf(func(d int) float64 {
				return 500 + 0.6*float64(d) - 120*math.Exp(-float64(d)/tau) + step*b2f(d >= 60) + 3*rnd.NormFloat64()
			}, 75), DPLow, 0)
			d.steep = farPace * filterPace * 500
			o := onset(d, true)
			switch at := start.Add(60 * 24 * time.Hour); {
			case o.Found != (step > 0):
				t.Errorf("seasoning in %v days, step %v: found %v, %s at %v, size %.0f", tau, step, o.Found, o.Kind, o.At, o.Size)
			case o.Found && o.At.Sub(at).Abs() > 24*time.Hour:
				t.Errorf("seasoning in %v days: step at %v, want %v", tau, o.At, at)
			}
		}
	}
}

// No change, no onset: over many calm records of any length and correlation few may show one.
func TestOnsetsAreRareWithoutChange(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 2))
	false1, n := 0, 600
	for k := range n {
		phi := []float64{0, 0.3, 0.6}[k%3]
		length := []int{12, 40, 120}[k/3%3]
		x := 0.0
		o := onset(series(daysOf(func(d int) float64 {
			x = phi*x + rnd.NormFloat64()
			y := 500 + float64(d) + 8*x
			if rnd.IntN(30) == 0 { // a stray day
				y += 100
			}
			return y
		}, length), DPLow, 0), true)
		if o.Found {
			false1++
		}
	}
	if share := float64(false1) / float64(n); share > 0.04 {
		t.Errorf("%.1f %% of calm records show an onset", 100*share)
	}
}

func TestOnsetDoesNotDependOnUnitOrDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(10, 50).Draw(t, "n")
		x := rapid.SliceOfN(rapid.Float64Range(-1, 1), n, n).Draw(t, "x")
		at, size := rapid.IntRange(4, n-3).Draw(t, "at"), rapid.Float64Range(-10, 10).Draw(t, "size")
		k := rapid.SampledFrom([]float64{0.001, 249.08891, 1e5}).Draw(t, "k")
		mk := func(k float64, shift time.Duration) Onset {
			days := daysOf(func(d int) float64 { return k * (50 + x[d] + size*b2f(d >= at)) }, n)
			for i := range days {
				days[i].Start = days[i].Start.Add(shift)
				days[i].Sigma[DPLow] = 0.1 * k
			}
			return onset(series(days, DPLow, 0), true)
		}
		a, b := mk(1, 0), mk(k, 100*24*time.Hour)
		if a.Found != b.Found || math.Abs(a.Score-b.Score) > 1e-6*(1+math.Abs(a.Score)) {
			t.Fatalf("score %v and %v", a.Score, b.Score)
		}
		if a.Found && (math.Abs(a.Size*k-b.Size) > 1e-6*math.Abs(b.Size) || !a.At.Add(100*24*time.Hour).Equal(b.At)) {
			t.Fatalf("size %v and %v, at %v and %v", a.Size, b.Size, a.At, b.At)
		}
	})
}

func TestStepsAreFoundWhereTheyAre(t *testing.T) {
	rnd := rand.New(rand.NewPCG(6, 6))
	z := make([]float64, 600)
	level := 6.0
	for i := range z {
		if i == 200 || i == 450 {
			level -= 0.4
		}
		level += 0.001
		z[i] = level + 0.03*rnd.NormFloat64()
	}
	z[300] -= 2 // a stray reading
	for i := 100; i < 104; i++ {
		z[i] += 0.5 // a passing bump
	}
	got := stepSearch{block: 4, span: 7, after: 2, least: 0.12, score: 5, sharp: 0.5, sign: -1}.find(z)
	if len(got) != 2 || got[0].at != 200 || got[1].at != 450 {
		t.Fatalf("steps %+v, want at 200 and 450", got)
	}
	near(t, "size", got[0].size(), -0.4, 0.1)
}

// What only the last block shows has not lasted.
func TestNoStepInTheLastReadingAlone(t *testing.T) {
	for last := 1; last <= 3; last++ {
		rnd := rand.New(rand.NewPCG(uint64(last), 6))
		z := make([]float64, 40)
		for i := range z {
			z[i] = 6 + 0.02*rnd.NormFloat64() - 0.5*b2f(i >= len(z)-last)
		}
		if got := dailyFall.find(z); len(got) > 0 != (last >= dailyFall.after) {
			t.Errorf("%d low readings at the end: steps %+v", last, got)
		}
	}
}

func TestNoStepsInRampsAndNoise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		slope := rapid.Float64Range(-0.01, 0.01).Draw(t, "slope")
		noise := rapid.Float64Range(0.001, 0.2).Draw(t, "noise")
		z := make([]float64, rapid.IntRange(0, 300).Draw(t, "n"))
		for i := range z {
			z[i] = slope*float64(i) + noise*rnd.NormFloat64()
		}
		if got := dailyFall.find(z); len(got) > 0 && got[0].score < 6 {
			return // one in many thousands passes by chance; far past the limit none may
		} else if len(got) > 0 {
			t.Fatalf("steps %+v in noise %v, slope %v", got, noise, slope)
		}
	})
}
