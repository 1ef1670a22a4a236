package judge

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"dustwright/collector"
	"dustwright/sense"
)

// bare is a collector of which only what must be known is known.
func bare(t interface{ Fatal(...any) }) *collector.Collector {
	c, err := collector.Parse("bare.toml", []byte("tag = \"T-1\"\n[duty]\nflow = \"4200 cfm\"\n[filters]\nrows = 6\nper_row = 1\narea_each = \"215 ft2\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestTheWeightsNameEveryCause(t *testing.T) {
	m := fitted()
	has := map[Cause]bool{}
	for _, c := range m.causes {
		has[c] = true
	}
	for _, e := range Causes()[1:] {
		if !has[e.Name] {
			t.Errorf("weights.csv has no column for %s", e.Name)
		}
	}
	for term, w := range m.weight {
		for _, v := range w {
			if math.IsNaN(v) || math.Abs(v) > 20 {
				t.Errorf("weights.csv: %s weighs %v", term, v)
			}
		}
	}
}

func TestABrokenTableOfWeightsIsAnError(t *testing.T) {
	for _, text := range []string{"term,a\nx,y\n", "term,a\nx,1,2\n"} {
		if _, err := readModel(text); err == nil {
			t.Errorf("%q was read without an error", text)
		}
	}
}

// Whatever is seen, probabilities sum to one, and a plant's higher rate of a cause never makes it less
// likely.
func TestProbabilitiesSumToOneAndFollowTheRates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := bare(t)
		in := Input{Collector: c, Features: &sense.Features{}}
		for q := range in.Features.Of {
			m := &in.Features.Of[q]
			m.Now, m.Fresh, m.Normal, m.Trend = draw(t), draw(t), draw(t), draw(t)
			m.Spread = math.Abs(rapid.Float64().Draw(t, "spread"))
		}
		cause := rapid.SampledFrom(Causes()[1:]).Draw(t, "cause")
		before := Judge(in)
		in.Rates = map[Cause]float64{cause.Name: cause.Rate * rapid.Float64Range(1, 50).Draw(t, "times")}
		after := Judge(in)
		for _, r := range []Result{before, after} {
			sum := 0.0
			for _, p := range r.Causes {
				sum += p.P
			}
			if math.Abs(sum-1) > 1e-9 {
				t.Fatalf("probabilities sum to %v", sum)
			}
		}
		if a, b := of(after, cause.Name), of(before, cause.Name); a < b-1e-12 {
			t.Fatalf("%s fell from %v to %v at a higher rate", cause.Name, b, a)
		}
	})
}

// draw is an estimate that may be anything, or unknown.
func draw(t *rapid.T) sense.Estimate {
	if rapid.Bool().Draw(t, "unknown") {
		return sense.Unknown("")
	}
	return sense.Estimate{Value: rapid.Float64Range(-1e4, 1e7).Draw(t, "value"), Sigma: rapid.Float64Range(0, 1e4).Draw(t, "sigma"), N: 1}
}

// of sums what belongs to a cause over its numbers.
func of(r Result, c Cause) (p float64) {
	for _, x := range r.Causes {
		if x.Cause == c {
			p += x.P
		}
	}
	return p
}

// valveSeen returns features in which valve 3 of six has the given share of the others' header drop.
func valveSeen(share float64) *sense.Features {
	f := &sense.Features{}
	for q := range f.Of {
		f.Of[q] = sense.Measure{Now: sense.Unknown(""), Fresh: sense.Unknown(""), Normal: sense.Unknown(""), Trend: sense.Unknown(""), Spread: math.NaN()}
	}
	for v := 1; v <= 6; v++ {
		x := 1.0
		if v == 3 {
			x = share
		}
		noDrop := 0
		if x < 0.1 {
			noDrop = 20
		}
		f.Valves = append(f.Valves, sense.ValveMeasure{Valve: v, Fired: 20, Alone: 20, NoDrop: noDrop, Share: sense.Estimate{Value: x, Sigma: 0.03, N: 20},
			DPStep: sense.Unknown(""), DPStepNormal: sense.Unknown(""), EmissionRise: sense.Unknown("")})
	}
	return f
}

// The deeper one valve's drop stays behind the others', the less likely it is that nothing is wrong; and
// with no drop at all it is that valve, dead.
func TestOneValveBehindTheOthersIsNamed(t *testing.T) {
	c := bare(t)
	last := 2.0
	for _, share := range []float64{1, 0.8, 0.6, 0.4} {
		r := Judge(Input{Collector: c, Features: valveSeen(share)})
		if p := of(r, None); p > last+0.02 {
			t.Errorf("at a share of %v nothing is wrong with %.3f, more than the %.3f at a greater share", share, p, last)
		} else {
			last = p
		}
	}
	r := Judge(Input{Collector: c, Features: valveSeen(0)})
	if r.Causes[0].Cause != ValveDead || r.Causes[0].Number != 3 {
		t.Errorf("valve 3 without any drop: %v comes first", r.Causes[0])
	}
}

func TestWhatNeedsPulsesIsNotBlamedWhereThereAreNone(t *testing.T) {
	c := bare(t)
	c.Cleaning.Mode = collector.None
	r := Judge(Input{Collector: c, Features: valveSeen(1)})
	for _, p := range r.Causes {
		if needsPulses(p.Cause) {
			t.Errorf("%s was weighed for filters that are never pulsed", p.Cause)
		}
	}
}

// With nothing known nothing stands out: no cause is likelier than that nothing is wrong, and nobody is
// called.
func TestNothingKnownCallsNobody(t *testing.T) {
	f := valveSeen(1)
	f.Valves = nil
	r := Judge(Input{Collector: bare(t), Features: f})
	if r.Causes[0].Cause != None || r.Standing.Rank() >= NeedsHands.Rank() {
		t.Errorf("with nothing known: %v, %s", r.Causes[:2], r.Standing)
	}
}

func TestOftenIsSaidAsPeopleDo(t *testing.T) {
	for rate, want := range map[float64]string{6.04: "6 times an hour", 1: "once an hour", 0.5: "every 2 hours", 0.063: "every 16 hours", 0.001: "less than once in a day and a half"} {
		if got := often(rate); got != want {
			t.Errorf("%g an hour is %q, want %q", rate, got, want)
		}
	}
}

// What a term weighs more under a circumstance comes on top there, and nowhere else.
func TestCircumstancesAddToTheWeights(t *testing.T) {
	m, err := readModel("term,fan-weak,cake-damp\n1,-1,-2\nraw+,3,0\n" + With("raw+", "header") + ",0.5,1\n" + With("raw+", "fan") + ",-2,0\n" + With(bias, "fan") + ",0,0.25\n")
	if err != nil {
		t.Fatal(err)
	}
	header, fan := Shows("header?"), Shows("amps?")
	if header == 0 || fan == 0 || header&fan != 0 || Shows("raw+") != 0 {
		t.Fatalf("the marks of header and fan are %b and %b", header, fan)
	}
	for set, want := range map[int][2][2]float64{
		0:            {{-1, -2}, {3, 0}},
		header:       {{-1, -2}, {3.5, 1}},
		fan:          {{-1, -1.75}, {1, 0}},
		header | fan: {{-1, -1.75}, {1.5, 1}},
	} {
		for range 2 { // the second time from what is kept
			if w := m.with(set); len(w) != 2 || !slices.Equal(w[bias], want[0][:]) || !slices.Equal(w["raw+"], want[1][:]) {
				t.Errorf("with set %b: %v, want %v", set, w, want)
			}
		}
	}
}
