package life

import (
	"math"
	"testing"
	"time"

	"dustwright/unit"
)

// jitter is a fixed scatter without trend, standard deviation about one.
func jitter(i int) float64 {
	return 2 * (math.Sin(12.9898*float64(i)) + math.Sin(78.233*float64(i)+1)) / 2
}

// TestAboveZero holds the moments of a normal distribution cut off at zero against known ones: half
// a normal has the mean sqrt(2/pi) and the variance 1 - 2/pi, far above zero nothing is cut, and far
// below it what is left is exponential.
func TestAboveZero(t *testing.T) {
	for _, c := range []struct{ u, share, mean, variance, tol float64 }{
		{0, 0.5, math.Sqrt(2 / math.Pi), 1 - 2/math.Pi, 1e-12},
		{1, 0.8413447, 1.2875999, 0.6296863, 1e-6},
		{40, 1, 40, 1, 1e-12},
		{-11.999, math.Exp(-75.4), 1 / 11.999, 1 / (11.999 * 11.999), 0.05},
		{-12.001, math.Exp(-75.4), 1 / 12.001, 1 / (12.001 * 12.001), 0.05},
	} {
		log, mean, variance := aboveZero(c.u)
		if math.Abs(log-math.Log(c.share)) > c.tol || !(math.Abs(mean-c.mean) <= c.tol*c.mean) || !(math.Abs(variance-c.variance) <= c.tol*c.variance) {
			t.Errorf("%g: ln share %.6g, mean %.6g, variance %.6g, want %.6g, %.6g, %.6g", c.u, log, mean, variance, math.Log(c.share), c.mean, c.variance)
		}
	}
}

// TestSlopeOfNoisyRecord: a line read with 8 % of scatter has about its own slope everywhere, and one read
// without keeps the slopes of its two halves apart.
func TestSlopeOfNoisyRecord(t *testing.T) {
	var line, bent []sample
	for i := range 150 {
		x := float64(i)
		line = append(line, sample{x: x, y: (200 + 4*x) * (1 + 0.08*jitter(i)), sigma: math.NaN()})
		bent = append(bent, sample{x: x, y: 200 + x + 4*math.Max(x-75, 0) + 0.2*jitter(i), sigma: math.NaN()})
	}
	for i, v := range slopes(gather(line), 149) {
		if math.Abs(v/4-1) > 0.45 {
			t.Errorf("noisy line, bin %d: slope %.2f, want 4", i, v)
		}
	}
	b := gather(bent)
	for i, v := range slopes(b, 149) {
		want := 1.0
		if b[i].x > 75 {
			want = 5
		}
		if math.Abs(b[i].x-75) > 20 && math.Abs(v/want-1) > 0.1 {
			t.Errorf("bent line at %.0f: slope %.2f, want %g", b[i].x, v, want)
		}
	}
}

// TestCurveOfNoisyLife: what an earlier life lends comes nearer to its true curve than its bins where
// hand readings are few and scatter, and stays with the bins, steps and all, where many agree.
func TestCurveOfNoisyLife(t *testing.T) {
	const limit, end = 1200.0, 3000.0
	rise := func(z float64) float64 { return 0.5*z + 0.5*z*z*z }
	step := func(z float64) float64 { // no formula has it
		if z > 0.4 && z < 0.7 {
			return 0.3
		}
		return math.Min(z, 1)
	}
	for _, c := range []struct {
		name    string
		curve   func(float64) float64
		n       int
		scatter float64
		nearer  bool
	}{
		{"hand readings", rise, 120, 0.08, true},
		{"many readings", step, 6000, 0.005, false},
	} {
		var s []sample
		for i := range c.n {
			z := (float64(i) + 0.5) / float64(c.n)
			s = append(s, sample{x: z * end, y: (200 + 1000*c.curve(z)) * (1 + c.scatter*jitter(i)), sigma: math.NaN()})
		}
		p, ok := recall(track{samples: s, limit: limit, clean: 200, whole: true, pulsed: true}, limit, shapes(true), defaultTuning(true))
		if !ok || p.curve == nil {
			t.Fatalf("%s: no curve", c.name)
		}
		bins := ownCurve(gather(s), p.birth, limit, math.Exp(p.logEnd), 0)
		var off, was, moved float64
		for i := range shapeSteps {
			z := float64(i) / shapeSteps
			off += math.Abs(p.curve.at[i] - c.curve(z))
			was += math.Abs(bins.at[i] - c.curve(z))
			moved = math.Max(moved, math.Abs(p.curve.at[i]-bins.at[i]))
		}
		if c.nearer && off > 0.75*was {
			t.Errorf("%s: off by %.4f of the way on average, by its bins %.4f", c.name, off/shapeSteps, was/shapeSteps)
		}
		if !c.nearer && moved > 0.01 {
			t.Errorf("%s: moved off its bins by %.3f of the way", c.name, moved)
		}
	}
}

// TestStrayReadingAtTheLimit: two readings that scatter beyond the limit do not make the end of a life
// that has 60 h to go.
func TestStrayReadingAtTheLimit(t *testing.T) {
	var s []sample
	for i := range 95 {
		x := 10 * float64(i)
		s = append(s, sample{x: x, y: (200 + x) * (1 + 0.06*jitter(i)), sigma: math.NaN()})
	}
	for i := len(s) - 3; i < len(s); i++ {
		s[i].y = 1.07 * (200 + s[i].x)
	}
	o := look(track{samples: s, limit: 1200, clean: 200, whole: true, pulsed: true}, 940, nil, defaultTuning(true))
	q := quantiles(o.remaining(), []float64{0.1, 0.5, 0.9})
	if q[0] < 1 || q[1] < 12 || q[2] < 60 {
		t.Errorf("%.1f %.1f %.1f h left, want a median above 12 h and 60 h within", q[0], q[1], q[2])
	}
	var sum float64
	for _, m := range o.remaining() {
		sum += m.w
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("probabilities sum to %.9f", sum)
	}
}

// TestAfterfilterGainsInALine: what is never cleaned gains with the dust that comes, so that the end of an after-filter that has gained
// in a line is not expected much before that line gets there.
func TestAfterfilterGainsInALine(t *testing.T) {
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	g := Gauge{New: 250, Limit: 625}
	for d := range 50 {
		h := 20 * float64(d)
		g.Points = append(g.Points, Mark{start.Add(time.Duration(h * float64(time.Hour))), h, 250 + 0.15*h + 2*jitter(d)})
	}
	n := &now{in: Input{At: g.Points[49].At}}
	v := n.viewGauge(ByAfterfilter, g)
	if v == nil {
		t.Fatal("no forecast")
	}
	const left = 375/0.15 - 980
	if q := v.quantiles(0.1, 0.5, 0.9); math.Abs(q[1]/left-1) > 0.15 || !(q[0] < left && left < q[2]) {
		t.Errorf("%.0f h, most likely %.0f, up to %.0f; the line gets there in %.0f", q[0], q[1], q[2], left)
	}
}

// TestLiftIsNotAgeing: a valve that fails lifts the dP by 150 Pa and leaves it to age as before. With the fault named, what is left is
// told from that; without, it is taken for a curve that runs away.
func TestLiftIsNotAgeing(t *testing.T) {
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	r := Record{StartKnown: true}
	for d := range 118 {
		dp := 250 + 3*float64(d) + 4*jitter(d)
		if d >= 100 {
			dp += 150
		}
		r.Points = append(r.Points, Point{At: start.AddDate(0, 0, d), Hours: 24 * float64(d+1), DP: unit.Pressure(dp)})
	}
	in := Input{At: r.Points[117].At, Lives: []Record{r}, Pulsed: true, CleanDP: 240, MaxDP: 1495, HoursPerWeek: 168}
	taken := Forecast(in)
	in.FaultSince, in.FaultThere = start.AddDate(0, 0, 97), start.AddDate(0, 0, 101)
	told := Forecast(in)
	const left = 24 * ((1495-250-150)/3.0 - 118)
	if q := told.Hours; !(q[0] < left && left < q[2]) || q[1] < 0.6*left {
		t.Errorf("%.0f h, most likely %.0f, up to %.0f; at the rate of before %.0f", q[0], q[1], q[2], left)
	}
	if !(taken.Hours[1] < 0.7*told.Hours[1]) {
		t.Errorf("most likely %.0f h where nobody named the fault, %.0f where it is: nothing was tried", taken.Hours[1], told.Hours[1])
	}
	if f := told.Fan[0]; !(f.P10 < r.Points[117].DP*1.05 && f.P90 > r.Points[117].DP*0.95) {
		t.Errorf("the course to come begins at %.0f to %.0f Pa, want about the %.0f that are read", float64(f.P10), float64(f.P90), float64(r.Points[117].DP))
	}
	if told.Cured == nil || !told.Cured.P50.After(told.P50) {
		t.Errorf("once it is put right %+v, want later than %v", told.Cured, told.P50)
	}
	in.AirLevel = 600
	if out, lift := stepped(in); math.Abs(float64(lift)-150) > 20 || out.AirLevel != 600-lift {
		t.Errorf("lifted by %.0f Pa, want 150; the pulses use what air there is at %.0f of 600 Pa", float64(lift), float64(out.AirLevel))
	}
	if in.Lives[0].Points[117].DP != r.Points[117].DP || in.MaxDP != 1495 {
		t.Error("the input was changed")
	}
	in.FlowLimit, in.FlowDoubt = 1000, 0.1
	if out, _ := stepped(in); math.Abs(out.FlowDoubt*float64(out.FlowLimit)-100) > 1e-6 {
		t.Errorf("the flow limit is %.0f Pa within %.0f Pa, want as wide as before, 100 Pa", float64(out.FlowLimit), out.FlowDoubt*float64(out.FlowLimit))
	}
	in.FlowLimit = 140
	if _, lift := stepped(in); lift != 0 {
		t.Errorf("%.0f Pa taken out of a limit of 140 Pa, which is then none", float64(lift))
	}
}
