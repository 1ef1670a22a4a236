package ear

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"dustwright/sense/ear/sketchtest"

	"pgregory.net/rapid"
)

// short are clear recordings of different pulses, kept short: every other sample of the first 18 s.
var short = sync.OnceValue(func() (out []sketchtest.Case) {
	for seed := uint64(1); len(out) < 3; seed++ {
		c := sketchtest.Generate(seed, sketchtest.Options{SNR: 25})
		if c.Rate < 44100 || c.Interval > 5 {
			continue
		}
		var half []float32
		for i := 0; i < min(len(c.Samples), 18*c.Rate); i += 2 {
			half = append(half, c.Samples[i])
		}
		c.Samples, c.Rate = half, c.Rate/2
		c.Valves = min(c.Valves, int(14/c.Interval))
		out = append(out, c)
	}
	return out
})

// same says whether two answers tell the same, with the pulses of the second later by some seconds.
func same(t *rapid.T, a, b *Result, later float64) {
	if states(a) != states(b) || len(a.Pulses) != len(b.Pulses) {
		t.Fatalf("%s with %d pulses became %s with %d", states(a), len(a.Pulses), states(b), len(b.Pulses))
	}
	for i := range a.Pulses {
		if d := b.Pulses[i].At - a.Pulses[i].At - later; math.Abs(d) > 1e-6 {
			t.Fatalf("pulse %d moved by %g s more than %g s", i, d, later)
		}
	}
}

// TestWhatChangesNothing holds that neither the loudness, nor silence added at either end, nor the sign
// of the samples changes what is said, and that the samples are left alone.
func TestWhatChangesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("hears many recordings")
	}
	cases := short()
	var before []*Result
	for _, c := range cases {
		r, err := Analyse(c.Samples, c.Rate, Spec{Valves: c.Valves, Interval: c.Interval})
		if err != nil {
			t.Fatalf("seed %d %v: %v", c.Seed, c.Tags, err)
		}
		before = append(before, r)
	}
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, len(cases)-1).Draw(t, "case")
		c := cases[k]
		gain := float32(math.Exp2(float64(rapid.IntRange(-8, 3).Draw(t, "gain")))) // a power of two rounds nothing
		if rapid.Bool().Draw(t, "turned") {
			gain = -gain
		}
		lead := rapid.IntRange(0, 3*c.Rate).Draw(t, "silence before")
		tail := rapid.IntRange(0, 3*c.Rate).Draw(t, "silence after")
		x := make([]float32, lead+len(c.Samples)+tail)
		for i, v := range c.Samples {
			x[lead+i] = gain * v
		}
		kept := slices.Clone(x)
		r, err := Analyse(x, c.Rate, Spec{Valves: c.Valves, Interval: c.Interval})
		if err != nil {
			t.Fatal(err)
		}
		same(t, before[k], r, float64(lead)/float64(c.Rate))
		if !slices.Equal(x, kept) {
			t.Fatal("the samples were changed")
		}
	})
}

// TestWhatIsSaidFits holds what must be true of any answer, on any part of a recording.
func TestWhatIsSaidFits(t *testing.T) {
	if testing.Short() {
		t.Skip("hears many recordings")
	}
	cases := short()
	r := rand.New(rand.NewPCG(3, 4))
	for range 12 {
		c := cases[r.IntN(len(cases))]
		x, valves := c.Samples[r.IntN(len(c.Samples)/4):], r.IntN(c.Valves+2)
		fits(t, x, c.Rate, Spec{Valves: valves, Interval: c.Interval})
	}
	// A pulse that sounds at the very start may not be put before it.
	c := cases[1]
	fits(t, c.Samples[84525:], c.Rate, Spec{Valves: 2, Interval: c.Interval})
}

func fits(t *testing.T, x []float32, rate int, spec Spec) {
	t.Helper()
	r, err := Analyse(x, rate, spec)
	if err != nil {
		return
	}
	if spec.Valves > 0 && len(r.Valves) != spec.Valves {
		t.Errorf("%d valves asked for, %d given", spec.Valves, len(r.Valves))
	}
	pulses := 0
	for i, v := range r.Valves {
		pulses += v.Count
		if v.Number != i+1 || v.Count > v.Expected+v.Double || v.Double > v.Expected || !(v.Probability >= 0 && v.Probability <= 1) || v.Why == "" {
			t.Errorf("valve %+v", v)
		}
	}
	if pulses != len(r.Pulses) {
		t.Errorf("%d pulses of the valves, %d in all", pulses, len(r.Pulses))
	}
	seconds := float64(len(x)) / float64(rate)
	for _, p := range r.Pulses {
		if !(p.At >= 0 && p.At <= seconds) || p.Valve < 1 {
			t.Errorf("pulse %+v in %g s", p, seconds)
		}
	}
}
