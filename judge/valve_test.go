package judge

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"dustwright/sense"
	"dustwright/unit"
)

// looked is what is seen of a valve by key.
func looked(f *sense.Features, valve int) map[key]sight {
	out := map[key]sight{}
	for _, v := range facts(f) {
		if v.valve == valve {
			for _, s := range v.seen {
				out[s.key] = s
			}
		}
	}
	return out
}

// A valve that stays behind the others is seen the more the less the others scatter, and less where it always
// stayed behind.
func TestAValveIsHeldAgainstTheOthersAndItsPast(t *testing.T) {
	alike, apart := valveSeen(0.6), valveSeen(0.6)
	for i := range apart.Valves {
		if i != 2 {
			apart.Valves[i].Share.Value = 1 + 0.3*float64(i%3-1)
		}
	}
	if a, b := looked(alike, 3)["share/sure"].x, looked(apart, 3)["share/sure"].x; !(a < b && b < 0) {
		t.Errorf("behind valves that are alike %.2f, behind valves that scatter %.2f", a, b)
	}
	before := func(normal float64) sight {
		f := valveSeen(0.6)
		f.Valves[2].ShareNormal = sense.Estimate{Value: normal, Sigma: 0.02, N: 9}
		return looked(f, 3)["share/past"]
	}
	if always, lately := before(0.6), before(1); math.Abs(always.x) > 1e-9 || lately.x > -2 || !strings.Contains(lately.says(unit.US), "60 %") || !strings.Contains(lately.says(unit.US), "before, it was 100 % of theirs") {
		t.Errorf("always so: %.2f; lately: %.2f, %q", always.x, lately.x, lately.says(unit.US))
	}
	if _, told := looked(valveSeen(0), 3)["share"]; told {
		t.Error("a valve without any drop is told twice")
	}
	most := valveSeen(0)
	most.Valves[2].Alone, most.Valves[2].NoDrop = 20, 13 // in the other rows another valve's drop is read
	if s, told := looked(most, 3)["share"]; !told || s.x > -2 {
		t.Errorf("the header hardly falls on average, and not at all in 13 rows of 20: %.2f", s.x)
	}
}

// A valve that is known to do as the others is not one of which that can't be told, though neither lies off them.
func TestAValveKnownToBeLikeTheOthers(t *testing.T) {
	for _, c := range []struct{ share, sigma, least, most float64 }{{1, 0.01, 0.9, 1}, {1, 0.25, 0, 0}, {0.6, 0.01, 0, 0}, {1.05, 0.02, 0.4, 0.6}} {
		f := valveSeen(1)
		f.Valves[2].Share = sense.Estimate{Value: c.share, Sigma: c.sigma, N: 20}
		if x := looked(f, 3)["share"+likeOthers].x; x < c.least || x > c.most {
			t.Errorf("share %g within %g: %.2f, want %g to %g", c.share, c.sigma, x, c.least, c.most)
		}
	}
}

// Rows without a drop speak for a dead valve; where sound valves miss as many they say nothing.
func TestMissedDropsCountByWhatSoundOnesMiss(t *testing.T) {
	f := valveSeen(0)
	sure := looked(f, 3)["missed"].x
	f.Valves[2].Misses = 0.9
	if late := looked(f, 3)["missed"].x; !(sure > 5 && late < 0.4*sure) {
		t.Errorf("20 rows of 20 without a drop: %.2f; where a sound one misses nine in ten: %.2f", sure, late)
	}
	if x := looked(f, 1)["missed"].x; x >= 0 {
		t.Errorf("20 drops out of 20: %.2f", x)
	}
}

// What the valves say together lies between the best of them shared over all and the best of them, whatever
// their order.
func TestTogetherIsTheMeanOfTheRatios(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		logs := rapid.SliceOfN(rapid.Float64Range(-40, 18), 1, 30).Draw(t, "logs")
		x := Together(logs)
		top := slices.Max(logs)
		if low := math.Max(-mostOdds, top-math.Log(float64(len(logs)))); x < low-1e-9 || x > math.Max(top, -mostOdds)+1e-9 {
			t.Fatalf("%v together %g, not between %g and %g", logs, x, low, top)
		}
		turned := slices.Clone(logs)
		slices.Reverse(turned)
		if y := Together(turned); math.Abs(x-y) > 1e-9 {
			t.Fatalf("%g in one order, %g in the other", x, y)
		}
	})
}

// Whatever is measured at the valves, the terms are numbers and the probabilities sum to one.
func TestAnythingMeasuredAtValvesIsWeighed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := valveSeen(1)
		for i := range f.Valves {
			v := &f.Valves[i]
			v.Alone = rapid.IntRange(0, 99).Draw(t, "alone")
			v.NoDrop = rapid.IntRange(0, v.Alone).Draw(t, "no drop")
			v.Misses = rapid.Float64Range(0, 1).Draw(t, "misses")
			for _, e := range []*sense.Estimate{&v.Share, &v.ShareNormal, &v.Left, &v.LeftNormal, &v.DPStep, &v.DPStepNormal, &v.EmissionRise, &v.Puff} {
				*e = draw(t)
			}
		}
		in := Input{Collector: bare(t), Features: f}
		for v, seen := range ValveSights(in) {
			for n, sight := range seen {
				for _, x := range TermValues(nil, n, sight) {
					if math.IsNaN(x) || math.Abs(x) > 1 {
						t.Fatalf("valve %d: %s is bent to %v", v, n, x)
					}
				}
			}
		}
		sum := 0.0
		for _, p := range Judge(in).Causes {
			sum += p.P
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("the probabilities sum to %v", sum)
		}
	})
}

// The table of single valves names each numbered cause, and no sight could turn everything by itself, all bends of it
// taken together, as far as sights of valves go.
func TestTheValveWeightsNameEveryNumberedCause(t *testing.T) {
	m := fittedValves()
	if !slices.Equal(m.Outputs, NumberedCauses()) {
		t.Errorf("valves.csv names %v, want %v", m.Outputs, NumberedCauses())
	}
	nothing := m.Odds(nil)
	for name := range m.Terms {
		if name == bias || strings.HasSuffix(name, "?") || strings.HasPrefix(name, OfAll) {
			continue
		}
		quantity := key(strings.TrimRight(name, "+-"))
		for _, x := range []float64{-widest / shareScale, -5, -1, 1, 5, widest / shareScale} {
			seen := map[string]float64{}
			for _, part := range terms([]sight{{key: quantity, x: x}}) {
				seen[part.name] = part.x
			}
			for j, v := range m.Odds(seen) {
				if v -= nothing[j]; math.IsNaN(v) || math.Abs(v) > 10 {
					t.Errorf("valves.csv: %s at %g weighs %.1f for %s", quantity, x, v, m.Outputs[j])
				}
			}
		}
	}
}

// A valve that the log passes over, and one whose pulse takes less off the dP than those of the others although that hardly moves
// at all, are seen; where it never took more, nothing of it is new.
func TestAValvePassedOverAndOneThatCleansLess(t *testing.T) {
	f := valveSeen(1)
	for i := range f.Valves {
		v := &f.Valves[i]
		v.Fired = 40
		v.DPStep = sense.Estimate{Value: float64(i%3) - 1, Sigma: 1, N: 40}
		v.DPStepNormal = v.DPStep
	}
	if s := looked(f, 3); math.Abs(s["fired"].x) > 1e-9 || s["step/among"].x < -0.5 {
		t.Errorf("sound: fired %.2f, step %.2f", s["fired"].x, s["step/among"].x)
	}
	f.Valves[2].Fired, f.Valves[2].DPStep.Value = 5, -15
	s := looked(f, 3)
	if x := s["fired"]; x.x > -2 || x.says(unit.US) != "valve 3 fired 5 times, the others 40 times" {
		t.Errorf("passed over: %.2f, %q", x.x, x.says(unit.US))
	}
	if s["step/among"].x > -1 || s["step/past"].x > -1 {
		t.Errorf("a pulse that takes 15 Pa less: %.2f, against before %.2f", s["step/among"].x, s["step/past"].x)
	}
	f.Valves[2].DPStepNormal.Value = -15
	if x := looked(f, 3)["step/past"].x; math.Abs(x) > 0.5 {
		t.Errorf("it always was so: %.2f", x)
	}
}

// Where pulses are only counted a weak valve is believed as much, but no number is named, nor told in a reason.
func TestTurnsHaveNoNumbers(t *testing.T) {
	f := valveSeen(0.2)
	named := Judge(Input{Collector: bare(t), Features: f})
	f.Turns = true
	in := Input{Collector: bare(t), Features: f}
	turns := Judge(in)
	if n := len(ValveSights(in)); n > 0 {
		t.Errorf("%d valves go into the fit by their turns", n)
	}
	if a, b := named.Causes[0], turns.Causes[0]; a.Number != 3 || b.Number != 0 || a.Cause != b.Cause || b.P < a.P {
		t.Errorf("named %v, by turns %v", a, b)
	}
	told := false
	for _, r := range turns.Reasons {
		told = told || strings.Contains(r.Text.String(), "one of the 6 valves")
		if strings.Contains(r.Text.String(), "valve 3") {
			t.Errorf("a number in %q", r.Text.String())
		}
	}
	if !told {
		t.Errorf("no reason tells of one of the valves: %v", turns.Reasons)
	}
}

// How surely a valve takes more than the others does not depend on how much more that is: far beyond what counts, its width was
// still taken for that of the part that counts.
func TestAValveFarOffIsNoLessSure(t *testing.T) {
	at := func(share float64) float64 {
		f := valveSeen(1)
		f.Valves[2].Share = sense.Estimate{Value: share, Sigma: 0.2 * (share - 1), N: 1}
		return looked(f, 3)["share"].x
	}
	if near, far := at(2.5), at(4.5); !(far >= near) {
		t.Errorf("of 2.5 times the others' %.2f, of 4.5 times %.2f: want no less", near, far)
	}
}

// Valves in another order are the same valves: what is concluded goes with each of them, whatever its number.
func TestValvesGoByNoOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := valveSeen(rapid.Float64Range(0, 1).Draw(t, "share"))
		for i := range f.Valves {
			v := &f.Valves[i]
			v.Fired, v.NoDrop = rapid.IntRange(10, 30).Draw(t, "fired"), rapid.IntRange(0, 20).Draw(t, "missed")
			v.DPStep, v.DPStepNormal, v.EmissionRise = draw(t), draw(t), draw(t)
		}
		order := rapid.Permutation([]int{0, 1, 2, 3, 4, 5}).Draw(t, "order")
		g := *f
		g.Valves = make([]sense.ValveMeasure, len(order))
		for i, k := range order {
			g.Valves[i] = f.Valves[k]
			g.Valves[i].Valve = i + 1
		}
		one, other := Judge(Input{Collector: bare(t), Features: f}), Judge(Input{Collector: bare(t), Features: &g})
		if one.Standing != other.Standing || len(one.Causes) != len(other.Causes) {
			t.Fatalf("%s with %d causes, in another order %s with %d", one.Standing, len(one.Causes), other.Standing, len(other.Causes))
		}
		at := map[Probability]float64{}
		for _, p := range one.Causes {
			at[Probability{p.Cause, p.Number, 0}] = p.P
		}
		for _, p := range other.Causes {
			number := p.Number
			if number > 0 {
				number = order[number-1] + 1
			}
			if want, ok := at[Probability{p.Cause, number, 0}]; !ok || math.Abs(p.P-want) > 1e-6 {
				t.Fatalf("%s %d: %g, in the first order %g", p.Cause, number, p.P, want)
			}
		}
	})
}
