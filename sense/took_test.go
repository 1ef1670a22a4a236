package sense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What came within a shift took hours, what creeps took as long as it has been coming; a saw-tooth and its scatter are no change.
func TestHowLongAChangeTook(t *testing.T) {
	ramp := func(days float64) func(age float64) float64 {
		return func(age float64) float64 { return math.Max(0, math.Min(1, age/days)) }
	}
	for _, c := range []struct {
		name   string
		course func(age float64) float64 // share of the change, age days after it began
		by     float64                   // what the dP ends at, over what it was
		took   float64                   // [h of running]; NaN none
		wet    float64                   // NaN none
	}{
		{"at once", ramp(0.01), 1.6, 5, 0.95},
		{"over four days", ramp(4), 1.6, 48, 0.575},
		{"still rising after nine", ramp(9), 1.6, 100, 0.533},
		{"at once, and down", ramp(0.01), 0.6, 5, math.NaN()},
		{"nothing", ramp(1), 1, math.NaN(), math.NaN()},
	} {
		rnd := rand.New(rand.NewPCG(3, 5))
		var hours []Hour
		for i := range 40 * 24 { // 12 hours a day, damp on the first day of the change
			age := float64(i)/24 - 31
			h := Hour{Start: int64(i) * 3600, Has: 1 << Humidity, Stats: []Stat{{N: 6, Mean: 0.5}}}
			if age > -0.3 && age < 0.6 {
				h.Stats[0].Mean = 0.95
			}
			if i%24 < 12 {
				saw := 0.2*float64(i%3-1) + 0.05*rnd.NormFloat64()
				h.Running, h.DP = 1, HourDP{N: 6, P50: float32(800 * (1 + saw) * (1 + (c.by-1)*c.course(age)))}
			}
			hours = append(hours, h)
		}
		v := view{hours: hours, at: hours[len(hours)-1].Start + 3600, h: &History{}}
		f := &Features{Wet: Unknown("")}
		f.Of[DPRaw] = Measure{Normal: Estimate{Value: 800, N: 9}, Took: Unknown("")}
		v.took(f)
		got, wet := valueOf(f.Get(DPRaw).Took), valueOf(f.Wet)
		if math.IsNaN(got) != math.IsNaN(c.took) || math.Abs(got-c.took) > 3+0.15*c.took {
			t.Errorf("%s: took %.1f h, want %.1f", c.name, got, c.took)
		}
		if math.IsNaN(wet) != math.IsNaN(c.wet) || math.Abs(wet-c.wet) > 0.2 {
			t.Errorf("%s: humidity %.2f, want %.2f", c.name, wet, c.wet)
		}
	}
}

// valueOf is the value of an estimate, NaN where it has none.
func valueOf(e Estimate) float64 {
	if !e.Known() {
		return math.NaN()
	}
	return e.Value
}
