package life

import (
	"math"
	"path/filepath"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

func dc1(t *testing.T) *collector.Collector {
	t.Helper()
	c, err := collector.Load(filepath.Join(unittest.Root(t), "collector", "testdata", "dc1.toml"))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// seenNow are features with an airflow over design, told by a method, a damper and a dP; NaN leaves one out.
func seenNow(by string, share, open, dp float64) *sense.Features {
	f := &sense.Features{FlowBy: []sense.FlowMethod{{Name: by, Share: share}}}
	for i := range f.Of {
		f.Of[i].Now = sense.Unknown("not there")
	}
	set := func(q sense.Quantity, v, sigma float64) {
		if !math.IsNaN(v) {
			f.Of[q].Now = sense.Estimate{Value: v, Sigma: sigma, N: 10}
		}
	}
	set(sense.FlowShare, share, 0.02)
	set(sense.DamperOpen, open, 0.01)
	set(sense.DPRaw, dp, 5)
	return f
}

// TestFlowLimitGoesByWhatIsMeasured: less air than the file makes of damper and dP brings the limit of the airflow down, more lifts
// it; an airflow that was itself worked out from them changes nothing.
func TestFlowLimitGoesByWhatIsMeasured(t *testing.T) {
	c := dc1(t)
	nan := math.NaN()
	file, doubt := flowLimit(seenNow(sense.ByDesign, 1, nan, nan), c)
	if !(file > 0) || !(doubt > 0.01 && doubt < 0.5) {
		t.Fatalf("%.0f Pa within %.0f %% by the file", float64(file), 100*doubt)
	}
	if same, _ := flowLimit(seenNow(sense.ByCurve, 0.9, 0.5, 700), c); same != file {
		t.Errorf("%.0f Pa by an airflow that follows from the dP, want the file's %.0f", float64(same), float64(file))
	}
	path, err := c.AirPath()
	if err != nil {
		t.Fatal(err)
	}
	cond := path.Conditions()
	cond.Damper, cond.FilterDP = 0.5, 700
	o, err := path.Point(cond)
	if err != nil {
		t.Fatal(err)
	}
	made := float64(o.Flow / c.Duty.Flow)
	last := unit.Pressure(math.Inf(1))
	for _, share := range []float64{1.06, 1.03, 1, 0.97, 0.94} {
		limit, narrower := flowLimit(seenNow(sense.ByMeasurement, made*share, 0.5, 700*made*share), c)
		if share == 1 && math.Abs(float64(limit/file)-1) > 0.01 {
			t.Errorf("%.0f Pa with the airflow that the file makes, want its own %.0f", float64(limit), float64(file))
		}
		unsaid := *c
		unsaid.Filters.MaxDP = unit.Pressure(nan)
		if same, _ := flowLimit(seenNow(sense.ByMeasurement, made*share, 0.5, 700*made*share), &unsaid); math.Abs(float64(same/limit)-1) > 1e-6 {
			t.Errorf("%.0f Pa where the file names no max dP, %.0f where it does", float64(same), float64(limit))
		}
		if !(limit < last) || !(narrower < doubt*float64(file/limit)) {
			t.Errorf("at %.0f %% of what the file makes %.0f Pa within %.0f %%; before %.0f", 100*share, float64(limit), 100*narrower, float64(last))
		}
		last = limit
	}
}

// TestFlowHeld: a measured airflow above 95 % of design says that the limit lies above the dP it passes at.
func TestFlowHeld(t *testing.T) {
	for _, k := range []struct {
		by    string
		share float64
		want  unit.Pressure
	}{
		{sense.ByMeasurement, 1, 800}, {sense.ByMeasurement, 0.96, 0}, {sense.ByMeasurement, 0.9, 0}, {sense.ByCurve, 1, 0},
	} {
		if got := flowHeld(seenNow(k.by, k.share, 0.5, 800*k.share)); math.Abs(float64(got-k.want)) > 1e-6 {
			t.Errorf("%s, %g of design: %.0f Pa, want %.0f", k.by, k.share, float64(got), float64(k.want))
		}
	}
}

// TestLowerAndAbove holds the moments against sums over the density, and against what stands when nothing is cut.
func TestLowerAndAbove(t *testing.T) {
	for _, k := range []struct{ known, mean, sigma float64 }{{1000, 1000, 100}, {1000, 1150, 100}, {1000, 850, 120}, {1000, 3000, 100}, {1000, 200, 50}} {
		var w, m, sq, wa, ma, sqa float64
		for z := -8.0; z <= 8; z += 0.0005 {
			p, x := math.Exp(-0.5*z*z), k.mean+z*k.sigma
			y := math.Min(x, k.known)
			w, m, sq = w+p, m+p*y, sq+p*y*y
			if x > k.known {
				wa, ma, sqa = wa+p, ma+p*x, sqa+p*x*x
			}
		}
		m, sq = m/w, sq/w
		got, sd := lower(k.known, k.mean, k.sigma)
		if math.Abs(got-m) > 1e-3*m || math.Abs(sd-math.Sqrt(math.Max(0, sq-m*m))) > 0.02*k.sigma {
			t.Errorf("lower of %g and %g±%g: %.2f±%.2f, want %.2f±%.2f", k.known, k.mean, k.sigma, got, sd, m, math.Sqrt(math.Max(0, sq-m*m)))
		}
		if wa < 1e-9*w {
			continue
		}
		ma, sqa = ma/wa, sqa/wa
		got, sd = above(k.known, k.mean, k.sigma)
		if math.Abs(got-ma) > 1e-3*ma || math.Abs(sd-math.Sqrt(math.Max(0, sqa-ma*ma))) > 0.02*k.sigma {
			t.Errorf("%g±%g above %g: %.2f±%.2f, want %.2f±%.2f", k.mean, k.sigma, k.known, got, sd, ma, math.Sqrt(math.Max(0, sqa-ma*ma)))
		}
	}
}

// TestLimitOfAnInput: a limit that is open, zero or NaN, leaves the other one alone, with its own width.
func TestLimitOfAnInput(t *testing.T) {
	nan := unit.Pressure(math.NaN())
	for _, c := range []struct {
		dp, flow, held unit.Pressure
		doubt          float64
		limit          unit.Pressure
		vague          float64
		why            Limit
	}{
		{1000, nan, 0, 0, 1000, 0, ByDP}, {1000, 0, 0, 0.1, 1000, 0, ByDP}, {1000, 1200, 0, 0, 1000, 0, ByDP}, {1200, 1000, 0, 0, 1000, 0, ByFlow},
		{nan, 1000, 0, 0, 1000, 0, ByFlow}, {0, 1000, 0, 0, 1000, 0, ByFlow}, {0, 1000, 0, 0.1, 1000, 0.1, ByFlow}, {nan, 1000, 0, 0.1, 1000, 0.1, ByFlow},
		{nan, 1000, 1000, 0.1, 1000 + 100*0.7979, 0.06028 / 1.07979, ByFlow}, {1e6, 1000, 0, 0.1, 1000, 0.1, ByFlow},
	} {
		n := now{in: Input{MaxDP: c.dp, FlowLimit: c.flow, FlowHeld: c.held, FlowDoubt: c.doubt}}
		if n.limits(); math.Abs(float64(n.limit/c.limit)-1) > 1e-3 || math.Abs(n.vague-c.vague) > 1e-3 || n.why != c.why {
			t.Errorf("%+v: %.1f Pa within %.4f by %s", c, float64(n.limit), n.vague, n.why)
		}
	}
}

// TestTended: with nothing but the dP a part of the airflow's fall is taken to have been made good, and how much is left open.
func TestTended(t *testing.T) {
	l := &sense.Life{Shared: 0.02, Pulsed: true}
	for d := range 20 {
		flow := 1 - 0.01*float64(d)
		l.Points = append(l.Points, sense.LifePoint{At: time.Unix(int64(86400*d), 0), Hours: float64(d), DP: 500 / flow, Low: 500 / flow, Flow: flow,
			Dust: 0.1 * (float64(d) - 0.005*float64(d*d))})
	}
	l.Points[7].Dust = math.NaN()
	out := tended(l, usualCare)
	last := out.Points[19]
	if !(last.Dust > l.Points[19].Dust && last.Dust < 1.9) || out.Points[7].Dust == out.Points[7].Dust {
		t.Errorf("%.3f kg/m2 taken up, want between %.3f and the 1.9 of an airflow that does not fall", last.Dust, l.Points[19].Dust)
	}
	if !(last.Low > 500 && last.Low < l.Points[19].Low) || !(last.Flow > l.Points[19].Flow && last.Flow < 1) {
		t.Errorf("low end %.0f Pa at %.2f of design, want between 500 and %.0f", last.Low, last.Flow, l.Points[19].Low)
	}
	if math.Abs(last.Low*last.Flow-500) > 1e-6 {
		t.Errorf("%.2f Pa as read, want 500: the reading stays what it was", last.Low*last.Flow)
	}
	if !(out.Shared > 0.05) || l.Shared != 0.02 || l.Points[19].Flow > 0.82 {
		t.Errorf("shared error %.3f, want it wider and the life it came from untouched", out.Shared)
	}
	l.Start, l.End = l.Points[0].At, l.Points[19].At
	move := sense.Change{Kind: sense.DamperMove, At: l.Points[15].At, Logged: true}
	noted := tended(l, careOf([]sense.Change{move}, l))
	if !(noted.Points[19].Low < last.Low) || !(noted.Shared < out.Shared) {
		t.Errorf("low end %.0f Pa, shared error %.3f where somebody noted that he moved the damper; want less than %.0f and %.3f", noted.Points[19].Low, noted.Shared, last.Low, out.Shared)
	}
	move.At = l.Points[2].At // on account of the new filters
	if careOf([]sense.Change{move}, l) != usualCare {
		t.Error("the move after new filters went in is taken for care of the airflow")
	}
	f := &sense.Features{FlowBy: []sense.FlowMethod{{Name: sense.ByInletSP}, {Name: sense.ByCurve}}}
	if f.FlowAssumed() {
		t.Error("an airflow told by the suction too is taken for one that follows from the dP alone")
	}
}

// TestAirLevel: the shorter the supply, the sooner the pulses use what it can spare, always before cleaning goes on without end; a
// supply that feeds endless cleaning sets no limit.
func TestAirLevel(t *testing.T) {
	c := dc1(t)
	c.SetPoints.Low, c.SetPoints.High, c.Filters.CleanDP = 500, 900, 160
	use, err := c.AirUse(collector.NewAirRequest())
	if err != nil {
		t.Fatal(err)
	}
	l := heldLife(100, true, func(d int) float64 { return 200 + 2*float64(d) }, exact)
	for i := range l.Points {
		l.Points[i].Rise = 200
	}
	last := unit.Pressure(0)
	for _, part := range []float64{0.15, 0.3, 0.6, 0.8, 1} {
		c.Header.SupplyFlow = unit.StdFlow(part * float64(use.WhileCleaning))
		s := supplyOf(c) // a header that is filled slowly gives less at each pulse
		if s == nil {
			t.Fatalf("no limit by a supply of %.0f %%", 100*part)
		}
		share, got := s.share, s.level(holdOf(l, c, nil))
		if !(got >= last && got <= 500) {
			t.Errorf("supply %.0f %%, enough for %.0f %% of the time: %.1f Pa, want %.1f or more up to 500", 100*part, 100*share, float64(got), float64(last))
		}
		last = got
		// By hand: n pulses 10 s apart are that share of a cycle whose rise of 400 Pa takes two hours.
		n := share / (1 - share) * 7200 / 10
		want := (500 - 900*math.Exp(-0.02*n)) / (1 - math.Exp(-0.02*n))
		if math.Abs(float64(got)-want) > 0.02*want {
			t.Errorf("supply %.0f %%: %.1f Pa, want %.1f", 100*part, float64(got), want)
		}
	}
	for i := range l.Points {
		l.Points[i].Rise = 20000
	}
	if got := supplyOf(c).level(holdOf(l, c, nil)); !(got > 0 && got < last-20) {
		t.Errorf("%.1f Pa with a hundred times the dust, want well below %.1f: the pulses come sooner one after the other", float64(got), float64(last))
	}
	c.Header.SupplyFlow = unit.StdFlow(2 * float64(use.WhileCleaning))
	if s := supplyOf(c); s != nil {
		t.Errorf("%+v with air to spare, want no limit", s)
	}
}
