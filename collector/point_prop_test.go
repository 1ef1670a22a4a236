package collector

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// anyConditions draws conditions of a machine that may have faults.
func anyConditions(t *rapid.T, p *AirPath) Conditions {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	c := p.Conditions()
	c.FilterDP = unit.Pressure(f("filter dP", 50, 3000))
	c.AfterFilterDP = unit.Pressure(f("after-filter dP", 0, 900))
	c.Damper = unit.Share(f("damper", 0.25, 1))
	c.Density = unit.Density(f("density", 0.9, 1.35))
	c.Speed *= unit.Speed(f("speed", 0.8, 1.15))
	c.DuctExtra, c.FanLoss = f("duct extra", 0, 2), f("fan loss", 0, 0.3)
	c.LeakArea = unit.Area(f("leak", 0, 0.02))
	return c
}

func pathOf(t testing.TB) *AirPath {
	t.Helper()
	p, err := dc1(t).AirPath()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestLossesSumToTheFan: what the fan gives at the flow found is what the parts take, and there is no other flow at which
// that is so.
func TestLossesSumToTheFan(t *testing.T) {
	p := pathOf(t)
	rapid.Check(t, func(t *rapid.T) {
		c := anyConditions(t, p)
		o, err := p.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		if fan := p.fanPressure(float64(o.Flow), c); math.Abs(fan-float64(o.Fan)) > 1e-4*fan {
			t.Fatalf("the fan gives %g Pa, the parts take %g Pa", fan, float64(o.Fan))
		}
		r, _ := p.resistances(c)
		ratio := float64(c.Speed) / p.speed
		crossings, before := 0, true
		for i := range 400 {
			q := p.knots[len(p.knots)-1] * ratio * float64(i) / 400
			above := p.fanPressure(q, c) > r.at(q)
			if above != before {
				crossings++
			}
			before = above
		}
		if crossings != 1 {
			t.Fatalf("fan and system cross %d times", crossings)
		}
	})
}

// TestFlowMovesTheRightWay: one thing changes, and the flow goes where it must.
func TestFlowMovesTheRightWay(t *testing.T) {
	p := pathOf(t)
	changes := map[string]struct {
		change func(*Conditions)
		sign   float64
	}{
		"filters dirtier":      {func(c *Conditions) { c.FilterDP *= 1.1 }, -1},
		"after-filter dirtier": {func(c *Conditions) { c.AfterFilterDP += 50 }, -1},
		"damper opened":        {func(c *Conditions) { c.Damper = min(1, c.Damper+0.02) }, 1},
		"denser air":           {func(c *Conditions) { c.Density *= 1.05 }, 1}, // the fan gains on the filters, whose dP stays
		"more viscous air":     {func(c *Conditions) { c.Viscosity *= 1.05 }, -1},
		"fan faster":           {func(c *Conditions) { c.Speed *= 1.05 }, 1},
		"duct blocked":         {func(c *Conditions) { c.DuctExtra += 0.3 }, -1},
		"fan weaker":           {func(c *Conditions) { c.FanLoss += 0.05 }, -1},
		"leak":                 {func(c *Conditions) { c.LeakArea += 0.01 }, 1},
	}
	rapid.Check(t, func(t *rapid.T) {
		c := anyConditions(t, p)
		name := rapid.SampledFrom(keys(changes)).Draw(t, "change")
		before, err := p.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		if name == "damper opened" && c.Damper == 1 {
			return
		}
		changed := c
		changes[name].change(&changed)
		after, err := p.Point(changed)
		if err != nil {
			t.Fatal(err)
		}
		if d := float64(after.Flow-before.Flow) * changes[name].sign; d <= 0 {
			t.Fatalf("%s: flow from %g to %g m3/s", name, float64(before.Flow), float64(after.Flow))
		}
		if name == "leak" && after.HoodFlow >= before.HoodFlow {
			t.Fatalf("a leak brings the hoods %g instead of %g m3/s", float64(after.HoodFlow), float64(before.HoodFlow))
		}
	})
}

func keys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// TestFanLawsCarryThePoint: where everything loses with the square of the flow, the flow goes with the speed, the pressure
// with its square and the density, and the power with its cube.
func TestFanLawsCarryThePoint(t *testing.T) {
	p := pathOf(t)
	rapid.Check(t, func(t *rapid.T) {
		c := p.Conditions()
		c.FilterDP, c.AfterFilterDP = 0, 0
		c.Damper = unit.Share(rapid.Float64Range(0.25, 0.9).Draw(t, "damper"))
		n, d := rapid.Float64Range(0.5, 1.5).Draw(t, "speed"), rapid.Float64Range(0.6, 1.3).Draw(t, "density")
		a, err := p.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		c.Speed, c.Density = c.Speed*unit.Speed(n), c.Density*unit.Density(d)
		b, err := p.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		same := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-6*want {
				t.Fatalf("%s %g, want %g", what, got, want)
			}
		}
		same("flow", float64(b.Flow), float64(a.Flow)*n)
		same("pressure", float64(b.Fan), float64(a.Fan)*n*n*d)
		same("power", float64(b.Power), float64(a.Power)*n*n*n*d)
	})
}

// TestReadingAndPointAgree: the dP an operating point shows leads back to it.
func TestReadingAndPointAgree(t *testing.T) {
	p := pathOf(t)
	rapid.Check(t, func(t *rapid.T) {
		c := anyConditions(t, p)
		o, err := p.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		back, at, err := p.PointFromReading(c, o.Filters)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(back.Flow/o.Flow)-1) > 1e-5 || math.Abs(float64(at/c.FilterDP)-1) > 1e-5 {
			t.Fatalf("flow %g, dP at design flow %g Pa; want %g and %g", float64(back.Flow), float64(at), float64(o.Flow), float64(c.FilterDP))
		}
	})
}

// TestOrderOfPointsDoesNotMatter: the curves are the same however their points are listed.
func TestOrderOfPointsDoesNotMatter(t *testing.T) {
	c := dc1(t)
	want, err := c.Point(pathOf(t).Conditions())
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(c.Fan.Curve)
	slices.Reverse(c.Fan.Power)
	slices.Reverse(c.Damper.Points)
	got, err := c.Point(pathOf(t).Conditions())
	if err != nil || got != want {
		t.Errorf("got %+v (%v), want %+v", got, err, want)
	}
}
