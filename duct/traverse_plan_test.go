package duct

import (
	"errors"
	"math"
	"strings"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

func TestMethod1CircularPoints(t *testing.T) {
	for _, row := range unittest.Table(t, "testdata/epa_method1_circular_points.csv") {
		shares := RoundPositions(Method1, int(row.Float("points_on_diameter")))
		got := 100 * shares[int(row.Float("point_no"))-1]
		at := row.Text("points_on_diameter") + " points, point " + row.Text("point_no")
		within(t, at+", formula", got, row.Float("formula_pct"), 6e-5)
		if row.Has("published_pct") {
			within(t, at+", published", got, row.Float("published_pct"), 0.0501) // printed to 0.1
		}
	}
}

func TestLogPositions(t *testing.T) {
	rules := map[string]Rule{"log-linear": LogLinear, "log-Tchebycheff": LogTchebycheff}
	for _, row := range unittest.Table(t, "testdata/log_tchebycheff_points.csv") {
		n, k := int(row.Float("points_per_radius_or_side")), int(row.Float("point_no"))-1
		rule := rules[row.Text("rule")]
		shares := SidePositions(rule, n)
		if row.Text("section") == "round" {
			shares = RoundPositions(rule, 2*n)
		}
		if k >= len(shares) {
			t.Fatalf("%s:%d: no such point", row.Path, row.Line)
		}
		within(t, row.Text("section")+" "+row.Text("rule")+" "+row.Text("point_no"), shares[k], row.Float("y_over_D_or_L"), 1e-9)
	}
}

func TestMethod1Matrix(t *testing.T) {
	for _, row := range unittest.Table(t, "testdata/epa_method1_rect_matrix.csv") {
		long, short := method1Matrix(int(row.Float("points")))
		if float64(long) != row.Float("cells_long") || float64(short) != row.Float("cells_short") {
			t.Errorf("%s points: %dx%d, want %sx%s", row.Text("points"), long, short, row.Text("cells_long"), row.Text("cells_short"))
		}
	}
}

func TestPositionsThatNoRuleHas(t *testing.T) {
	for _, n := range []int{0, -2, 1, 3, 26} {
		if s := RoundPositions(Method1, n); s != nil {
			t.Errorf("Method 1 with %d points: %v", n, s)
		}
	}
	if RoundPositions(LogLinear, 4) != nil || SidePositions(LogLinear, 5) != nil || RoundPositions(RuleUnknown, 6) != nil || SidePositions(LogTchebycheff, 8) != nil {
		t.Error("positions for a number of points the rule does not have")
	}
}

func TestParseRule(t *testing.T) {
	for text, want := range map[string]Rule{"method1": Method1, "Method 1": Method1, "log-linear": LogLinear, "Log-Tchebycheff": LogTchebycheff, "log chebyshev": LogTchebycheff} {
		if got, err := ParseRule(text); err != nil || got != want {
			t.Errorf("%q: %v, %v; want %v", text, got, err, want)
		}
	}
	if _, err := ParseRule("log-liner"); err == nil || !strings.Contains(err.Error(), `the nearest is "log-linear"`) {
		t.Errorf("misspelt: %v", err)
	}
	if _, err := ParseRule("xyz"); err == nil || !strings.Contains(err.Error(), "method1, log-linear, log-tchebycheff") {
		t.Errorf("unknown: %v", err)
	}
}

func request(s Section, rule Rule, before, after float64) PlanRequest {
	d := float64(s.Hydraulic())
	return PlanRequest{Section: s, Rule: rule, Before: unit.Length(before * d), After: unit.Length(after * d)}
}

// How many points each rule lays out where.
func TestPlanCounts(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name                 string
		request              PlanRequest
		lines, points, total int // total counts points that stand for two
	}{
		{"round 12 in, good place", request(Round(inches(12)), Method1, 8, 2), 2, 8, 8},
		{"round 24 in, good place", request(Round(inches(24)), Method1, 10, 5), 2, 8, 8},
		{"round 26 in, good place", request(Round(inches(26)), Method1, 8, 2), 2, 12, 12},
		{"round 26 in, allowed place", request(Round(inches(26)), Method1, 4, 1), 2, 16, 16},
		{"round 14 in, close", request(Round(inches(14)), Method1, 1, 1), 2, 24, 24},
		{"round 14 in, unknown", request(Round(inches(14)), Method1, nan, nan), 2, 16, 16},
		{"rectangular 24x12, good place", request(Rect(inches(24), inches(12)), Method1, 8, 2), 3, 9, 9},
		{"rectangular 48x30, good place", request(Rect(inches(48), inches(30)), Method1, 9, 2), 4, 12, 12},
		{"rectangular 30x48, good place", request(Rect(inches(30), inches(48)), Method1, 9, 2), 3, 12, 12},
		{"rectangular, close", request(Rect(inches(30), inches(24)), Method1, 1.9, 2), 5, 25, 25},
		{"rectangular, allowed", request(Rect(inches(30), inches(24)), Method1, 2, 0.5), 4, 16, 16},
		{"6 in, good place", request(Round(inches(6)), Method1, 8, 2), 2, 8, 8},
		{"4 in, unknown place: the two nearest the wall share a spot", request(Round(inches(4)), Method1, nan, nan), 2, 12, 16},
		{"log-linear 10 in", request(Round(inches(10)), LogLinear, 8, 2), 3, 18, 18},
		{"log-Tchebycheff 20 in, good", request(Round(inches(20)), LogTchebycheff, 8, 2), 3, 24, 24},
		{"log-Tchebycheff 20 in, poor", request(Round(inches(20)), LogTchebycheff, 3, 2), 3, 30, 30},
		{"log-Tchebycheff 40x32", request(Rect(inches(40), inches(32)), LogTchebycheff, 8, 2), 7, 42, 42},
		{"log-Tchebycheff 20x20", request(Rect(inches(20), inches(20)), LogTchebycheff, 8, 2), 5, 25, 25},
	} {
		p, err := NewPlan(c.request)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		total := 0
		for _, point := range p.Points {
			total += point.Counts
		}
		if len(p.Lines) != c.lines || len(p.Points) != c.points || total != c.total {
			t.Errorf("%s: %d lines, %d points that count %d; want %d, %d, %d", c.name, len(p.Lines), len(p.Points), total, c.lines, c.points, c.total)
		}
	}
}

// Every point is inside, clear of the walls, in ascending order, and each line is symmetric.
func TestPlanGeometry(t *testing.T) {
	for _, in := range []float64{4, 5, 6, 8, 10, 12, 18, 24, 24.5, 36, 60} {
		for _, rule := range []Rule{Method1, LogLinear, LogTchebycheff} {
			p, err := NewPlan(request(Round(inches(in)), rule, 3, 1))
			if err != nil {
				t.Fatal(err)
			}
			byLine := map[int][]Point{}
			for _, point := range p.Points {
				byLine[point.Line] = append(byLine[point.Line], point)
			}
			for _, points := range byLine {
				for i, point := range points {
					mirror := points[len(points)-1-i]
					if point.Number != i+1 || math.Abs(float64(point.FromWall+mirror.FromWall)/unit.Inch-in) > 1e-9 || point.Counts != mirror.Counts {
						t.Errorf("%g in, %v: point %+v is not the mirror of %+v", in, rule, point, mirror)
					}
					if i > 0 && point.FromWall <= points[i-1].FromWall {
						t.Errorf("%g in, %v: points out of order", in, rule)
					}
					if rule == Method1 && float64(point.FromWall) < float64(clearance(inches(in)))-1e-12 {
						t.Errorf("%g in: a point %g in from the wall", in, float64(point.FromWall)/unit.Inch)
					}
				}
			}
		}
	}
}

func TestPlanRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		request PlanRequest
		is      error
		says    string
	}{
		"too small":          {request(Round(inches(3)), Method1, 8, 2), ErrNoRule, "rules begin at 4 in"},
		"no rule":            {request(Round(inches(12)), RuleUnknown, 8, 2), ErrNoRule, "a rule must be chosen"},
		"log-linear in rect": {request(Rect(0.5, 0.5), LogLinear, 8, 2), ErrNoRule, "log-linear positions are for round ducts"},
		"no size":            {PlanRequest{Rule: Method1}, ErrSection, "either a diameter or a width"},
	} {
		if _, err := NewPlan(c.request); !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v saying %q", name, err, c.is, c.says)
		}
	}
}

func TestPlanNotes(t *testing.T) {
	for name, c := range map[string]struct {
		request PlanRequest
		says    string
	}{
		"unknown place": {request(Round(inches(14)), Method1, math.NaN(), 3), "was not given"},
		"close":         {request(Round(inches(14)), Method1, 1, 3), "no rule covers this place"},
		"allowed":       {request(Round(inches(14)), Method1, 4, 3), "could not be verified"},
		"small":         {request(Round(inches(6)), Method1, 8, 3), "Methods 1A and 2C"},
		"10 points":     {request(Round(inches(16)), LogTchebycheff, 4, 3), "from memory"},
	} {
		p, err := NewPlan(c.request)
		if err != nil || !strings.Contains(strings.Join(p.Notes, "\n"), c.says) {
			t.Errorf("%s: %v, %v; want a note saying %q", name, p.Notes, err, c.says)
		}
	}
	p, err := NewPlan(request(Round(inches(14)), Method1, 9, 3))
	if err != nil || len(p.Notes) != 0 {
		t.Errorf("a good place needs no notes: %v, %v", p.Notes, err)
	}
}
