package sense

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/collector"
	"dustwright/unit"

	"pgregory.net/rapid"
)

// machine is a collector file with all that the airflow can be inferred from; figures of the trade's size.
func machine() *collector.Collector {
	c := usual().file()
	c.Duty.InletSP = -872
	c.Fan.Speed, c.Fan.Density = 59, 1.2
	for _, p := range [][3]float64{{0, 3612, 3880}, {0.708, 3686, 5200}, {1.18, 3562, 6410}, {1.65, 3238, 7700}, {1.98, 2939, 8650}, {2.36, 2466, 9400}, {2.83, 1694, 9770}, {3.3, 722, 9480}} {
		c.Fan.Curve = append(c.Fan.Curve, collector.FanPoint{Flow: unit.Flow(p[0]), Pressure: unit.Pressure(p[1])})
		c.Fan.Power = append(c.Fan.Power, collector.FanPower{Flow: unit.Flow(p[0]), Power: unit.Power(p[2])})
	}
	c.Fan.MotorPower, c.Fan.Voltage, c.Fan.FullLoadCurrent, c.Fan.MotorEfficiency, c.Fan.PowerFactor = 11190, 460, 18.5, 0.91, 0.86
	return c
}

// reading holds the channels given, in SI.
func reading(vs map[Channel]float64) Reading {
	r := noReading()
	for c, v := range vs {
		r[readingSlot[c]-1] = float32(v)
	}
	return r
}

// forward is what the channels show at a share of design flow with the filters at a dP, by the same
// laws read forward, in the air the figures are for.
func forward(a *airflow, share, dp float64) map[Channel]float64 {
	return map[Channel]float64{Flow: share * a.design, InletSP: -a.suction * share * share,
		FanPower: a.input.at(share), FanCurrent: a.amps.at(share), DP: dp}
}

func TestEveryWayFindsTheFlowItself(t *testing.T) {
	a := newAirflow(machine(), &History{})
	for _, share := range []float64{0.6, 0.8, 1, 1.1} {
		dp := a.pressure(share) - a.rest*share*share
		all := forward(a, share, dp)
		for _, c := range []Channel{Flow, InletSP, FanPower, FanCurrent, DP} {
			if math.IsNaN(all[c]) || c == DP && dp < 0 {
				continue
			}
			r := reading(map[Channel]float64{c: all[c]})
			got := a.explain(&r)
			tol := 0.01
			if c == DP { // it isn't known with which filters the damper was set
				tol = 0.02
			}
			near(t, c.String(), got.share, share, tol)
			if len(got.methods) != 1 || got.methods[0].Name == ByDesign {
				t.Errorf("%v at %v: inferred by %+v", c, share, got.methods)
			}
		}
	}
}

func TestWidthGrowsWithMissingChannels(t *testing.T) {
	a := newAirflow(machine(), &History{})
	all := forward(a, 0.95, a.pressure(0.95)-a.rest*0.95*0.95)
	width := 0.0
	for _, keep := range [][]Channel{{Flow, InletSP, FanPower, DP}, {Flow}, {InletSP, FanPower}, {InletSP}, {FanPower}, {DP}, {}} {
		some := map[Channel]float64{}
		for _, c := range keep {
			some[c] = all[c]
		}
		r := reading(some)
		if got := a.explain(&r).sigma(); got < width {
			t.Errorf("with %v the width is %.4f, less than %.4f with more", keep, got, width)
		} else {
			width = got
		}
	}
}

func TestAirDensityIsAccountedFor(t *testing.T) {
	a := newAirflow(machine(), &History{})
	hot := reading(map[Channel]float64{InletSP: -872, Temperature: 313.15})
	cold := reading(map[Channel]float64{InletSP: -872, Temperature: 273.15})
	near(t, "ratio hot to cold", a.infer(&hot).share/a.infer(&cold).share, math.Sqrt(313.15/273.15), 1e-6)
}

// Two ways that contradict each other make the answer wider than either.
func TestContradictionWidens(t *testing.T) {
	a := newAirflow(machine(), &History{})
	agree := reading(map[Channel]float64{Flow: 1.98, InletSP: -872})
	differ := reading(map[Channel]float64{Flow: 1.98, InletSP: -3000})
	if a, b := a.infer(&agree).sigma(), a.infer(&differ).sigma(); b < 2*a {
		t.Errorf("agreeing ±%.3f, contradicting ±%.3f", a, b)
	}
}

func TestNothingToGoBy(t *testing.T) {
	a := newAirflow(usual().file(), &History{})
	r := noReading()
	got := a.explain(&r)
	if got.share != 1 || got.sigma() < 0.1 || got.methods[0].Name != ByDesign {
		t.Errorf("nothing to go by: %+v", got)
	}
}

func TestFlowIndexStandsForDesignAtFirst(t *testing.T) {
	h := &History{}
	for i := range 200 {
		x := float32(7.0)
		if i > 100 {
			x = 3.5
		}
		h.Hours = append(h.Hours, Hour{Start: int64(i) * 3600, Running: 1, Has: 1 << FlowIndex, Stats: []Stat{{N: 1, Mean: x}}})
	}
	a := newAirflow(usual().file(), h)
	r := reading(map[Channel]float64{FlowIndex: 3.5})
	near(t, "share", a.infer(&r).share, 0.5, 1e-6)
}

func TestCombineIsAWeightedMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		var ms []FlowMethod
		lo, hi, best := math.Inf(1), math.Inf(-1), math.Inf(1)
		for range n {
			x, s := rapid.Float64Range(0.3, 1.5).Draw(t, "x"), rapid.Float64Range(0.01, 0.2).Draw(t, "s")
			ms = append(ms, FlowMethod{Share: x, Sigma: s, own: 0.6 * s, scale: 0.8 * s})
			lo, hi, best = min(lo, x), max(hi, x), min(best, s)
		}
		got := combine(ms)
		sum := 0.0
		for _, m := range ms {
			sum += m.Weight
		}
		if math.Abs(sum-1) > 1e-9 || got.share < lo-1e-9 || got.share > hi+1e-9 {
			t.Fatalf("weights sum to %v, share %v of %v..%v", sum, got.share, lo, hi)
		}
		if n == 1 && math.Abs(got.sigma()-ms[0].Sigma) > 1e-9 {
			t.Fatalf("one way alone keeps its width: %v, want %v", got.sigma(), ms[0].Sigma)
		}
	})
}

func TestTableReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, b := rapid.Float64Range(0.2, 3).Draw(t, "k"), rapid.Float64Range(-2, 2).Draw(t, "b")
		falling := rapid.Bool().Draw(t, "falling")
		sign := 1.0
		if falling {
			sign = -1
		}
		f := func(s float64) float64 { return b + sign*k*s*s }
		tab := tabulate(f, falling)
		s := rapid.Float64Range(lowest+0.01, highest-0.01).Draw(t, "s")
		got, slope := tab.inverse(f(s), falling)
		if math.Abs(got-s) > 0.01 || slope*sign <= 0 {
			t.Fatalf("share %v came back as %v, slope %v", s, got, slope)
		}
	})
}

// The drag found must be the rig's, whatever shows the airflow.
func TestDragAtDesignFlow(t *testing.T) {
	g := usual()
	g.stiff = 0.15
	s, tr := g.run(72, 60)
	rnd := rand.New(rand.NewPCG(2, 3))
	s.Col[InletSP] = make([]float64, s.Len())
	for i, q := range s.Col[Flow] {
		s.Col[InletSP][i] = -872*q*q/(g.design*g.design) + 3*rnd.NormFloat64()
	}
	c := g.file()
	c.Duty.InletSP = -872
	want := 0.0
	for _, x := range tr.after {
		want += x / float64(len(tr.after))
	}
	for _, keep := range [][]Channel{{DP, Flow, Cleaning}, {DP, InletSP, Cleaning}, {DP, InletSP}} {
		r := NewReducer(c)
		r.Add(s.only(keep...))
		f := At(r.History(), c, start.Add(72*3600e9))
		m := f.Get(DragAfter)
		near(t, "drag after cleaning", m.Now.Value, want*g.area/g.design, 0.03)
		if off := math.Abs(m.Now.Value - want*g.area/g.design); off > 3*math.Hypot(m.Now.Sigma, m.Shared*m.Now.Value) {
			t.Errorf("%v: off by %.0f, width %.0f and %.1f %%", keep, off, m.Now.Sigma, 100*m.Shared)
		}
		near(t, "rise at design flow", f.Get(RiseRate).Now.Value, g.feed*g.design/g.area, 0.06)
	}
}

// The way by the damper is as wide as the damper's loss is unsure: least at the openings read at
// commissioning, and far more beyond them. The way by the curve alone covers a damper set with seasoned filters.
func TestWidthOfDamperAndCurve(t *testing.T) {
	c := machine()
	a := newAirflow(c, &History{})
	for _, open := range []float64{0.6, 0.8, 1} {
		// a damper that loses with the third power of its opening
		q := 1.98 * math.Sqrt((a.pressure(1)-400)/(1100+700/math.Pow(open, 3)))
		given, _ := a.curve.Pressure(unit.Flow(q), unit.Density(a.rho0), c.Fan.Speed)
		loss := float64(given) - 872*q*q/1.98/1.98
		c.Damper.Points = append(c.Damper.Points, collector.DamperPoint{Open: unit.Share(open), Flow: unit.Flow(q), FilterDP: unit.Pressure(loss / 3)})
	}
	a = newAirflow(c, &History{})
	if a.path == nil || !a.path.DamperKnown() {
		t.Fatal("no damper")
	}
	width := func(open float64) float64 {
		r := reading(map[Channel]float64{DP: 500, Damper: open})
		q, _, scale := a.fromDamper(&r)
		return scale / q
	}
	at, between, beyond, far := width(0.6), width(0.7), width(0.45), width(0.3)
	if !(at >= damperScale && at < 0.1 && between < 0.1 && beyond > 1.5*at && far > beyond) {
		t.Errorf("widths %.3f at a point, %.3f between two, %.3f and %.3f below the lowest", at, between, beyond, far)
	}

	c.Damper.Points = nil
	a = newAirflow(c, &History{})
	for _, set := range []float64{float64(c.Filters.CleanDP), float64(c.SetPoints.Low)} {
		rest := a.pressure(1) - set // the damper set for design flow with the filters at this dP
		dp := a.pressure(0.95) - rest*0.95*0.95
		r := reading(map[Channel]float64{DP: dp})
		if q, own, scale := a.fromCurve(&r); math.Abs(q-0.95) > math.Hypot(own, scale) {
			t.Errorf("damper set at %.0f Pa: %.3f give or take %.3f, want 0.95", set, q, math.Hypot(own, scale))
		}
	}
}

// A machine that moved less air than design from the first reading on: what goes by the record's first days is brought to
// what goes by the file, and does not make the ducts look open.
func TestTheFirstDaysNeedNotStandAtDesign(t *testing.T) {
	for _, c := range []struct {
		name   string
		inlet  float64 // suction at design flow in the file [Pa]; 0 not there
		suck   float64 // what the ducts take for the airflow, over commissioning
		ratio  float64 // what is to be found of that
		byOwn  string  // the way that goes by the first days
		within float64
	}{
		{"flow index", -872, 1, 1, ByFlowIndex, 0.04},
		{"flow index beside ducts that leak", -872, 0.5, 0.5, ByFlowIndex, 0.12},
		{"suction that the file does not say", 0, 1, 1, ByInletSP, 0.04},
	} {
		file := machine()
		a := newAirflow(file, &History{})
		file.Duty.InletSP = unit.Pressure(c.inlet)
		const share = 0.65
		h := &History{}
		for i := range 24 {
			hour := Hour{Start: int64(i) * 3600, Running: 1}
			for _, x := range []struct {
				ch Channel
				x  float64
			}{{Flow, share * a.design}, {FlowIndex, 40}, {InletSP, -872 * c.suck * share * share}} {
				hour.Has |= 1 << x.ch
				hour.Stats = append(hour.Stats, Stat{N: 60, Mean: float32(x.x)})
			}
			h.Hours = append(h.Hours, hour)
		}
		s := &summariser{a: newAirflow(file, h)}
		d := newDay()
		s.ratios(&d, part{hours: h.Hours})
		near(t, c.name+": ducts", d.Value[InletSPRatio], c.ratio, c.within)
		r := hourReading(&h.Hours[0])
		for _, m := range s.a.explain(&r).methods {
			if m.Name == c.byOwn && c.suck == 1 {
				near(t, c.name+": airflow", m.Share, share, 0.04)
			}
		}
	}
}

// A fan that is weak since the first reading gives less air than its curve makes of the dP, and a duct that leaks more; the ways
// to the airflow, in line with each other from the first days on, don't show it.
func TestAirflowAgainstTheCurveFromTheFirstReading(t *testing.T) {
	for _, c := range []struct {
		name     string
		pressure float64 // of the fan, over its curve
		duct     float64 // what the ducts and the damper take, over commissioning
		low, top float64
	}{{"sound", 1, 1, 0.93, 1.05}, {"weak fan", 0.75, 1, 0.5, 0.9}, {"blocked duct", 1, 1.4, 0.5, 0.92}, {"leak", 1, 0.7, 1.06, 1.4}} {
		file := machine()
		a := newAirflow(file, &History{})
		const share = 0.9
		hour := Hour{Running: 1}
		for _, x := range []struct {
			ch Channel
			x  float64
		}{{DP, c.pressure*a.pressure(share) - c.duct*a.rest*share*share}, {Flow, share * a.design}} {
			hour.Has |= 1 << x.ch
			hour.Stats = append(hour.Stats, Stat{N: 60, Mean: float32(x.x)})
		}
		h := &History{}
		for i := range 24 {
			hour.Start = int64(i) * 3600
			h.Hours = append(h.Hours, hour)
		}
		s := &summariser{a: newAirflow(file, h)}
		d := newDay()
		s.ratios(&d, part{hours: h.Hours})
		if got := d.Value[FlowOverCurve]; !(got > c.low && got < c.top) {
			t.Errorf("%s: airflow over what the curve makes of the dP %.3f, want %g to %g", c.name, got, c.low, c.top)
		}
	}
	r := reading(map[Channel]float64{DP: 700})
	if x, _ := newAirflow(machine(), &History{}).overCurve(&r); x == x {
		t.Errorf("the dP held against itself gives %.3f", x)
	}
}
