package duct

import (
	"errors"
	"math"
	"strings"
	"testing"

	"dustwright/unit"
)

var roomAir = Air{Density: stdAir, Viscosity: muRoom}

// leg is a branch with loss by factor only, so that its flow can be worked by hand.
func leg(name, into string, diameter unit.Length, k float64) Branch {
	return Branch{Name: name, Into: into, Duct: Segment{Section: Round(diameter), K: k, Roughness: 0.15e-3}}
}

func TestNetworkWorkedByHand(t *testing.T) {
	// One duct: suction = (1 + K + Fh) VP.
	one := leg("one", "", 0.2, 0.5)
	one.HoodFh = 0.5
	n, err := NewNetwork([]Branch{one})
	if err != nil {
		t.Fatal(err)
	}
	r, err := n.Flows(200, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	vp := 200.0 / 2
	q := math.Sqrt(2*vp/float64(stdAir)) * math.Pi / 4 * 0.04
	near(t, "one duct", float64(r.Total), q, 1e-12)
	near(t, "hood static", float64(r.Branches[0].HoodStatic), 1.5*vp, 1e-12)
	near(t, "loss", float64(r.Branches[0].Loss), vp, 1e-12)
	near(t, "static at its end", float64(r.Branches[0].Static), 200, 1e-12)

	// Two equal branches into a trunk of twice the area: velocities are equal, so
	// suction = VP (K branch + K trunk + 1).
	tree := []Branch{leg("trunk", "", 0.2*math.Sqrt2, 1), leg("left", "trunk", 0.2, 2), leg("right", "trunk", 0.2, 2)}
	n, err = NewNetwork(tree)
	if err != nil {
		t.Fatal(err)
	}
	r, err = n.Flows(400, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range r.Branches {
		near(t, b.Name, float64(b.VelocityPressure), 100, 1e-11)
	}
	near(t, "flow of the trunk", float64(r.Branches[0].Flow), 2*float64(r.Branches[1].Flow), 1e-12)
	if !math.IsNaN(float64(r.Branches[0].HoodStatic)) {
		t.Errorf("the trunk has a hood static pressure: %g", float64(r.Branches[0].HoodStatic))
	}
	near(t, "static of a branch at the junction", float64(r.Branches[1].Static), 300, 1e-11)

	// With one gate shut the other takes twice the velocity pressure share it needs:
	// VP trunk is a quarter of the branch's, suction = VP (2 + (1+1)/4).
	tree[2].Closed = true
	n, err = NewNetwork(tree)
	if err != nil {
		t.Fatal(err)
	}
	r, err = n.Flows(400, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the open branch", float64(r.Branches[1].VelocityPressure), 160, 1e-11)
	if r.Branches[2].Flow != 0 || r.Branches[2].Velocity != 0 {
		t.Errorf("the shut branch flows: %+v", r.Branches[2])
	}
}

func TestNetworkAtATotalFlow(t *testing.T) {
	n, err := NewNetwork(workshop())
	if err != nil {
		t.Fatal(err)
	}
	want := unit.Flow(4200 * cfm)
	r, err := n.FlowsAt(want, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "total", float64(r.Total), float64(want), 1e-10)
	if v := float64(r.Branches[1].Velocity) / fpm; v < 3000 || v > 5000 {
		t.Errorf("zone 1 runs at %.0f fpm", v)
	}
	if r.Branches[0].Regime != Turbulent {
		t.Errorf("trunk regime %v", r.Branches[0].Regime)
	}
}

// workshop is a trunk with two table zones, a grinder further out and a floor sweep on it.
func workshop() []Branch {
	pipe := func(name, into string, in, feet, k, fh float64) Branch {
		return Branch{Name: name, Into: into, HoodFh: fh,
			Duct: Segment{Section: Round(inches(in)), Length: unit.Length(feet * unit.Foot), Roughness: 0.15e-3, K: k}}
	}
	return []Branch{
		pipe("trunk", "", 14, 30, 0.4, 0),
		pipe("zone 1", "trunk", 10, 32, 0.42, 0.49),
		pipe("side", "trunk", 10, 24, 0.42, 0),
		pipe("zone 2", "side", 9, 12, 0.3, 0.49),
		pipe("grinder", "side", 4, 20, 0.8, 0.65),
		pipe("floor sweep", "grinder", 3, 5, 0.2, 0.93),
		pipe("wheel", "grinder", 4, 5, 0.2, 0.65),
	}
}

func TestNetworkFaults(t *testing.T) {
	good := leg("a", "", 0.2, 1)
	for name, c := range map[string]struct {
		branches []Branch
		says     string
	}{
		"nothing":       {nil, "there is no branch"},
		"no name":       {[]Branch{leg("", "", 0.2, 1)}, "needs a name"},
		"twice":         {[]Branch{good, good}, `branch 2: every branch needs a name of its own, not "a"`},
		"unknown trunk": {[]Branch{leg("trunk", "", 0.2, 1), leg("b", "trunc", 0.2, 1)}, `b joins "trunc", which is not there; did you mean "trunk"`},
		"ring":          {[]Branch{good, leg("b", "c", 0.2, 1), leg("c", "b", 0.2, 1)}, "ring"},
		"itself":        {[]Branch{leg("b", "b", 0.2, 1)}, "ring"},
		"no size":       {[]Branch{leg("b", "", 0, 1)}, "either a diameter or a width"},
		"no loss":       {[]Branch{leg("b", "", 0.2, 0)}, "nothing would limit its flow"},
		"negative K":    {[]Branch{leg("b", "", 0.2, -1)}, "not negative"},
		"NaN K":         {[]Branch{leg("b", "", 0.2, math.NaN())}, "must be known"},
		"rough":         {[]Branch{{Name: "b", Duct: Segment{Section: Round(0.1), K: 1, Roughness: 0.006}}}, "roughness 6 mm"},
	} {
		_, err := NewNetwork(c.branches)
		if !errors.Is(err, ErrNetwork) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want ErrNetwork saying %q", name, err, c.says)
		}
	}
	n, err := NewNetwork([]Branch{good})
	if err != nil {
		t.Fatal(err)
	}
	for _, suction := range []unit.Pressure{0, -5, unit.Pressure(math.NaN()), unit.Pressure(math.Inf(1))} {
		if _, err := n.Flows(suction, roomAir); !errors.Is(err, ErrNoFlow) {
			t.Errorf("suction %g: %v", float64(suction), err)
		}
	}
	if _, err := n.Flows(100, Air{}); !errors.Is(err, ErrNoFlow) {
		t.Errorf("no air: %v", err)
	}
	if _, err := n.FlowsAt(-1, roomAir); !errors.Is(err, ErrNoFlow) {
		t.Errorf("negative flow: %v", err)
	}
	if _, err := n.FlowsAt(1, Air{}); !errors.Is(err, ErrNoFlow) {
		t.Errorf("flow of no air: %v", err)
	}
	good.Closed = true
	n, err = NewNetwork([]Branch{good})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := n.Flows(100, roomAir); !errors.Is(err, ErrNoFlow) || !strings.Contains(err.Error(), "shut") {
		t.Errorf("all shut: %v", err)
	}
}

func TestFitEntries(t *testing.T) {
	branches := workshop()
	design := map[string]float64{"zone 1": 2100, "zone 2": 1700, "floor sweep": 120, "wheel": 280}
	for i := range branches {
		branches[i].Design = unit.Flow(design[branches[i].Name] * cfm)
	}
	fitted, err := FitEntries(branches, 7*inwg, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	n, err := NewNetwork(fitted)
	if err != nil {
		t.Fatal(err)
	}
	r, err := n.Flows(7*inwg, roomAir)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range r.Branches {
		if want, ok := design[b.Name]; ok {
			near(t, b.Name, float64(b.Flow)/cfm, want, 1e-9)
		}
	}
	near(t, "all", float64(r.Total)/cfm, 4200, 1e-9)
	if branches[1].HoodFh != 0.49 {
		t.Errorf("the given branches were changed")
	}
	if _, err := FitEntries(branches, 1*inwg, roomAir); !errors.Is(err, ErrStarved) {
		t.Errorf("one inch for that flow: %v, want ErrStarved", err)
	}
	branches[1].Design = unit.Flow(math.NaN())
	if _, err := FitEntries(branches, 7*inwg, roomAir); !errors.Is(err, ErrNetwork) || !strings.Contains(err.Error(), "zone 1 needs its design flow") {
		t.Errorf("no design flow: %v", err)
	}
	if _, err := FitEntries(nil, 7*inwg, roomAir); !errors.Is(err, ErrNetwork) {
		t.Errorf("no branches: %v", err)
	}
}

func BenchmarkNetwork(b *testing.B) {
	n, err := NewNetwork(workshop())
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := n.Flows(800, roomAir); err != nil {
			b.Fatal(err)
		}
	}
}
