package rehearse

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever goes wrong with whatever machine, the accounts close and no number is lost.
func TestAnyRunCloses(t *testing.T) {
	c := contract(t)
	kinds := Causes()
	rapid.Check(t, func(rt *rapid.T) {
		o := NewOptions(c)
		o.Seed = rapid.Uint64().Draw(rt, "seed")
		o.Sample, o.Length = 0, days(rapid.Float64Range(1, 12).Draw(rt, "days"))
		o.Spread = rapid.Float64Range(0, 2).Draw(rt, "spread")
		for range rapid.IntRange(0, 3).Draw(rt, "faults") {
			k, _ := kindOf(rapid.SampledFrom(kinds).Draw(rt, "cause"))
			f := Fault{Cause: k.name, Ramp: -1, Severity: 1, After: days(rapid.Float64Range(0, 10).Draw(rt, "onset"))}
			if k.numbered {
				f.Number = rapid.IntRange(1, 6).Draw(rt, "number")
			}
			o.Faults = append(o.Faults, f)
		}
		if rapid.Bool().Draw(rt, "change") {
			o.Events = []Event{{Kind: ChangeFilters, After: days(3)}}
		}
		r, err := Run(context.Background(), c, o)
		if err != nil {
			rt.Fatal(err)
		}
		b := r.Truth.Balance
		for what, x := range map[string][2]float64{
			"dust": {float64(b.DustIn), float64(b.DustOnFilters + b.DustInBin + b.DustPassed)},
			"air":  {float64(b.AirIn), float64(b.AirValves + b.AirLeaks + b.AirInTank)},
			"fan":  {float64(b.FanGives), float64(b.PartsTake)},
		} {
			if d := math.Abs(x[0] - x[1]); !(d <= 1e-3*math.Abs(x[0])+1e-6) && !(r.Truth.Strained && what == "fan") {
				rt.Fatalf("%s: %g in, %g out", what, x[0], x[1])
			}
		}
		for i, row := range r.Truth.Rows {
			if !(row.Residual > 0) || !(row.Cake >= 0) || math.IsInf(float64(row.Residual), 0) {
				rt.Fatalf("row %d: %+v", i+1, row)
			}
		}
	})
}
