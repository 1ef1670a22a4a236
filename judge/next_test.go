package judge

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dustwright/sense"
)

// drawCauses draws a distribution over all causes, numbered ones on valves 1 to 6.
func drawCauses(t *rapid.T) []Probability {
	var out []Probability
	sum := 0.0
	for _, e := range Causes() {
		p := Probability{Cause: e.Name, P: rapid.Float64Range(1e-6, 1).Draw(t, string(e.Name))}
		if e.Numbered {
			p.Number = rapid.IntRange(1, 6).Draw(t, "number")
		}
		sum += p.P
		out = append(out, p)
	}
	for i := range out {
		out[i].P /= sum
	}
	return out
}

func TestEveryCheckAndCauseIsWhole(t *testing.T) {
	for _, c := range Checks() {
		Caution(c.Caution)
		if c.Minutes <= 0 || c.Text == "" || c.Finding == "" {
			t.Errorf("check %s: minutes, text and finding must be there", c.ID)
		}
		for cause, p := range c.Yes {
			if _, ok := CauseOf(cause); !ok || p <= 0 || p >= 1 {
				t.Errorf("check %s: cause %s with chance %v", c.ID, cause, p)
			}
		}
	}
	for _, e := range Causes() {
		Caution(e.Caution)
		if e.Asks != Steady && e.Caution == "" {
			t.Errorf("cause %s calls for hands without a caution", e.Name)
		}
	}
}

// An answer is information: on average it can't raise the entropy, and the average of the
// probabilities over both answers is the probability before.
func TestUpdateIsBayes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		causes := drawCauses(t)
		c := rapid.SampledFrom(Checks()).Draw(t, "check")
		number := 0
		if c.Numbered() {
			number = rapid.IntRange(1, 6).Draw(t, "on")
		}
		if gain := expectedGain(causes, c, number); gain < -1e-12 {
			t.Fatalf("expected gain of %s is %v bit, must not be negative", c.ID, gain)
		}
		yesChance := 0.0
		for _, p := range causes {
			yesChance += p.P * c.Chance(p.Cause, p.Number, number)
		}
		mean := map[Probability]float64{}
		for _, yes := range []bool{true, false} {
			w := yesChance
			if !yes {
				w = 1 - yesChance
			}
			for _, p := range Update(causes, c, Answer{Check: c.ID, Number: number, Yes: yes}) {
				mean[Probability{Cause: p.Cause, Number: p.Number}] += w * p.P
			}
		}
		for _, p := range causes {
			if got := mean[Probability{Cause: p.Cause, Number: p.Number}]; math.Abs(got-p.P) > 1e-9 {
				t.Fatalf("%s: mean over the answers %v, before %v", p.Cause, got, p.P)
			}
		}
	})
}

func TestNextAsksForTheCheapTellingCheck(t *testing.T) {
	causes := []Probability{{ValveDead, 4, 0.6}, {None, 0, 0.2}, {FiltersBlinded, 0, 0.2}}
	next := Next(causes, Checks(), nil)
	if next == nil || next.ID != "pilot-exhaust" && next.ID != "count-pulses" {
		t.Fatalf("next check is %+v, want feeling for pilot 4 or counting pulses", next)
	}
	done := []Answer{{Check: next.ID, Number: next.Number}}
	if again := Next(causes, Checks(), done); again != nil && again.ID == next.ID && again.Number == next.Number {
		t.Fatal("asked again for a check already answered")
	}
	if sure := Next([]Probability{{ValveDead, 4, 1}}, Checks(), nil); sure != nil {
		t.Fatalf("nothing is left to tell apart, yet it asks for %s", sure.ID)
	}
}

// A cause that is as good as sure, or more, is looked at itself, whatever else would tell more in a minute.
func TestNextShowsWhatIsAsGoodAsSure(t *testing.T) {
	for _, e := range Causes() {
		for _, p := range []float64{0.97, 0.9997} {
			rest := (1 - p) / 3
			sure := []Probability{{Cause: e.Name, P: p}, {Cause: None, P: rest}, {Cause: ValveStuckOpen, Number: 4, P: rest}, {Cause: FiltersBlinded, P: rest}}
			if e.Numbered {
				sure[0].Number = 4
			}
			direct := false
			for _, c := range Checks() {
				direct = direct || c.Yes[e.Name]-c.Else >= shows && expectedGain(sure, c, numbersOf(c, sure[0])) > 0
			}
			if !direct || e.Name == None {
				continue
			}
			next := Next(sure, Checks(), nil)
			if next == nil {
				t.Errorf("%s at %g: no check", e.Name, p)
				continue
			}
			c, _ := Experience{}.CheckOf(next.ID)
			if c.Chance(e.Name, sure[0].Number, next.Number)-c.Else < shows {
				t.Errorf("%s at %g: as good as sure, and the next check is %q", e.Name, p, next.Text)
			}
			if again := Next(sure, Checks(), []Answer{{Check: next.ID, Number: next.Number, Yes: true}}); again != nil && again.ID == next.ID {
				t.Errorf("%s at %g: %q is asked for again", e.Name, p, next.Text)
			}
		}
	}
}

// numbersOf is the valve or row that a check is done on for a cause.
func numbersOf(c CheckEntry, p Probability) int {
	if c.Numbered() {
		return p.Number
	}
	return 0
}

// A check that looks for what somebody just did is not proposed, until some days are over; what is found in the record only does not count.
func TestWorkSettlesACheck(t *testing.T) {
	now := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		name    string
		change  sense.Change
		settled bool
	}{
		{"moved this morning", sense.Change{Kind: sense.DamperMove, At: now.Add(-4 * time.Hour), Logged: true}, true},
		{"moved a week ago", sense.Change{Kind: sense.DamperMove, At: now.Add(-7 * 24 * time.Hour), Logged: true}, false},
		{"found in the record", sense.Change{Kind: sense.DamperMove, At: now.Add(-4 * time.Hour), Confidence: 0.9}, false},
		{"something else was done", sense.Change{Kind: sense.FilterChange, At: now.Add(-4 * time.Hour), Logged: true}, false},
	} {
		done := settled(&sense.Features{At: now, Changes: []sense.Change{x.change}}, Checks())
		if got := answered(done, "damper-mark", 0); got != x.settled {
			t.Errorf("%s: settled %v, want %v", x.name, got, x.settled)
		}
		if next := Next([]Probability{{Cause: AirflowHigh, P: 0.5}, {Cause: None, P: 0.5}}, Checks(), done); next == nil || (next.ID == "damper-mark") == x.settled {
			t.Errorf("%s: proposed %+v", x.name, next)
		}
	}
}
