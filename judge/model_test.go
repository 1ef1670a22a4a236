package judge

import (
	"math"
	"slices"
	"strings"
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
	for _, e := range Causes()[1:] {
		if !slices.Contains(m.Outputs, e.Name) {
			t.Errorf("weights.csv does not name %s", e.Name)
		}
	}
	if got := m.Odds(nil); slices.ContainsFunc(got, func(x float64) bool { return x > 0 }) {
		t.Errorf("with nothing seen a cause is likelier than none: %v", got)
	}
}

func TestABrokenTableOfWeightsIsAnError(t *testing.T) {
	const whole = "outputs,a\nterm,1,0.5,1,2\nterm,raw+,-1,0,1\nbetween,1,2\nbetween,3,4\nbias,0,1\nlast,1\nlast,2\n"
	if _, err := ReadNet(whole); err != nil {
		t.Fatal(err)
	}
	for _, broken := range [][2]string{{"outputs,a\n", ""}, {"0.5", "x"}, {"-1,0,1", "-1,0"}, {"between,3,4\n", ""}, {"3,4", "3"}, {"bias,0,1\n", ""},
		{"last,2\n", ""}, {"last,2", "last,2,3"}, {"last,2", "least,2"}, {"term,raw+,-1,0,1", "term"}, {"last,2", "\"last"}} {
		if _, err := ReadNet(strings.Replace(whole, broken[0], broken[1], 1)); err == nil {
			t.Errorf("with %q for %q it was read without an error", broken[1], broken[0])
		}
	}
}

func FuzzReadNet(f *testing.F) {
	f.Add("outputs,a\nterm,1,0.5,1,2\nbetween,1,2\nbetween,3,4\nbias,0,1\nlast,1\nlast,2\n")
	f.Add("term\nbias\nlast")
	f.Fuzz(func(t *testing.T, text string) {
		n, err := ReadNet(text)
		if err != nil {
			return
		}
		if got := n.Odds(map[string]float64{"raw+": 1}); len(got) != len(n.Outputs) {
			t.Fatalf("%d log odds for %d outputs", len(got), len(n.Outputs))
		}
	})
}

// The sums of a net are those worked out by hand: a unit below nothing passes nothing on, and a sight's part is what the log
// odds lose without it.
func TestNetByHand(t *testing.T) {
	n, err := ReadNet("outputs,a\nterm,1,-1,0.5,-2\nterm,raw+,2,1,1\nterm,low+,0,0,3\nbetween,1,-1\nbetween,2,1\nbias,0,0.25\nlast,3\nlast,10\n")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		raw, low, want float64
	}{
		{0, 0, -1 + 3*0.5}, // first 0.5, -2; second 0.5, 0.25 - 0.5
		{1, 0, -1 + 2 + 3*1.5},
		{1, 1, -1 + 2 + 3*(1.5+2*2) + 10*(0.25-1.5+2)}, // first 1.5, 2
	} {
		if got := n.Odds(map[string]float64{"raw+": c.raw, "low+": c.low})[0]; math.Abs(got-c.want) > 1e-12 {
			t.Errorf("raw %g, low %g: %g, want %g", c.raw, c.low, got, c.want)
		}
	}
	s := n.begin()
	all := []term{{"raw+", 1, 0}, {"raw?", 1, 0}, {"low+", 1, 2}}
	for _, x := range all {
		n.add(s, x.name, x.x)
	}
	with := func(raw, low float64) float64 { return n.Odds(map[string]float64{"raw+": raw, "low+": low})[0] }
	odds, parts := n.explain(s, all, 3)
	if odds[0] != with(1, 1) {
		t.Errorf("log odds %g, want %g", odds[0], with(1, 1))
	}
	if got, want := parts[0], []float64{with(1, 1) - with(0, 1), 0, with(1, 1) - with(1, 0)}; !slices.Equal(got, want) {
		t.Errorf("parts %v, want %v", got, want)
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
		in.Experience.Rates = []Rate{{Causes: []Cause{cause.Name}, Times: rapid.Float64Range(1, 50).Draw(t, "times")}}
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
