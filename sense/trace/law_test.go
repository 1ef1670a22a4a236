package trace

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestBlowdownChoked: while the flow is choked, an isothermal tank falls by exp(-x); source: closed form of
// the blowdown of a tank, as in header/testdata/blowdown_nozzle.csv.
func TestBlowdownChoked(t *testing.T) {
	const atm = 101325
	for _, c := range []struct{ gauge, x float64 }{{413685, 0.1}, {413685, 0.4}, {620528, 0.5}, {827371, 0.2}} {
		got := blowdown(c.gauge, c.x, atm)
		want := (c.gauge + atm) * (1 - math.Exp(-c.x))
		if c.gauge-want > 0.9*atm*(1/0.528-1) && math.Abs(got-want) > 0.01*want {
			t.Errorf("from %g Pa, x %g: drop %g, want %g", c.gauge, c.x, got, want)
		}
	}
}

func TestBlowdownAndImpulse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(2e4, 9e5).Draw(t, "p")
		x := rapid.Float64Range(0.001, 3).Draw(t, "x")
		drop := blowdown(p, x, 101325)
		if drop < 0 || drop > p {
			t.Fatalf("a drop of %g from %g", drop, p)
		}
		if more := blowdown(p, 1.1*x, 101325); more < drop {
			t.Fatalf("a longer opening drops less: %g, %g", more, drop)
		}
		if back := impulse(p, drop, 101325); drop < 0.98*p && math.Abs(back-x) > 0.01*x {
			t.Fatalf("impulse %g of a drop by %g", back, x)
		}
		for _, l := range []law{lawTank, lawShare, lawFixed} {
			if r := newScaling(l, p, math.Max(drop, 1), 101325).at(p); math.Abs(r-1) > 1e-6 {
				t.Fatalf("law %d: the usual drop is %g of itself", l, r)
			}
		}
	})
}

// TestWeigh: plain looks get plain answers, and a look without information changes nothing much.
func TestWeigh(t *testing.T) {
	look3 := func(r float64) []look { return []look{{r, 0.02, 1}, {r + 0.01, 0.02, 1}, {r - 0.01, 0.02, 1}} }
	for _, c := range []struct {
		looks []look
		want  int
	}{
		{look3(1), isOK}, {look3(0.95), isOK}, {look3(0.5), isWeak}, {look3(0.7), isWeak}, {look3(0), isDead}, {look3(1.7), isLong},
		{[]look{{1, 0.02, 1}, {0, 0.02, 1}, {1, 0.02, 1}, {0, 0.02, 1}}, isFitful}, {[]look{{1, 0.02, 1}, {0, 0.02, 1}, {1, 0.02, 1}, {1, 0.02, 1}, {1, 0.02, 1}, {1, 0.02, 1}}, isOK},
	} {
		w := weigh(c.looks)
		best := 0
		for k := range w {
			if w[k] > w[best] {
				best = k
			}
		}
		if best != c.want {
			t.Errorf("%v: kind %d, want %d (%v)", c.looks, best, c.want, w)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		var looks []look
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			looks = append(looks, look{rapid.Float64Range(-3, 4).Draw(t, "ratio"), rapid.Float64Range(0.005, 1.4).Draw(t, "sigma"), 1})
		}
		w := weigh(looks)
		sum := 0.0
		for k := range w {
			if math.IsNaN(w[k]) {
				t.Fatalf("%v: %v", looks, w)
			}
			sum += math.Exp(w[k] - w.total())
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("%v: the kinds sum to %g", looks, sum)
		}
	})
}
