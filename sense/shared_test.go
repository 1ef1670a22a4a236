package sense

import (
	"testing"
	"time"
)

// A valve that stays open is known by all rows that it shares, and not by its one lone row alone; what falls as far alone but not
// beside others took the tail of its pulse.
func TestFewLoneRowsAreHeldAgainstSharedOnes(t *testing.T) {
	row := func(mask uint64, valve uint8, drop float64, rows int) FiringSet {
		f := FiringSet{Day: 86400, Mask: mask, Valve: valve}
		for range rows {
			f.Rows++
			f.fell(drop, 600000)
		}
		return f
	}
	shared := []FiringSet{row(0b0011, 0, 120000, 9), row(0b1001, 0, 121000, 9), row(0b0100|0b0001, 0, 470000, 9), row(0b0100|0b1000, 0, 475000, 9)}
	lone := []FiringSet{row(0b0001, 1, 121000, 1), row(0b0010, 2, 122000, 1), row(0b0100, 3, 473000, 1), row(0b1000, 4, 490000, 1)}
	sigma := func(sets []FiringSet) float64 {
		return valveMeasures(usual().file(), sets, nil, time.UTC, 0)[2].Share.Sigma
	}
	m := valveMeasures(usual().file(), append(shared, lone...), nil, time.UTC, 0)
	if x := m[3].Share.Value; x > 1.2 {
		t.Errorf("valve 4 took a tail once: %.2f of the others' drop, want about 1", x)
	}
	if x := m[2].Share; x.Value < 3 || !(x.Sigma < 0.6*sigma(lone)) {
		t.Errorf("valve 3 in 19 rows: %.2f give or take %.2f; in its lone row %.2f", x.Value, x.Sigma, sigma(lone))
	}
	if x := m[0].Share; x.Sigma < 0.14 {
		t.Errorf("valve 1 is known within %.2f by rows that others explain as well", x.Sigma)
	}
}
