package life

import (
	"errors"
	"math"
	"path/filepath"
	"testing"
	"time"

	"dustwright/unit/unittest"
)

// TestCheapestAgeWeibull checks age replacement against published and computed optima of Weibull lives.
func TestCheapestAgeWeibull(t *testing.T) {
	for _, row := range unittest.Table(t, filepath.Join("testdata", "weibull_age_replacement.csv")) {
		beta, eta := row.Float("beta"), row.Float("eta")
		a := Ageing{
			Survive: func(x float64) float64 { return math.Exp(-math.Pow(x/eta, beta)) },
			Planned: row.Float("cost_planned"), Failure: row.Float("cost_failure"), Longest: 6 * eta,
		}
		age, rate, err := CheapestAge(a)
		if row.Text("t_opt") == "inf" {
			if !errors.Is(err, ErrNoOptimum) || !near(rate, row.Float("cost_rate_run_to_failure"), 0.002) {
				t.Errorf("beta %g: got %g, %g, %v; want no optimum and the rate of running to failure", beta, age, rate, err)
			}
			continue
		}
		if err != nil || !near(age, row.Float("t_opt"), 1e-5) || !near(rate, row.Float("cost_rate_at_opt"), 1e-6) {
			t.Errorf("beta %g eta %g: got age %.6f rate %.9f (%v), want %.6f and %.9f", beta, eta, age, rate, err, row.Float("t_opt"), row.Float("cost_rate_at_opt"))
		}
	}
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol*math.Abs(want) }

// TestCheapestAgeRunning has a hand-made case: a running cost that rises in a line, nothing ever
// fails. C(T) = P/T + k T/2 is least at sqrt(2P/k).
func TestCheapestAgeRunning(t *testing.T) {
	age, rate, err := CheapestAge(Ageing{
		Survive: func(float64) float64 { return 1 }, Running: func(x float64) float64 { return 0.02 * x },
		Planned: 100, Failure: 100, Longest: 1000,
	})
	if err != nil || !near(age, 100, 1e-6) || !near(rate, 2, 1e-9) {
		t.Errorf("got %g, %g, %v; want 100, 2", age, rate, err)
	}
}

func TestOrderBy(t *testing.T) {
	for _, row := range unittest.Table(t, filepath.Join("testdata", "order_by_dates.csv")) {
		due, err := time.Parse(time.DateOnly, row.Text("due"))
		if err != nil {
			t.Fatal(err)
		}
		lead := time.Duration(row.Float("lead_days")+row.Float("margin_days")) * 24 * time.Hour
		if got := OrderBy(due, lead).Format(time.DateOnly); got != row.Text("order_by") {
			t.Errorf("due %s, lead and margin %v: got %s, want %s", row.Text("due"), lead, got, row.Text("order_by"))
		}
	}
	if !OrderBy(time.Time{}, time.Hour).IsZero() {
		t.Error("an unknown due date gave an order date")
	}
}
