package sense

import (
	"testing"
	"time"
)

// A sound valve that misses a row now and then may end with a miss: its other misses of that day are no streak, and the drops
// between them count. One that stopped amid the day is counted from then on.
func TestAMissAtTheEndIsNoStreak(t *testing.T) {
	c := usual().file()
	for _, k := range []struct {
		name          string
		misses        func(i int) bool // of the last day's rows
		alone, noDrop int
	}{
		{"one in four, and the last", func(i int) bool { return i%4 == 3 }, 24, 6},
		{"it stopped at noon", func(i int) bool { return i%4 == 3 || i >= 12 }, 13, 13},
		{"none", func(int) bool { return false }, 24, 0},
	} {
		var sets []FiringSet
		for day := int64(1); day <= 4; day++ {
			for valve := uint8(1); valve <= 3; valve++ {
				f := FiringSet{Day: day * 86400, Mask: 1 << (valve - 1), Valve: valve}
				for i := range 24 {
					missed := valve == 2 && i%4 == 3
					if valve == 2 && day == 4 {
						missed = k.misses(i)
					}
					p := airPass{s: &AirState{Typical: 20000}}
					q := Pulsed{T: (day*86400 + int64(i)*3600) * 1e9, Ref: 400000, Low: 400000 - 20000*b2f(!missed)}
					f.Rows++
					f.fell(q.Ref-q.Low, q.Ref)
					p.judgeDrop(&f, q.Ref-q.Low, &q)
				}
				sets = append(sets, f)
			}
		}
		m := valveMeasures(c, sets[9:], sets[:9], time.UTC, 0)[1]
		if m.Alone != k.alone || m.NoDrop != k.noDrop {
			t.Errorf("%s: no drop in %d of %d rows, want %d of %d", k.name, m.NoDrop, m.Alone, k.noDrop, k.alone)
		}
	}
}
