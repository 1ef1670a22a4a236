package solve

import (
	"math"
	"slices"
	"testing"

	"dustwright/unit/unittest"
)

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.12g, want %.12g within %g", what, got, want, tol)
	}
}

// Source: testdata/scipy_pchip.csv; the points of each curve stand in tools/oracle/solve.py.
func TestMonotoneSecondOpinion(t *testing.T) {
	curves := map[string][2][]float64{
		"fan":    {{0, 1500, 2500, 3500, 4200, 5000, 6000, 7000}, {14.5, 14.8, 14.3, 13.0, 11.8, 9.9, 6.8, 2.9}},
		"flat":   {{0, 1, 2, 3, 4.5, 5}, {0, 0, 1, 1, 3, -2}},
		"uneven": {{-3, -2.9, 0, 10, 11}, {9, 8, 7.5, -4, -4.1}},
		"three":  {{0, 1, 3}, {1, 2, 10}},
	}
	for _, r := range unittest.Table(t, "testdata/scipy_pchip.csv") {
		c := curves[r.Text("curve")]
		m, err := NewMonotone(c[0], c[1])
		if err != nil {
			t.Fatal(err)
		}
		x := r.Float("x")
		within(t, r.Text("curve")+" value", m.At(x), r.Float("y"), 1e-12)
		within(t, r.Text("curve")+" slope", m.Slope(x), r.Float("slope"), 1e-11)
	}
}

// Source: testdata/scipy_ode.csv.
func TestDormandPrinceSecondOpinion(t *testing.T) {
	equations := map[string]struct {
		f  Derivative
		y0 []float64
	}{
		"vanderpol": {func(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], 2*(1-y[0]*y[0])*y[1]-y[0] }, []float64{2, 0}},
		"pendulum": {func(_ float64, y, dy []float64) {
			dy[0], dy[1] = y[1], -9.80665*math.Sin(y[0])-0.3*y[1]*math.Abs(y[1])
		}, []float64{2.5, 0}},
	}
	rows := unittest.Table(t, "testdata/scipy_ode.csv")
	for name, eq := range equations {
		p, err := DormandPrince(eq.f, eq.y0, 0, 10, ODE{RelTol: 1e-10, AbsTol: 1e-12})
		if err != nil {
			t.Fatal(err)
		}
		y := make([]float64, 2)
		for _, r := range rows {
			if r.Text("equation") == name && p.At(r.Float("t"), y) {
				within(t, name+" y0", y[0], r.Float("y0"), 1e-7)
				within(t, name+" y1", y[1], r.Float("y1"), 1e-7)
			}
		}
	}
}

// Source: testdata/scipy_quantile.csv.
func TestQuantileSecondOpinion(t *testing.T) {
	var sample []float64
	for _, r := range unittest.Table(t, "testdata/scipy_quantile.csv") {
		want := r.Float("value")
		switch r.Text("what") {
		case "sample":
			sample = append(sample, want)
			continue
		case "quantile":
			within(t, "quantile "+r.Text("p"), Quantile(Sorted(sample), r.Float("p")), want, 1e-12)
		case "median":
			within(t, "median", Median(sample), want, 1e-12)
		case "mad":
			within(t, "mad", MAD(sample), want, 1e-12)
		}
	}
}

func TestRobustEdges(t *testing.T) {
	nan := math.NaN()
	for name, got := range map[string]float64{
		"quantile of nothing": Quantile(nil, 0.5), "quantile below 0": Quantile([]float64{1}, -0.1),
		"quantile NaN": Quantile([]float64{1}, nan), "median of nothing": Median(nil),
		"median of NaN": Median([]float64{nan, nan}), "mad of nothing": MAD([]float64{nan}),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %g, want NaN", name, got)
		}
	}
	mixed := []float64{5, nan, 1, 3}
	within(t, "median without the NaN", Median(mixed), 3, 0)
	within(t, "quantile at the top", Quantile([]float64{1, 2}, 1), 2, 0)
	within(t, "infinite neighbour", Quantile([]float64{1, math.Inf(1)}, 0), 1, 0)
	if !slices.Equal([]float64{mixed[0], mixed[2], mixed[3]}, []float64{5, 1, 3}) {
		t.Error("Median changed its argument")
	}
}
