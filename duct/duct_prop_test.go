package duct

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

func TestFrictionLossRisesWithFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := rapid.Float64Range(0, 0.05).Draw(t, "e")
		re := math.Pow(10, rapid.Float64Range(0, 8).Draw(t, "log re"))
		up := re * (1 + math.Pow(10, rapid.Float64Range(-6, 0).Draw(t, "log step")))
		low, _ := FrictionFactor(re, e)
		high, _ := FrictionFactor(up, e)
		if !(high*up*up > low*re*re) {
			t.Fatalf("loss falls from Re %g (f %g) to %g (f %g)", re, low, up, high)
		}
		rougher, _ := FrictionFactor(re, math.Min(roughest, e*1.1+1e-6))
		if rougher < low-1e-15 {
			t.Fatalf("a rougher wall loses less at Re %g, e %g", re, e)
		}
		if re > turbulentStart {
			x := 1 / math.Sqrt(low)
			if r := x + 2*math.Log10(e/3.7+2.51*x/re); math.Abs(r) > 1e-12*x {
				t.Fatalf("Colebrook residual %g at Re %g, e %g", r, re, e)
			}
		}
	})
}

func TestLossScalesWithDensity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Segment{Section: Rect(unit.Length(rapid.Float64Range(0.05, 2).Draw(t, "w")), unit.Length(rapid.Float64Range(0.05, 2).Draw(t, "h"))),
			Length: unit.Length(rapid.Float64Range(0, 100).Draw(t, "l")), Roughness: 0.1e-3, K: rapid.Float64Range(0, 5).Draw(t, "k")}
		q := unit.Flow(rapid.Float64Range(1e-6, 10).Draw(t, "q"))
		light := Air{Density: unit.Density(rapid.Float64Range(0.5, 1.5).Draw(t, "rho")), Viscosity: muRoom}
		// Twice the density and viscosity is the same Reynolds number: twice the loss.
		dense := Air{Density: 2 * light.Density, Viscosity: 2 * light.Viscosity}
		a, b := float64(s.Loss(q, light)), float64(s.Loss(q, dense))
		if math.Abs(b-2*a) > 1e-12*math.Abs(b) {
			t.Fatalf("loss %g Pa, in air twice as dense and viscous %g", a, b)
		}
		if back := float64(s.Loss(-q, light)); back != -a {
			t.Fatalf("loss %g, reversed %g", a, back)
		}
		if denser := float64(s.Loss(q, Air{2 * light.Density, muRoom})); math.Abs(denser) < math.Abs(a) {
			t.Fatalf("denser air loses less: %g, %g", a, denser)
		}
	})
}

func TestHoodFlowThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Round(unit.Length(rapid.Float64Range(0.05, 1).Draw(t, "d")))
		fh := rapid.Float64Range(0, 3).Draw(t, "fh")
		rho := unit.Density(rapid.Float64Range(0.6, 1.5).Draw(t, "rho"))
		q := unit.Flow(rapid.Float64Range(1e-6, 10).Draw(t, "q"))
		back := FlowFromHoodStatic(HoodStatic(q, s, fh, rho), s, EntryCoefficient(fh), rho)
		if math.Abs(float64(back-q)) > 1e-12*float64(q) {
			t.Fatalf("%g m3/s came back as %g", float64(q), float64(back))
		}
	})
}

// anyTree draws a system of up to 12 branches, each joining an earlier one or the collector.
func anyTree(t *rapid.T) []Branch {
	m := rapid.IntRange(1, 12).Draw(t, "branches")
	tree := make([]Branch, m)
	for i := range tree {
		into := ""
		if i > 0 {
			if j := rapid.IntRange(-1, i-1).Draw(t, "into"); j >= 0 {
				into = tree[j].Name
			}
		}
		tree[i] = Branch{Name: "b" + strconv.Itoa(i), Into: into, HoodFh: rapid.Float64Range(0.04, 3).Draw(t, "fh"),
			Duct: Segment{Section: Round(unit.Length(rapid.Float64Range(0.05, 0.8).Draw(t, "d"))),
				Length: unit.Length(rapid.Float64Range(0, 40).Draw(t, "l")), Roughness: 0.15e-3, K: rapid.Float64Range(0, 3).Draw(t, "k")}}
	}
	return tree
}

func solved(t *rapid.T, tree []Branch, suction float64) NetworkFlow {
	n, err := NewNetwork(tree)
	if err != nil {
		t.Fatal(err)
	}
	r, err := n.Flows(unit.Pressure(suction), roomAir)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestNetworkConservesAndBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := anyTree(t)
		suction := math.Pow(10, rapid.Float64Range(0, 4).Draw(t, "log suction"))
		r := solved(t, tree, suction)
		into := map[string]float64{}
		total := 0.0
		for i, b := range r.Branches {
			if !(b.Flow > 0) {
				t.Fatalf("%s flows %g", b.Name, float64(b.Flow))
			}
			if tree[i].Into == "" {
				total += float64(b.Flow)
			}
			into[tree[i].Into] += float64(b.Flow)
		}
		if math.Abs(total-float64(r.Total)) > 1e-12*total {
			t.Fatalf("total %g, ducts at the collector %g", float64(r.Total), total)
		}
		loss := map[string]float64{"": suction}
		for i, b := range r.Branches { // feeders come after what they join
			if q, fed := into[b.Name]; fed && math.Abs(q-float64(b.Flow)) > 1e-12*q {
				t.Fatalf("%s carries %g, gets %g", b.Name, float64(b.Flow), q)
			}
			up := loss[tree[i].Into] - float64(b.Loss)
			if tree[i].Into == "" {
				up -= float64(b.VelocityPressure)
			}
			loss[b.Name] = up
			if _, fed := into[b.Name]; !fed && math.Abs(up) > 1e-8*suction {
				t.Fatalf("hood of %s is left with %g Pa of %g", b.Name, up, suction)
			}
		}
	})
}

func TestNetworkMovesTheRightWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := anyTree(t)
		suction := math.Pow(10, rapid.Float64Range(0.5, 4).Draw(t, "log suction"))
		before := solved(t, tree, suction)
		more := solved(t, tree, suction*1.1)
		for i := range tree {
			if !(more.Branches[i].Flow > before.Branches[i].Flow) {
				t.Fatalf("more suction, less flow in %s", tree[i].Name)
			}
		}
		i := rapid.IntRange(0, len(tree)-1).Draw(t, "throttled")
		throttled := append([]Branch(nil), tree...)
		throttled[i].Duct.K += rapid.Float64Range(0.5, 50).Draw(t, "extra")
		after := solved(t, throttled, suction)
		if !(after.Branches[i].Flow < before.Branches[i].Flow) {
			t.Fatalf("throttling %s raised its flow from %g to %g", tree[i].Name, float64(before.Branches[i].Flow), float64(after.Branches[i].Flow))
		}
		if float64(after.Total) > float64(before.Total)*(1+1e-10) {
			t.Fatalf("throttling %s raised the total", tree[i].Name)
		}
	})
}

func TestNetworkDoesNotMindTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := anyTree(t)
		shuffled := rapid.Permutation(tree).Draw(t, "order")
		a, b := solved(t, tree, 500), solved(t, shuffled, 500)
		flows := map[string]float64{}
		for _, x := range a.Branches {
			flows[x.Name] = float64(x.Flow)
		}
		for _, x := range b.Branches {
			// A hood at the end of a wide duct behind a narrow trunk lives on a small difference of large pressures.
			if math.Abs(float64(x.Flow)-flows[x.Name]) > 1e-9*(flows[x.Name]+float64(a.Total)) {
				t.Fatalf("%s: %g in one order, %g in another", x.Name, flows[x.Name], float64(x.Flow))
			}
		}
	})
}
