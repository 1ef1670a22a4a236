package judge

import (
	"math"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// A damper that was opened speaks for too much air, unless somebody noted to have opened it, or the air is that of design:
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
	found, noted := weighed(false, 0.6), weighed(true, 0.6)
	if found[AirflowHigh]-noted[AirflowHigh] < 0.5 {
		t.Errorf("log odds of too much air %.2f, and %.2f where the move was noted: want less", found[AirflowHigh], noted[AirflowHigh])
	}
	if found[DuctBlocked] != noted[DuctBlocked] {
		t.Errorf("log odds of a blocked duct %.2f, and %.2f where the move was noted", found[DuctBlocked], noted[DuctBlocked])
	}
	for flow, stands := range map[float64]bool{0.98: true, 1.02: true, 0.96: false, 1.04: false} {
		if off := weighed(false, flow)[AirflowHigh] - weighed(true, flow)[AirflowHigh]; (math.Abs(off) < 0.5) != stands {
			t.Errorf("at %g of design a move that nobody noted adds %.2f to the log odds of too much air: no finding %v", flow, off, stands)
		}
	}
	if more := weighed(true, 0.8); more[AirflowHigh]-noted[AirflowHigh] < 0.5 {
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
		now, normal float64
		want        string
	}{
		{-0.05, 0.001, "the motor's load is 5 % below what dP and damper make it by the record"},
		{0.05, 0.02, "the motor's load is 5 % above what dP and damper make it by the record, normally 2 % above"},
		{0.001, -0.03, "the motor's load is at what dP and damper make it by the record, normally 3 % below"},
	} {
		for i := range quantities {
			if k := &quantities[i]; k.q == sense.MotorBeyond {
				if got := k.changed(c.now, c.normal, unit.US); got != c.want {
					t.Errorf("%q, want %q", got, c.want)
				}
			}
		}
	}
}
