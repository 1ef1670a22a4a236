package sense

import (
	"math"
	"testing"
)

// A level told in quarters of the bin that stood through a day says less than that nothing came: a quarter may just be due. One
// told finely says what it did.
func TestABinLevelToldInQuarters(t *testing.T) {
	for _, c := range []struct {
		name        string
		step        float64
		rate, sigma float64 // of the last day [1/h]
	}{
		{"in quarters", 0.25, 0, 0.0154},
		{"in hundredths", 0.01, 0.01, 0.0012},
	} {
		var hours []Hour
		for i := range 30 * 24 { // a hundredth an hour, emptied once it is full
			level := math.Mod(float64(i), 100) / 100
			level = math.Floor(level/c.step+1e-9) * c.step
			hours = append(hours, Hour{Start: int64(i) * 3600, Running: 1, Has: 1 << BinLevel, Stats: []Stat{{N: 6, Mean: float32(level), Min: float32(level)}}})
		}
		s := &summariser{grain: binGrain(hours)}
		d := newDay()
		s.binRate(&d, part{hours: hours[601:624]})
		if got := d.Value[BinRate]; math.Abs(got-c.rate) > 1e-3 {
			t.Errorf("%s: the bin rises by %.4f an hour, want %.4f", c.name, got, c.rate)
		}
		if got := d.Sigma[BinRate]; math.Abs(got-c.sigma) > 0.1*c.sigma {
			t.Errorf("%s: known to %.4f, want %.4f", c.name, got, c.sigma)
		}
	}
}
