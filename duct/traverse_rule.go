package duct

import (
	"fmt"
	"math"
	"strings"

	"dustwright/unit"
)

// Rule says where across a duct the readings of a traverse are taken.
type Rule uint8

// The rules for traverse points. All weigh their points alike.
const (
	RuleUnknown    Rule = iota
	Method1             // centres of equal areas, 40 CFR 60 App. A-1 Method 1 (1A for ducts of 4 to 12 in)
	LogLinear           // ISO 3966 / ISO 5802, round ducts
	LogTchebycheff      // ISO 3966 / ISO 5802, round and rectangular ducts
)

// ruleNames are the spellings in files and commands, by Rule.
func ruleNames() []string {
	return []string{"unknown", "method1", "log-linear", "log-tchebycheff"}
}

// String returns the spelling used in files and commands.
func (r Rule) String() string { return ruleNames()[r] }

// ParseRule reads a rule's name; case, spaces and hyphens don't count, and the common transliterations of
// Tchebycheff are known. The error names the known rules and the nearest.
func ParseRule(text string) (Rule, error) {
	key := strings.NewReplacer("-", "", " ", "", "_", "", ".", "").Replace(strings.ToLower(text))
	switch key {
	case "method1", "epamethod1", "method1a", "equalarea", "epa1", "m1":
		return Method1, nil
	case "loglinear", "loglin":
		return LogLinear, nil
	case "logtchebycheff", "logchebyshev", "logchebycheff", "logtchebyshev", "logtschebyscheff", "logtcheby", "tchebycheff":
		return LogTchebycheff, nil
	}
	names := ruleNames()[1:]
	if near := unit.Nearest(text, names); near != "" {
		return RuleUnknown, fmt.Errorf("%q is no rule for traverse points; the nearest is %q", text, near)
	}
	return RuleUnknown, fmt.Errorf("%q is no rule for traverse points; write %s", text, strings.Join(names, ", "))
}

// RoundPositions returns the depths of the points on one diameter as shares of it [-], 0 to 1 from the wall, ascending.
//
//	points  number of points on the diameter: any even number from 2 to 24 for Method1, 6, 8 or 10 for the log rules
//
// Other numbers and RuleUnknown give nil.
// Source: Method1: 40 CFR 60 App. A-1 Method 1 Table 1-2, which is 50 (1 - sqrt(1 - (2k-1)/n)) percent; log rules:
// ISO 5802:2001 Tables 2 and 3 (6 and 8 points), 10 points of log-Tchebycheff from memory.
// Check values: testdata/epa_method1_circular_points.csv, testdata/log_tchebycheff_points.csv.
func RoundPositions(rule Rule, points int) []float64 {
	var half []float64
	switch {
	case rule == Method1 && points >= 2 && points <= 24 && points%2 == 0:
		for k := 1; k <= points/2; k++ {
			half = append(half, 0.5*(1-math.Sqrt(1-float64(2*k-1)/float64(points))))
		}
	case rule == LogLinear:
		half = map[int][]float64{6: {0.032, 0.135, 0.321}, 8: {0.021, 0.117, 0.184, 0.345}, 10: {0.019, 0.077, 0.153, 0.217, 0.361}}[points]
	case rule == LogTchebycheff:
		half = map[int][]float64{6: {0.032, 0.137, 0.312}, 8: {0.024, 0.100, 0.194, 0.334}, 10: {0.019, 0.076, 0.155, 0.205, 0.357}}[points]
	}
	return mirrored(half)
}

// SidePositions returns the positions along one side of a rectangular duct as shares of it [-], ascending: cell centres for
// Method1 (1 to 20 points), 5, 6 or 7 points for LogTchebycheff. Other numbers and rules give nil.
// Source: Method 1 section 11.3 (centroids; from memory); ISO 3966 and ASHRAE 111 as quoted by an instrument appendix
// (verified). Check values: testdata/log_tchebycheff_points.csv.
func SidePositions(rule Rule, points int) []float64 {
	switch {
	case rule == Method1 && points >= 1 && points <= 20:
		all := make([]float64, points)
		for k := range all {
			all[k] = (float64(k) + 0.5) / float64(points)
		}
		return all
	case rule == LogTchebycheff && points == 6:
		return mirrored([]float64{0.061, 0.235, 0.437})
	case rule == LogTchebycheff && points == 5:
		return []float64{0.074, 0.288, 0.500, 0.712, 0.926}
	case rule == LogTchebycheff && points == 7:
		return []float64{0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947}
	}
	return nil
}

// mirrored adds the far half of a diameter.
func mirrored(half []float64) []float64 {
	all := append([]float64(nil), half...)
	for i := len(half) - 1; i >= 0; i-- {
		all = append(all, 1-half[i])
	}
	return all
}

// clearance is how near to the wall Method 1 allows a point [m]: 1.0 in above 24 in diameter, 0.5 in below.
// Source: 40 CFR 60 App. A-1 Method 1 section 11.3.1 (from memory).
func clearance(d unit.Length) unit.Length {
	if d > 24*unit.Inch*(1+1e-9) {
		return 1.0 * unit.Inch
	}
	return 0.5 * unit.Inch
}
