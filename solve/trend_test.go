package solve

import (
	"errors"
	"math"
	"testing"

	"dustwright/unit/unittest"
)

// Source: EPA Unified Guidance Example 17-7; the values stand in the file's source line.
func TestTheilSenPublished(t *testing.T) {
	rows := unittest.Table(t, "testdata/trend_epa_ug_17_7_theil_sen.csv")
	x, y := column(rows, "year"), column(rows, "sodium_ppm")
	line, err := TheilSen(x, y)
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "slope", line.Slope, 4.0/3, 1e-7)
	relative(t, "intercept", line.Intercept, -65.9666667, 1e-8)
	relative(t, "slope interval low", line.Low, 0.3992083, 1e-6)
	relative(t, "slope interval high", line.High, 2.3333333, 1e-6)
	if v := kendallVariance(y); v != 125 {
		t.Errorf("variance of Kendall's S %g, want 125", v)
	}
	ols, err := WeightedLine(x, y, nil)
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "least squares slope", ols.Slope, 1.38776502, 1e-8)
	relative(t, "least squares intercept", ols.Intercept, -71.70949313, 1e-8)
}

// Source: EPA QA/G-9S, Mann-Kendall example with ties; the values stand in the file's source line.
func TestTheilSenTies(t *testing.T) {
	rows := unittest.Table(t, "testdata/trend_epa_g9s_mann_kendall.csv")
	if v := kendallVariance(column(rows, "x")); math.Abs(v-155.33) > 0.005 {
		t.Errorf("variance of Kendall's S %g, want 155.33", v)
	}
	line, err := TheilSen(column(rows, "t"), column(rows, "x"))
	if err != nil || line.Slope != 1 {
		t.Errorf("slope %g, %v, want 1", line.Slope, err)
	}
}

// Of many points only a part of the pairs is used; the line is still the line, and outliers don't move it.
func TestTheilSenManyPoints(t *testing.T) {
	n := 20_000
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = float64(i)
		y[i] = 5 + 0.02*x[i] + math.Sin(float64(i)*12.9898)
		if i%10 == 3 {
			y[i] += 1000
		}
		if i%17 == 5 {
			y[i] = math.NaN()
		}
	}
	line, err := TheilSen(x, y)
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "slope", line.Slope, 0.02, 1e-2)
	if !(line.Low < 0.02 && 0.02 < line.High) {
		t.Errorf("interval %g to %g does not hold 0.02", line.Low, line.High)
	}
}

func TestTrendsRefuse(t *testing.T) {
	nan := math.NaN()
	if _, err := TheilSen([]float64{1, 1, nan}, []float64{1, 2, 3}); !errors.Is(err, ErrTooFew) {
		t.Errorf("one abscissa: %v", err)
	}
	two, err := TheilSen([]float64{0, 1}, []float64{0, 2})
	if err != nil || two.Slope != 2 || !math.IsInf(two.Low, -1) || !math.IsInf(two.High, 1) {
		t.Errorf("two points: %+v, %v: the slope is known, its width is not", two, err)
	}
}
