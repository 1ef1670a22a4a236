package filter

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

func anyBank(t *rapid.T) *Bank {
	f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	b := &Bank{Law: Default(unit.Drag(f(2000, 30000, "media")))}
	b.Law.K2 = Resistance(f(5e3, 5e5, "k2"))
	for range rapid.IntRange(1, 9).Draw(t, "rows") {
		b.Rows = append(b.Rows, Row{Area: unit.Area(f(5, 60, "area")), Media: b.Law.Media, Season: unit.Drag(f(0, 1, "season")) * b.Law.SeasonRise,
			Creep: unit.Drag(f(0, 60000, "creep")), Cake: Areal(f(0, 1.5, "cake"))})
	}
	return b
}

func TestRowsShareTheFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBank(t)
		q := unit.Flow(rapid.Float64Range(0.1, 5).Draw(t, "q"))
		sum := 0.0
		for i, v := range b.FaceVelocities(b.DP(q), nil) {
			sum += float64(v) * float64(b.Rows[i].Area)
		}
		if math.Abs(sum-float64(q)) > 1e-12*float64(q) {
			t.Fatalf("rows pass %g, the bank %g m3/s", sum, float64(q))
		}
		// the order of rows does not matter, and a dirtier row means more dP
		r := b.Clone()
		for i, j := 0, len(r.Rows)-1; i < j; i, j = i+1, j-1 {
			r.Rows[i], r.Rows[j] = r.Rows[j], r.Rows[i]
		}
		if d := math.Abs(float64(r.DP(q) - b.DP(q))); d > 1e-12*float64(b.DP(q)) {
			t.Fatalf("turning the rows about moves the dP by %g Pa", d)
		}
		r.Rows[0].Cake += 0.01
		if r.DP(q) <= b.DP(q) {
			t.Fatal("more cake does not raise the dP")
		}
	})
}

func TestDustIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBank(t)
		before := float64(b.CakeMass())
		m := rapid.Float64Range(0, 30).Draw(t, "dust")
		if err := b.Load(unit.Mass(m)); err != nil {
			t.Fatal(err)
		}
		if got := float64(b.CakeMass()) - before; math.Abs(got-m) > 1e-9*math.Max(m, before) {
			t.Fatalf("%g kg brought, %g kg on the rows", m, got)
		}
		before = float64(b.CakeMass())
		row := rapid.IntRange(0, len(b.Rows)-1).Draw(t, "row")
		r, err := b.Pulse(row, Stroke{Header: unit.Pressure(rapid.Float64Range(0, 7e5).Draw(t, "header")),
			Strength: unit.Share(rapid.Float64Range(0, 1).Draw(t, "strength")), Online: rapid.Bool().Draw(t, "online")})
		if err != nil {
			t.Fatal(err)
		}
		after := float64(b.CakeMass())
		if math.Abs(before-after-float64(r.Fallen)) > 1e-12*before || r.Off < r.Returned || r.Returned < 0 || b.Rows[row].Cake < 0 {
			t.Fatalf("%+v; on the rows %g before, %g after", r, before, after)
		}
	})
}

// Dust evens out: the order of the rows' drags never turns round while loading.
func TestLoadingKeepsTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBank(t)
		for i := range b.Rows {
			b.Rows[i].Season = b.Law.SeasonRise
		}
		old := b.Clone()
		if err := b.Load(unit.Mass(rapid.Float64Range(0.01, 100).Draw(t, "dust"))); err != nil {
			t.Fatal(err)
		}
		k := b.Law.K2
		for i := range b.Rows {
			for j := range b.Rows {
				if old.Rows[i].Drag(k) < old.Rows[j].Drag(k) && float64(b.Rows[i].Drag(k)) > float64(b.Rows[j].Drag(k))*(1+1e-9) {
					t.Fatalf("rows %d and %d changed order", i, j)
				}
			}
			if b.Rows[i].Cake < old.Rows[i].Cake {
				t.Fatalf("row %d lost cake by loading", i)
			}
		}
	})
}
