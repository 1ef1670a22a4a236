package collector

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"dustwright/duct"
	"dustwright/unit"
)

// joinery is a collector with mains.
func joinery(t testing.TB) *Collector {
	t.Helper()
	c, err := Load("testdata/mains.toml")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// cfm is a flow of the tests' tables.
const cfm = unit.CubicFoot / 60

func ductsOf(t testing.TB, c *Collector, shut ...string) *Ducts {
	t.Helper()
	d, err := c.Ducts(shut...)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// flows are the flows of branches by name.
func flows(list []BranchVelocity) map[string]float64 {
	out := map[string]float64{}
	for _, b := range list {
		out[b.Name] = float64(b.Flow)
	}
	return out
}

// TestOpenGatesCarryDesign: what the file says is balanced at commissioning comes back, mains carry what joins them, and another
// total flow is shared alike.
func TestOpenGatesCarryDesign(t *testing.T) {
	c := joinery(t)
	d := ductsOf(t, c)
	for _, k := range []float64{1, 0.6, 1.4} {
		got := flows(d.At(unit.Flow(k) * c.Duty.Flow))
		for name, want := range map[string]float64{"main": 4200, "machine hall": 2200, "panel saw": 1400, "sander": 800, "bench hall": 2000, "router": 1300, "lathe": 700} {
			near(t, name, got[name], k*want*cfm, 1e-12)
		}
	}
	if d.Extra() != 0 || d.Gaps() != nil {
		t.Errorf("with all gates open: extra %g, gaps %v", d.Extra(), d.Gaps())
	}
}

// TestShutGateByHand: without friction and with equal hoods the network can be worked on paper. Three hoods of R each, two of
// them behind a main of r; the third joins at the collector.
func TestShutGateByHand(t *testing.T) {
	c := dc1(t)
	leg := func(name, into string, in, feet, flow float64) Branch {
		b := NewBranch()
		b.Name, b.Into, b.Diameter, b.Length, b.Flow = name, into, unit.Length(in*unit.Inch), unit.Length(feet*unit.Foot), unit.Flow(flow*cfm)
		return b
	}
	c.Branches = []Branch{leg("main", "", 12, 40, math.NaN()), leg("one", "main", 8, 10, 1400), leg("two", "main", 8, 10, 1400), leg("three", "", 8, 10, 1400)}
	d := ductsOf(t, c, "one")
	a := c.siteDuctAir()
	main := c.segment(0)
	main.K = assumedElbows
	suction := -float64(c.Duty.InletSP)
	vp := func(q unit.Flow, i int) float64 {
		v := float64(q) / float64(c.Branches[i].Area())
		return float64(a.Density) * v * v / 2
	}
	q, whole := 1400*cfm, unit.Flow(2*1400*cfm)
	before := suction - float64(main.Loss(whole, a)) - vp(whole, 0) // lost by "one" and "two" before they join
	// Lost in "two" now, as a total pressure: what is left of the suction; bisect for the flows that add up.
	lo, hi := suction, 9*suction
	var two, three float64
	for range 200 {
		s := (lo + hi) / 2
		three = q * math.Sqrt(s/suction)
		x, y := 0.0, 9*q
		for range 200 {
			two = (x + y) / 2
			if before*two*two/(q*q)+float64(main.Loss(unit.Flow(two), a))+vp(unit.Flow(two), 0) > s {
				y = two
			} else {
				x = two
			}
		}
		if two+three > 3*q {
			hi = s
		} else {
			lo = s
		}
	}
	got := flows(d.At(unit.Flow(3 * q)))
	near(t, "two", got["two"], two, 2e-3) // friction goes a little less than with the square
	near(t, "main", got["main"], two, 2e-3)
	near(t, "three", got["three"], three, 2e-3)
	near(t, "resistance", 1+d.Extra(), lo/suction, 5e-3)
	if got["one"] != 0 || !d.At(1)[1].Shut || d.At(1)[1].Low {
		t.Errorf("the shut branch: %+v", d.At(1)[1])
	}
}

// TestGatesAreRefused: what cannot be shut is told in a sentence.
func TestGatesAreRefused(t *testing.T) {
	c := joinery(t)
	for _, tt := range []struct {
		shut []string
		want string
	}{
		{[]string{"sandr"}, `there is no branch "sandr"; did you mean sander`},
		{[]string{"main"}, "no hood is left open"},
		{[]string{"machine hall", "router", "lathe"}, "no hood is left open"},
	} {
		if _, err := c.Ducts(tt.shut...); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("shut %v: %v, want %q", tt.shut, err, tt.want)
		}
	}
	c.Branches = nil
	if _, err := c.Ducts("sander"); err == nil || !strings.Contains(err.Error(), "has no [[branch]]") {
		t.Errorf("no branches: %v", err)
	}
	if got := ductsOf(t, c).At(1); got != nil {
		t.Errorf("no branches, yet %v", got)
	}
}

// TestMainsGate: a main's gate shuts off all behind it, and a main whose hoods are all shut carries nothing.
func TestMainsGate(t *testing.T) {
	c := joinery(t)
	a := ductsOf(t, c, "bench hall").At(c.Duty.Flow)
	b := ductsOf(t, c, "router", "lathe").At(c.Duty.Flow)
	for i := range a {
		if a[i].Shut != b[i].Shut || math.Abs(float64(a[i].Flow-b[i].Flow)) > 1e-9 {
			t.Errorf("%s: %+v, by its hoods %+v", a[i].Name, a[i], b[i])
		}
	}
	if slowest, ok := Slowest(a); !ok || slowest.Shut {
		t.Errorf("the slowest is %+v", slowest)
	}
}

// TestUnknownSizesAreShared: where the network can't be built the air is shared as by design flow, and that is said.
func TestUnknownSizesAreShared(t *testing.T) {
	for name, change := range map[string]func(*Collector){
		"diameter":     func(c *Collector) { c.Branches[2].Diameter = unit.Length(math.NaN()) },
		"main's":       func(c *Collector) { c.Branches[1].Length = unit.Length(math.NaN()) },
		"suction":      func(c *Collector) { c.Duty.InletSP = 0 },
		"small":        func(c *Collector) { c.Duty.InletSP = -0.5 * unit.InchWater },
		"no main's":    func(c *Collector) { c.Branches[0].Diameter = unit.Length(math.NaN()) },
		"hood's short": func(c *Collector) { c.Branches[2].Length = unit.Length(math.NaN()) },
	} {
		c := joinery(t)
		change(c)
		d := ductsOf(t, c, "lathe")
		got := flows(d.At(c.Duty.Flow))
		shared := math.Abs(got["panel saw"]/(4200*cfm*1400/3500)-1) < 1e-12
		if want := name != "hood's short"; shared != want || (d.Gaps() != nil) != want {
			t.Errorf("%s: shared %v, gaps %v", name, shared, d.Gaps())
		}
		if d.Extra() <= 0 {
			t.Errorf("%s: a shut gate leaves the resistance at %g", name, d.Extra())
		}
	}
	c := dc1(t)
	c.Branches[0].Flow = unit.Flow(math.NaN())
	d := ductsOf(t, c, "table, zone 2")
	if d.Extra() != 0 || len(d.Gaps()) == 0 {
		t.Errorf("a hood without design flow: extra %g, gaps %v", d.Extra(), d.Gaps())
	}
}

// TestShutGateMovesThePoint: less air in all, more in the branch left, and a width that reaches up to where half of the loss lies in a
// common duct.
func TestShutGateMovesThePoint(t *testing.T) {
	c := dc1(t)
	p := pathOf(t)
	open, err := c.Estimate(p.Conditions(), Given{})
	if err != nil {
		t.Fatal(err)
	}
	d := ductsOf(t, c, "table, zone 2")
	near(t, "resistance of one duct for two", 1+d.Extra(), 4, 1e-2) // half as wide, squared; friction a little less
	shut, err := c.EstimateWith(p.Conditions(), Given{}, d)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "all open", float64(shut.AllOpen), float64(open.Flow), 1e-12)
	if shut.Flow >= open.Flow || shut.Branches[0].Flow <= open.Branches[0].Flow || shut.Branches[0].Flow != shut.Flow {
		t.Errorf("open %v with %v in the branch, shut %v with %v", open.Flow, open.Branches[0].Flow, shut.Flow, shut.Branches[0].Flow)
	}
	cond := p.Conditions()
	cond.DuctExtra = d.extraLo
	half, err := p.Point(cond)
	if err != nil {
		t.Fatal(err)
	}
	if shut.High < half.Flow || !slices.ContainsFunc(shut.Gaps, func(g Gap) bool { return g.Key == "branch.into" }) {
		t.Errorf("the width ends at %v, half in a common duct gives %v; gaps %v", shut.High, half.Flow, shut.Gaps)
	}
	r := NewTrimRequest()
	r.Shut = []string{"table, zone 2"}
	tr, err := c.Trim(r)
	if err == nil {
		t.Errorf("one duct of 10 in. cannot have 4200 cfm at this fan, yet the damper goes to %v", tr.New.Open)
	}
	r.Flow = 2500 * cfm
	tr, err = c.Trim(r)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "velocity held", float64(tr.Branches[0].Velocity), float64(r.Flow)/float64(c.Branches[0].Area()), 1e-9)
	if tr.New.Open >= 0.52 || tr.Branches[1].Flow != 0 || len(tr.Shut) != 1 {
		t.Errorf("open %v, branches %+v, shut %v", tr.New.Open, tr.Branches, tr.Shut)
	}
}

// TestDuctFindings: what the ducts' figures contradict.
func TestDuctFindings(t *testing.T) {
	if got := ids(joinery(t).Check()); !slices.Equal(got, []string{"fan-short", "combustible"}) {
		t.Fatalf("the joinery shows %v", got)
	}
	for _, tt := range []struct {
		id     string
		weight Weight
		change func(*Collector)
	}{
		{"branch-sum", Odd, func(c *Collector) { c.Branches[1].Flow *= 1.2 }},
		{"duct-velocity", Wrong, func(c *Collector) { c.Branches[4].Diameter *= 1.2 }},
		{"duct-suction", Odd, func(c *Collector) { c.Duty.InletSP /= 3 }},
		{"hood-suction", Wrong, func(c *Collector) { c.Branches[2].HoodSP /= 3 }},
		{"hood-suction", Wrong, func(c *Collector) { c.Branches[2].HoodSP *= 4 }},
	} {
		c := joinery(t)
		tt.change(c)
		if !slices.ContainsFunc(c.Check(), func(f Finding) bool { return f.ID == tt.id && f.Weight == tt.weight }) {
			t.Errorf("%s (%s) not found among %v", tt.id, tt.weight, ids(c.Check()))
		}
	}
}

// TestInletFromMains: without a measured suction the branches' own need counts the mains on the way.
func TestInletFromMains(t *testing.T) {
	c := joinery(t)
	a := c.siteDuctAir()
	got, unknown := c.branchLoss(a)
	want := 0.0
	for _, i := range []int{0, 1, 2} { // main, machine hall, panel saw
		s := c.segment(i)
		s.K = assumedElbows
		want += float64(s.Loss(unit.Flow(c.tree().flow[i]), a))
	}
	for i, k := range map[int]float64{0: 1, 2: assumedEntry} {
		want += k * float64(duct.HoodStatic(unit.Flow(c.tree().flow[i]), duct.Round(c.Branches[i].Diameter), 0, a.Density))
	}
	if got < want-1e-9 || got > 1.2*want || !(unknown > 0 && unknown < got) {
		t.Errorf("inlet suction %g Pa give or take %g, the panel saw's way alone takes %g", got, unknown, want)
	}
	// Branches that all end at the collector: the need of the worst, as one duct.
	one := dc1(t)
	got, _ = one.branchLoss(a)
	s := duct.Segment{Section: duct.Round(one.Branches[0].Diameter), Length: one.Branches[0].Length, Roughness: duct.Roughnesses()[0].Roughness, K: assumedElbows}
	near(t, "without mains", got, float64(s.Loss(one.Branches[0].Flow, a)+duct.HoodStatic(one.Branches[0].Flow, s.Section, assumedEntry, a.Density)), 1e-12)
}

// TestEntryByName: the entry loss may be written as the name of a hood, and is printed as a number.
func TestEntryByName(t *testing.T) {
	data, err := os.ReadFile("testdata/mains.toml")
	if err != nil {
		t.Fatal(err)
	}
	c, err := Parse("mains.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flanged", c.Branches[6].Entry, 0.49, 1e-12)
	if text := c.TOML(unit.US); !strings.Contains(text, "\nentry = 0.49\n") || !strings.Contains(text, "\ninto = \"bench hall\"\n") {
		t.Errorf("printed as\n%s", text[strings.Index(text, "[[branch]]"):])
	}
	if err := c.Set("branch.7.entry", "plain duct end"); err != nil || c.Branches[6].Entry != 0.93 {
		t.Errorf("Set: %v, %g", err, c.Branches[6].Entry)
	}
	if err := c.Set("branch.7.into", "mian"); err != nil {
		t.Fatal(err)
	}
	if err := c.Validate(); err == nil || !strings.Contains(err.Error(), `branch.7.into: there is no branch called "mian" for it to join; did you mean main`) {
		t.Errorf("Validate: %v", err)
	}
}
