package duct

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"dustwright/unit"
)

// failer is what helpers need of a test or of a property.
type failer interface {
	Helper()
	Fatal(args ...any)
}

// dryish is a moist-air model good enough for tests: ideal gases, a crude saturation pressure, the standard atmosphere.
func dryish() AirModel {
	saturation := func(t unit.Temperature) float64 {
		c := float64(t) - unit.ZeroCelsius
		return 610.94 * math.Exp(17.625*c/(c+243.04))
	}
	ratio := func(pv, p float64) unit.Share { return unit.Share(0.621945 * pv / (p - pv)) }
	return AirModel{
		Density: func(t unit.Temperature, p unit.AbsPressure, w unit.Share) unit.Density {
			return unit.Density(float64(p) * (1 + float64(w)) / (287.042 * float64(t) * (1 + 1.607858*float64(w))))
		},
		HumidityRatio: func(t unit.Temperature, p unit.AbsPressure, rh unit.Share) unit.Share {
			return ratio(float64(rh)*saturation(t), float64(p))
		},
		FromWetBulb: func(t, wet unit.Temperature, p unit.AbsPressure) unit.Share {
			return ratio(saturation(wet)-0.000662*float64(p)*float64(t-wet), float64(p))
		},
		Barometer: func(z unit.Length) unit.AbsPressure {
			return unit.AbsPressure(101325 * math.Pow(1-2.25577e-5*float64(z), 5.2559))
		},
	}
}

// wellGiven is a traverse of which everything but the readings is known.
func wellGiven(s Section, rule Rule) Traverse {
	tr := NewTraverse()
	d := s.Hydraulic()
	tr.Section, tr.Rule, tr.Before, tr.After, tr.Tolerance = s, rule, 10*d, 5*d, 0.001
	tr.Air = Conditions{Temperature: 294, Barometer: 100000, Humidity: 0.4, Static: -800,
		Elevation: tr.Air.Elevation, WetBulb: tr.Air.WetBulb, Density: tr.Air.Density}
	tr.Instrument = Instrument{Coefficient: 0.99, CoefficientWidth: 0.005, Resolution: 1, AccuracyShare: 0.01, AccuracyPressure: 1}
	return tr
}

// fill gives every point of the rule's plan the velocity v says at the place.
func fill(t failer, tr *Traverse, v func(line int, across, deep float64) float64) {
	t.Helper()
	plan, err := NewPlan(PlanRequest{Section: tr.Section, Rule: tr.Rule, Before: tr.Before, After: tr.After})
	if err != nil {
		t.Fatal(err)
	}
	tr.Readings = nil
	rho := density(t, *tr)
	for _, p := range plan.Points {
		line := plan.Lines[p.Line-1]
		across := math.NaN()
		if !tr.Section.IsRound() {
			across = float64(line.Offset / tr.Section.Width)
		}
		raw := v(p.Line, across, float64(p.FromWall/line.Depth)) / tr.Instrument.Coefficient
		tr.Readings = append(tr.Readings, Reading{Line: p.Line, Number: p.Number, Position: p.FromWall, Counts: p.Counts,
			VP: unit.Pressure(rho * raw * raw / 2), Velocity: unit.Velocity(math.NaN()), Swirl: math.NaN(), Row: len(tr.Readings) + 10})
	}
}

// density is the true density of a well-given traverse.
func density(t failer, tr Traverse) float64 {
	t.Helper()
	m := dryish()
	p := tr.Air.Barometer + unit.AbsPressure(tr.Air.Static)
	return float64(m.Density(tr.Air.Temperature, p, m.HumidityRatio(tr.Air.Temperature, p, tr.Air.Humidity)))
}

// powerLaw is a profile with exponent n, centre velocity vmax and a tilt along the first line.
func powerLaw(vmax, n, tilt float64) func(int, float64, float64) float64 {
	return func(line int, across, deep float64) float64 {
		v := vmax * math.Exp(wallTerm(deep)/n)
		if !math.IsNaN(across) {
			v *= math.Exp(wallTerm(across) / n)
		}
		if line == 1 {
			v *= math.Exp(tilt * (2*deep - 1))
		}
		return v
	}
}

// roundMean is the true mean of a power law over a round section.
func roundMean(vmax, n float64) float64 { return vmax * 2 * n * n / ((n + 1) * (2*n + 1)) }

func evaluate(t failer, tr Traverse) TraverseResult {
	t.Helper()
	r, err := tr.Evaluate(dryish())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestFlowOfAKnownProfile(t *testing.T) {
	for name, c := range map[string]struct {
		section Section
		rule    Rule
		rel     float64
	}{
		"Method 1":        {Round(0.4), Method1, 0.02},
		"Method 1 large":  {Round(0.8), Method1, 0.02},
		"log-linear":      {Round(0.4), LogLinear, 0.005},
		"log-Tchebycheff": {Round(0.4), LogTchebycheff, 0.005},
	} {
		tr := wellGiven(c.section, c.rule)
		fill(t, &tr, powerLaw(20, 7, 0))
		r := evaluate(t, tr)
		truth := roundMean(20, 7) * float64(c.section.Area())
		near(t, name, float64(r.Flow), truth, c.rel)
		if truth < float64(r.Low) || truth > float64(r.High) {
			t.Errorf("%s: %.4f m3/s is outside %.4f to %.4f", name, truth, float64(r.Low), float64(r.High))
		}
		near(t, name+", exponent", r.Profile.Exponent, 7, 1e-6)
		near(t, name+", mass", float64(r.Mass), float64(r.Flow)*density(t, tr), 1e-12)
		near(t, name+", standard", float64(r.Standard)*unit.StdAirDensity, float64(r.Mass), 1e-12)
		if len(r.Flags) != 0 || len(r.Missing) != 0 || len(r.Notes) != 0 {
			t.Errorf("%s: a clean traverse has flags %v, missing %v, notes %v", name, r.Flags, r.Missing, r.Notes)
		}
	}
	tr := wellGiven(Rect(0.6, 0.4), LogTchebycheff)
	fill(t, &tr, powerLaw(20, 7, 0))
	near(t, "rectangular", float64(evaluate(t, tr).Flow), 20*49.0/64*0.24, 0.005)
}

// EPA's own reckoning for the same readings: vs = Kp Cp mean(sqrt dp) sqrt(Ts/(Ps Ms)), SI constant, dry air of 28.97.
func TestFlowByMethod2(t *testing.T) {
	tr := wellGiven(Round(0.4), Method1)
	tr.Air.Humidity, tr.Air.Static = 0, 0
	tr.Instrument.Coefficient = 0.84
	roots := 0.0
	dps := []float64{10.2, 12.7, 14.1, 13.2, 9.8, 12.1, 14.4, 12.9} // mm of water
	for i, dp := range dps {
		roots += math.Sqrt(dp) / float64(len(dps))
		tr.Readings = append(tr.Readings, Reading{Line: 1 + i/4, Number: 1 + i%4, Position: unit.Length(math.NaN()), VP: unit.Pressure(dp * 9.80665),
			Velocity: unit.Velocity(math.NaN()), Swirl: math.NaN()})
	}
	vs := 34.97 * 0.84 * roots * math.Sqrt(294/(100000/133.322*28.97))
	near(t, "velocity", float64(evaluate(t, tr).Mean), vs, 5e-4)
}

// Every planted fault is found, and no sound reading is accused.
func TestUnusablePoints(t *testing.T) {
	nan := unit.Pressure(math.NaN())
	for name, c := range map[string]struct {
		spoil func(*Reading)
		fate  Fate
		says  string
	}{
		"digit slipped":    {func(r *Reading) { r.VP *= 10 }, FateFilled, "does not fit the pattern"},
		"decimal slipped":  {func(r *Reading) { r.VP /= 10 }, FateFilled, "does not fit the pattern"},
		"half":             {func(r *Reading) { r.VP *= 0.4 }, FateFilled, "does not fit the pattern"},
		"zero":             {func(r *Reading) { r.VP = 0 }, FateFilled, "zero or negative amid flowing air"},
		"negative":         {func(r *Reading) { r.VP = -r.VP }, FateFilled, "zero or negative amid flowing air"},
		"not read":         {func(r *Reading) { r.VP = nan }, FateFilled, "no reading"},
		"standing askew":   {func(r *Reading) { r.Swirl = 25 }, FateDoubted, "25 degrees to the duct"},
		"sound, 3 % high":  {func(r *Reading) { r.VP *= 1.06 }, FateUsed, ""},
		"sound, 10 % low":  {func(r *Reading) { r.VP *= 0.81 }, FateUsed, ""},
		"sound and exact":  {func(*Reading) {}, FateUsed, ""},
		"swirl of no note": {func(r *Reading) { r.Swirl = 8 }, FateUsed, ""},
	} {
		for _, section := range []Section{Round(0.7), Rect(0.7, 0.5)} {
			tr := wellGiven(section, Method1)
			tr.Before = 3 * section.Hydraulic()
			flicker := rand.New(rand.NewPCG(7, 11))
			fill(t, &tr, func(line int, across, deep float64) float64 {
				return powerLaw(18, 7, 0.1)(line, across, deep) * (1 + 0.02*flicker.NormFloat64())
			})
			clean := evaluate(t, tr)
			for _, i := range []int{0, 2, 7, 12} {
				spoilt := tr
				spoilt.Readings = append([]Reading(nil), tr.Readings...)
				c.spoil(&spoilt.Readings[i])
				r := evaluate(t, spoilt)
				what := name + ", point " + string(rune('0'+i%10))
				if c.fate == FateUsed {
					if len(r.Flags) != 0 {
						t.Errorf("%s: accused %+v", what, r.Flags)
					}
					continue
				}
				if len(r.Flags) != 1 || r.Flags[0].Row != spoilt.Readings[i].Row || r.Flags[0].Fate != c.fate || !strings.Contains(r.Flags[0].Why, c.says) {
					t.Errorf("%s: flags %+v, want %v of row %d saying %q", what, r.Flags, c.fate, spoilt.Readings[i].Row, c.says)
				}
				near(t, what+": flow", float64(r.Flow), float64(clean.Flow), 0.01)
				if r.Relative < 0.9*clean.Relative { // the scatter of the rest may be a little smaller by luck
					t.Errorf("%s: a lost point made the flow more certain: %.4f, clean %.4f", what, r.Relative, clean.Relative)
				}
			}
		}
	}
}

func TestRowNobodyRead(t *testing.T) {
	tr := wellGiven(Round(0.4), Method1)
	fill(t, &tr, powerLaw(18, 7, 0))
	whole := evaluate(t, tr)
	tr.Readings = append(tr.Readings[:3:3], tr.Readings[4:]...)
	r := evaluate(t, tr)
	if len(r.Flags) != 1 || r.Flags[0].Line != 1 || r.Flags[0].Number != 4 || r.Flags[0].Fate != FateFilled {
		t.Fatalf("flags %+v, want line 1 point 4 filled", r.Flags)
	}
	near(t, "flow", float64(r.Flow), float64(whole.Flow), 0.002)
}

// Still air in a wake counts as zero; the same zero amid flowing air is a fault.
func TestStillAirInAWake(t *testing.T) {
	tr := wellGiven(Round(0.4), Method1)
	tr.Before = 3 * tr.Section.Diameter
	fill(t, &tr, func(_ int, _, deep float64) float64 { return 12 * deep * deep })
	for i := range tr.Readings {
		if tr.Readings[i].VP < 8 {
			tr.Readings[i].VP = 0
		}
	}
	r := evaluate(t, tr)
	zeros := 0
	for _, f := range r.Flags {
		if f.Fate == FateZero {
			zeros++
		}
	}
	if zeros == 0 || r.Profile.Even || !strings.Contains(strings.Join(r.Notes, " "), "75 %") {
		t.Errorf("%d zeros counted, even %v, notes %v, flags %+v", zeros, r.Profile.Even, r.Notes, r.Flags)
	}
}

func TestRaggedReadingsAreNotThinnedOut(t *testing.T) {
	tr := wellGiven(Round(0.7), Method1)
	tr.Before = 3 * tr.Section.Diameter
	fill(t, &tr, powerLaw(18, 7, 0))
	for i := range tr.Readings {
		if i%3 == 0 {
			tr.Readings[i].VP *= 6
		}
	}
	r := evaluate(t, tr)
	if r.Used != len(tr.Readings) {
		t.Errorf("%d of %d used: %+v", r.Used, len(tr.Readings), r.Flags)
	}
	if r.Relative < 0.05 {
		t.Errorf("a ragged traverse claims %.1f %%", 100*r.Relative)
	}
}

func TestTraverseErrors(t *testing.T) {
	base := wellGiven(Round(0.4), Method1)
	fill(t, &base, powerLaw(18, 7, 0))
	for name, c := range map[string]struct {
		spoil func(*Traverse)
		is    error
		says  string
	}{
		"swapped hoses": {func(tr *Traverse) {
			for i := range tr.Readings {
				tr.Readings[i].VP *= -1
			}
		}, ErrTooFewReadings, "8 of 8 velocity pressures are zero or negative; look whether the hoses"},
		"three points": {func(tr *Traverse) { tr.Readings = tr.Readings[:3] }, ErrTooFewReadings, "3 of 3 points"},
		"none":         {func(tr *Traverse) { tr.Readings = nil }, ErrTooFewReadings, "0 of 0 points"},
		"no section":   {func(tr *Traverse) { tr.Section = Section{} }, ErrSection, ""},
		"vacuum":       {func(tr *Traverse) { tr.Air.Static = -99000 }, ErrNoAir, "units and signs"},
		"density":      {func(tr *Traverse) { tr.Air.Density = 0.075 }, ErrNoAir, "0.075 kg/m3"},
	} {
		tr := base
		tr.Readings = append([]Reading(nil), base.Readings...)
		c.spoil(&tr)
		if _, err := tr.Evaluate(dryish()); !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %v saying %q", name, err, c.is, c.says)
		}
	}
}

// What is not given is named, stands in with a default, and widens the flow.
func TestMissingInputsWiden(t *testing.T) {
	nan := math.NaN()
	full := wellGiven(Round(0.4), Method1)
	fill(t, &full, powerLaw(18, 7, 0))
	sure := evaluate(t, full)
	for what, forget := range map[string]func(*Traverse){
		"temperature": func(tr *Traverse) { tr.Air.Temperature = unit.Temperature(nan) },
		"barometer":   func(tr *Traverse) { tr.Air.Barometer = unit.AbsPressure(nan) },
		"static":      func(tr *Traverse) { tr.Air.Static = unit.Pressure(nan) },
		"humidity":    func(tr *Traverse) { tr.Air.Humidity = unit.Share(nan) },
		"probe":       func(tr *Traverse) { tr.Instrument.Coefficient, tr.Instrument.CoefficientWidth = nan, nan },
		"accuracy": func(tr *Traverse) {
			tr.Instrument.AccuracyShare, tr.Instrument.AccuracyPressure = unit.Share(nan), unit.Pressure(nan)
		},
		"resolution":           func(tr *Traverse) { tr.Instrument.Resolution = nan },
		"tolerance":            func(tr *Traverse) { tr.Tolerance = unit.Length(nan) },
		"upstream, downstream": func(tr *Traverse) { tr.Before = unit.Length(nan) },
		"rule, position": func(tr *Traverse) {
			tr.Rule = RuleUnknown
			for i := range tr.Readings {
				tr.Readings[i].Position = unit.Length(nan)
			}
		},
	} {
		tr := full
		tr.Readings = append([]Reading(nil), full.Readings...)
		forget(&tr)
		r := evaluate(t, tr)
		if len(r.Missing) != 1 || r.Missing[0].What != what || !(r.Missing[0].Costs > 0) {
			t.Errorf("%s: missing %+v", what, r.Missing)
			continue
		}
		if !(r.Relative > sure.Relative) {
			t.Errorf("%s: not knowing it leaves %.5f, knowing it %.5f", what, r.Relative, sure.Relative)
		}
		if got := math.Abs(float64(r.Flow/sure.Flow) - 1); got > 2*r.Relative {
			t.Errorf("%s: the default moves the flow by %.1f %%, the width is %.1f %%", what, 100*got, 200*r.Relative)
		}
	}
	// An elevation does for a barometer and is not missing.
	tr := full
	tr.Air.Barometer, tr.Air.Elevation = unit.AbsPressure(nan), 110
	if r := evaluate(t, tr); len(r.Missing) != 0 || !(r.Relative > sure.Relative) {
		t.Errorf("elevation for barometer: missing %+v", r.Missing)
	}
	tr = full
	tr.Air.Elevation = 1500
	if r := evaluate(t, tr); !strings.Contains(strings.Join(r.Notes, " "), "reduced to sea level") {
		t.Errorf("a sea-level barometer at 1500 m raised no note: %v", r.Notes)
	}
	tr = full
	tr.Air.Humidity, tr.Air.WetBulb = unit.Share(nan), 287.2
	near(t, "wet bulb for humidity", float64(evaluate(t, tr).Flow), float64(sure.Flow), 0.001)
	tr = full
	tr.Air.Density = unit.Density(density(t, full))
	near(t, "density given", float64(evaluate(t, tr).Flow), float64(sure.Flow), 1e-12)
}

func TestBudgetAddsUp(t *testing.T) {
	tr := wellGiven(Round(0.4), LogLinear)
	fill(t, &tr, powerLaw(18, 6, 0.2))
	r := evaluate(t, tr)
	var variance, shares float64
	names := map[string]bool{}
	for _, term := range r.Budget {
		variance += term.Flow * term.Flow
		shares += term.Share
		near(t, term.Name, term.Flow, math.Abs(term.Standard*term.Slope), 1e-12)
		if names[term.Name] || term.Basis == "" {
			t.Errorf("term %q twice or without basis", term.Name)
		}
		names[term.Name] = true
	}
	near(t, "variance", r.Relative*r.Relative, variance, 1e-12)
	near(t, "shares", shares, 1, 1e-12)
	near(t, "interval", float64(r.High-r.Low), 4*r.Relative*float64(r.Flow), 1e-9)
}

// One diameter of two says less than both.
func TestOneDiameterOnly(t *testing.T) {
	tr := wellGiven(Round(0.4), Method1)
	fill(t, &tr, powerLaw(18, 7, 0))
	both := evaluate(t, tr)
	tr.Readings = tr.Readings[:4]
	one := evaluate(t, tr)
	near(t, "flow", float64(one.Flow), float64(both.Flow), 1e-9)
	if one.Relative < both.Relative+0.005 || !strings.Contains(strings.Join(one.Notes, " "), "4 points were laid out; the rule asks for 8") {
		t.Errorf("one diameter: within %.4f, both: %.4f; notes %v", one.Relative, both.Relative, one.Notes)
	}
}

func TestVelocityReadings(t *testing.T) {
	tr := wellGiven(Round(0.4), LogLinear)
	fill(t, &tr, powerLaw(18, 7, 0))
	want := evaluate(t, tr)
	for i := range tr.Readings {
		r := &tr.Readings[i]
		r.Velocity = Velocity(r.VP, unit.Density(density(t, tr)))
		r.VP = unit.Pressure(math.NaN())
	}
	tr.Instrument.Resolution = 0.1
	got := evaluate(t, tr)
	near(t, "flow", float64(got.Flow), float64(want.Flow), 1e-12)
	for _, term := range got.Budget {
		if strings.HasPrefix(term.Name, "density") {
			t.Errorf("the density enters a flow of velocities: %+v", term)
		}
	}
	if !(got.StandardRelative > got.Relative) {
		t.Errorf("the standard flow rests on the density: %.4f, flow %.4f", got.StandardRelative, got.Relative)
	}
}

func TestRepeatedReadingsAreOnePoint(t *testing.T) {
	tr := wellGiven(Round(0.4), LogLinear)
	fill(t, &tr, powerLaw(18, 7, 0))
	once := evaluate(t, tr)
	again := append([]Reading(nil), tr.Readings...)
	for i := range again {
		tr.Readings[i].VP *= 1.02 * 1.02
		again[i].VP *= 0.98 * 0.98
	}
	tr.Readings = append(tr.Readings, again...)
	r := evaluate(t, tr)
	near(t, "flow", float64(r.Flow), float64(once.Flow), 1e-9)
	if r.Readings != once.Readings {
		t.Errorf("%d points, want %d", r.Readings, once.Readings)
	}
}

func TestRuleFoundFromPositions(t *testing.T) {
	for _, c := range []struct {
		section Section
		rule    Rule
	}{{Round(0.15), Method1}, {Round(0.4), Method1}, {Round(0.4), LogLinear}, {Round(0.4), LogTchebycheff}, {Rect(0.6, 0.4), LogTchebycheff}, {Rect(0.6, 0.4), Method1}} {
		tr := wellGiven(c.section, c.rule)
		fill(t, &tr, powerLaw(18, 7, 0))
		tr.Rule = RuleUnknown
		r := evaluate(t, tr)
		// 8 points log-linear and log-Tchebycheff lie within 17 thousandths of each other: either name will do.
		if !r.RuleFound || r.Rule != c.rule && c.rule == Method1 {
			t.Errorf("%v in %+v: found %v", c.rule, c.section, r.Rule)
		}
	}
}
