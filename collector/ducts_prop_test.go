package collector

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// anyDucts gives a collector drawn branches: hoods with some mains between them and the collector, sized for usual velocities,
// whose flows add up to design.
func anyDucts(t *rapid.T, c *Collector) {
	pipe := func(name, into string) Branch {
		b := NewBranch()
		b.Name, b.Into = name, into
		b.Length = unit.Length(rapid.Float64Range(1, 15).Draw(t, name+" length"))
		return b
	}
	c.Branches, c.Damper.Points, c.Duty.InletSP = nil, nil, unit.Pressure(math.NaN())
	var mains []string
	for i := range rapid.IntRange(0, 3).Draw(t, "mains") {
		into := ""
		if i > 0 {
			into = rapid.SampledFrom(append([]string{""}, mains...)).Draw(t, "main into")
		}
		mains = append(mains, fmt.Sprintf("main %d", i))
		c.Branches = append(c.Branches, pipe(mains[i], into))
	}
	hoods := rapid.IntRange(max(2, 2*len(mains)), 9).Draw(t, "hoods")
	sum := 0.0
	for i := range hoods {
		into := rapid.SampledFrom(append([]string{""}, mains...)).Draw(t, "hood into")
		if i < len(mains) { // each main has a hood of its own
			into = mains[i]
		}
		b := pipe(fmt.Sprintf("hood %d", i), into)
		b.Flow = unit.Flow(rapid.Float64Range(0.1, 1).Draw(t, "flow"))
		sum += float64(b.Flow)
		c.Branches = append(c.Branches, b)
	}
	for i := range c.Branches {
		c.Branches[i].Flow *= c.Duty.Flow / unit.Flow(sum)
	}
	for i, q := range c.tree().flow {
		v := rapid.Float64Range(14, 25).Draw(t, "velocity")
		c.Branches[i].Diameter = unit.Length(math.Sqrt(4 * q / v / math.Pi))
	}
}

// TestAirIsConserved: with whatever gates shut a main carries what joins it, and the ducts at the collector carry it all.
func TestAirIsConserved(t *testing.T) {
	base := dc1(t)
	rapid.Check(t, func(t *rapid.T) {
		c := *base
		anyDucts(t, &c)
		var shut []string
		for _, b := range c.Branches {
			if rapid.IntRange(0, 3).Draw(t, "gate of "+b.Name) == 0 {
				shut = append(shut, b.Name)
			}
		}
		d, err := c.Ducts(shut...)
		if err != nil {
			t.Skip("nothing is left open")
		}
		for _, g := range d.Gaps() {
			if g.Key == "branch" {
				t.Fatalf("the network was not solved: %s", g.Text)
			}
		}
		list, tr, all := d.At(c.Duty.Flow), c.tree(), 0.0
		for i, b := range list {
			sum := 0.0
			for _, f := range tr.feeders[i] {
				sum += float64(list[f].Flow)
			}
			if !tr.hood(i) && math.Abs(sum-float64(b.Flow)) > 1e-9 {
				t.Fatalf("%s carries %g of the %g m3/s that join it", b.Name, float64(b.Flow), sum)
			}
			if b.Shut != (b.Flow == 0) || b.Flow < 0 {
				t.Fatalf("%s: shut %v and %g m3/s", b.Name, b.Shut, float64(b.Flow))
			}
			if tr.next[i] == -1 {
				all += float64(b.Flow)
			}
		}
		if math.Abs(all-float64(c.Duty.Flow)) > 1e-9 {
			t.Fatalf("%g m3/s reach the collector of %g", all, float64(c.Duty.Flow))
		}
	})
}

// TestShuttingAGate: the fan moves less, every hood left open draws more than before, and the ducts resist more than with any
// gate fewer shut.
func TestShuttingAGate(t *testing.T) {
	base := dc1(t)
	rapid.Check(t, func(t *rapid.T) {
		c := *base
		anyDucts(t, &c)
		p, err := c.AirPath()
		if err != nil {
			t.Fatal(err)
		}
		cond := p.Conditions()
		cond.FilterDP = unit.Pressure(rapid.Float64Range(100, 1200).Draw(t, "filters"))
		var shut []string
		var before OperatingPoint
		var list []BranchVelocity
		extra := -1.0
		for _, i := range rapid.Permutation(hoodsOf(&c)).Draw(t, "order") {
			d, err := c.Ducts(shut...)
			if err != nil {
				t.Fatal(err)
			}
			o, err := p.Point(d.under(cond))
			if err != nil || o.Rising {
				break // left of the peak less air can mean less pressure
			}
			if extra >= 0 && (o.Flow >= before.Flow || d.Extra() <= extra) {
				t.Fatalf("shut %v: %g m3/s after %g, extra resistance %g after %g", shut, float64(o.Flow), float64(before.Flow), d.Extra(), extra)
			}
			now := d.At(o.HoodFlow)
			for k, b := range now {
				if list != nil && c.tree().hood(k) && !b.Shut && b.Velocity <= list[k].Velocity*(1-1e-9) {
					t.Fatalf("shut %v: %s from %g to %g m/s", shut, b.Name, float64(list[k].Velocity), float64(b.Velocity))
				}
			}
			before, list, extra = o, now, d.Extra()
			shut = append(shut, c.Branches[i].Name)
			if len(shut) == len(hoodsOf(&c)) {
				break
			}
		}
	})
}

// hoodsOf are the branches with hoods.
func hoodsOf(c *Collector) []int {
	var out []int
	for i, t := 0, c.tree(); i < len(c.Branches); i++ {
		if t.hood(i) {
			out = append(out, i)
		}
	}
	return out
}

// TestOrderOfBranchesDoesNotMatter, nor whether a main comes before those that join it.
func TestOrderOfBranchesDoesNotMatter(t *testing.T) {
	base := joinery(t)
	rapid.Check(t, func(t *rapid.T) {
		c := *base
		gate := c.Branches[rapid.SampledFrom(hoodsOf(&c)).Draw(t, "gate")].Name
		want, err := c.Ducts(gate)
		if err != nil {
			t.Fatal(err)
		}
		a := flows(want.At(c.Duty.Flow))
		c.Branches = rapid.Permutation(slices.Clone(c.Branches)).Draw(t, "order")
		got, err := c.Ducts(gate)
		if err != nil {
			t.Fatal(err)
		}
		b := flows(got.At(c.Duty.Flow))
		for name := range a {
			if math.Abs(a[name]-b[name]) > 1e-9 {
				t.Fatalf("%s: %g and %g m3/s", name, a[name], b[name])
			}
		}
		if math.Abs(got.Extra()-want.Extra()) > 1e-8 {
			t.Fatalf("extra resistance %g and %g", got.Extra(), want.Extra())
		}
	})
}

// TestAlikeBranchesShareAlike: where all hoods are alike and join alike, the network shares as the design flows do.
func TestAlikeBranchesShareAlike(t *testing.T) {
	base := dc1(t)
	rapid.Check(t, func(t *rapid.T) {
		c := *base
		n := rapid.IntRange(2, 8).Draw(t, "hoods")
		into := ""
		c.Branches = nil
		if rapid.Bool().Draw(t, "main") {
			m := NewBranch()
			into, m.Name, m.Diameter, m.Length = "main", "main", 0.36, 5
			c.Branches = append(c.Branches, m)
		}
		for i := range n {
			b := NewBranch()
			b.Name, b.Into, b.Length, b.Flow = fmt.Sprintf("hood %d", i), into, 4, c.Duty.Flow/unit.Flow(n)
			b.Diameter = unit.Length(0.36 / math.Sqrt(float64(n)))
			c.Branches = append(c.Branches, b)
		}
		d, err := c.Ducts("hood 0")
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range d.At(c.Duty.Flow)[len(c.Branches)-n+1:] {
			if math.Abs(float64(b.Flow*unit.Flow(n-1)/c.Duty.Flow)-1) > 1e-9 {
				t.Fatalf("%s of %d draws %g of %g m3/s", b.Name, n, float64(b.Flow), float64(c.Duty.Flow))
			}
		}
		most := 1/math.Pow(1-1/float64(n), 2) - 1
		if d.Extra() <= 0 || d.Extra() > most*1.001 {
			t.Fatalf("one gate of %d: extra resistance %g, at most %g", n, d.Extra(), most)
		}
	})
}
