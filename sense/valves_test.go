package sense

import (
	"math"
	"testing"
	"time"
)

// Two or three lone rows that happen to agree prove nothing of a valve: its share is known by the scatter
// of all valves' rows. A dead valve still stands out.
func TestShareOfAFewLoneRows(t *testing.T) {
	c := usual().file()
	var sets []FiringSet
	for valve, drops := range [][]float64{{100, 104}, {62, 63}, {99, 81, 108}, {95}, {110, 84}, {1, 2, 1}} {
		f := FiringSet{Day: 86400, Mask: 1 << valve, Valve: uint8(valve + 1)}
		for _, x := range drops {
			f.Rows++
			f.Drop.add(1000 * x)
		}
		sets = append(sets, f)
	}
	for i, m := range valveMeasures(c, sets, nil, time.UTC) {
		z := (m.Share.Value - 1) / m.Share.Sigma
		if i < 5 && (math.Abs(z) > 4 || m.Share.Sigma < 0.05) {
			t.Errorf("sound valve %d: share %.2f give or take %.2f of %d rows", i+1, m.Share.Value, m.Share.Sigma, m.Alone)
		}
		if i == 5 && !(z < -5) {
			t.Errorf("dead valve: share %.2f give or take %.2f", m.Share.Value, m.Share.Sigma)
		}
	}
}
