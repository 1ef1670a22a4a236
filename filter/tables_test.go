package filter

import (
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

const (
	fpm = unit.Foot / 60
	ft2 = unit.Foot * unit.Foot
	cfm = unit.CubicFoot / 60
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s: got %.8g, want %.8g within %.2g", what, got, want, tol)
	}
}

func TestWorkedExamples(t *testing.T) {
	gr := unit.Grain / unit.CubicFoot
	v := unit.Velocity(4.689222 * fpm)
	pj := PulseJet{V: v, Header: 100 * unit.Psi, K2: 15 * k2Trade, C: unit.Concentration(4 * gr), Between: 600}
	felt := Felt{Material: 9, Application: 0.8, T: unit.Temperature((275-32)/1.8 + 273.15), Loading: unit.Concentration(4 * gr), Mean: 7e-6}
	pj469 := pj
	pj469.V = unit.Velocity(4.69 * fpm)
	kWh := func(q, inwg, h float64) float64 {
		return float64(FanEnergy(unit.Flow(q*cfm), unit.Pressure(inwg*unit.InchWater), unit.Seconds(h*3600), 0.65)) / 3.6e6
	}
	got := map[string]float64{
		"FF01": float64(felt.Ratio()) / fpm,
		"FF02": 10000 * cfm / float64(v) / ft2,
		"FF05": float64(pj469.Dust()) / (unit.Pound / ft2),
		"FF06": float64(pj469.Residual()) / unit.InchWater,
		"FF07": float64(pj.DP()) / unit.InchWater,
		"FF21": float64(CapitalRecovery(0.10, 2)), "FF22": float64(CapitalRecovery(0.10, 20)),
		"FF23": float64(CapitalRecovery(0.07, 2)), "FF24": float64(CapitalRecovery(0.07, 20)),
		// The Manual's constants 1.81e-4 and 6356 are rounded and mean another inch of water: 0.6 %.
		"FF09": kWh(50000, 10.3, 8640), "FF17": kWh(110000, 10, 6000),
	}
	seen := 0
	for _, r := range unittest.Table(t, "testdata/fabric_filter_worked_examples.csv") {
		g, ok := got[r.Text("id")]
		if !ok {
			continue
		}
		seen++
		tol := 0.0
		switch r.Text("id") {
		case "FF09", "FF17":
			tol = 0.006 * r.Float("expected")
		default:
			tol = r.Float("abs_tolerance")
		}
		near(t, r.Text("id")+" "+r.Text("quantity"), g, r.Float("expected"), tol)
	}
	if seen != len(got) {
		t.Errorf("the table holds %d of the %d examples", seen, len(got))
	}
}

func TestCycleTime(t *testing.T) {
	in := func(x float64) unit.Pressure { return unit.Pressure(x * unit.InchWater) }
	for _, r := range unittest.Table(t, "testdata/cycle_time_vs_residual.csv") {
		got := CycleTime(in(r.Float("residual_dP_in_wg")), in(r.Float("trigger_dP_in_wg")), 15*k2Trade, unit.Concentration(4*unit.Grain/unit.CubicFoot), unit.Velocity(4.69*fpm))
		near(t, "cycle", float64(got)/60, r.Float("cycle_min"), 1e-4*math.Max(1, r.Float("cycle_min")))
	}
	if c := CycleTime(unit.Pressure(math.NaN()), 1, 1, 1, 1); !math.IsNaN(float64(c)) {
		t.Errorf("NaN in gives %g", float64(c))
	}
}

func TestPermeability(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/permeability_to_drag.csv") {
		p := unit.Velocity(r.Float("P_cfm_ft2_at_0.5in") * fpm)
		s := PermeabilityDrag(p)
		near(t, "drag", float64(s), r.Float("drag_Pa_s_per_m"), 1e-5*float64(s))
		near(t, "drag in trade units", float64(s)/inwgPerFpm, r.Float("drag_in_wg_per_fpm"), 1e-6)
		near(t, "dP at 4 ft/min", float64(s)*4*fpm/unit.InchWater, r.Float("clean_dP_in_wg_at_4fpm"), 1e-5)
	}
}

func TestPublishedTables(t *testing.T) {
	near(t, "K2 unit", k2Trade, 10043, 1)
	columns := []string{"~800um", "~100um", "~44um", "<90um", "<45um", "<20um", "<2um"}
	for _, r := range unittest.Table(t, "testdata/k2_dust_resistance.csv") {
		for i, c := range columns {
			k, ok := PublishedK2(r.Text("dust"), DustSize(i))
			if ok != r.Has(c) {
				t.Errorf("%s %s: found %t, the table has %t", r.Text("dust"), c, ok, r.Has(c))
			} else if ok {
				near(t, r.Text("dust")+c, float64(k)/k2Trade, r.Float(c), 1e-9)
			}
		}
	}
	rows := unittest.Table(t, "testdata/gas_to_cloth_ratio.csv")
	for _, r := range rows {
		w, p, ok := GasToCloth(r.Text("dust"))
		if !ok {
			t.Errorf("no %s", r.Text("dust"))
			continue
		}
		near(t, r.Text("dust"), float64(w)/fpm, r.Float("shaker_or_reverse_air_woven"), 1e-9)
		near(t, r.Text("dust"), float64(p)/fpm, r.Float("pulse_jet_felt"), 1e-9)
	}
	if len(rows) != len(gasToCloth()) {
		t.Errorf("%d dusts in the table, %d here", len(rows), len(gasToCloth()))
	}
	if _, _, ok := GasToCloth("moon dust"); ok {
		t.Error("moon dust has a ratio")
	}
	for _, r := range unittest.Table(t, "testdata/hepa_resistance.csv") {
		p, ok := MaxCleanResistance(unit.Flow(r.Float("nominal_cfm") * cfm))
		if !ok || float64(p) != r.Float("max_clean_resistance_Pa") {
			t.Errorf("%s cfm: %g Pa %t", r.Text("nominal_cfm"), float64(p), ok)
		}
	}
	if _, ok := MaxCleanResistance(unit.Flow(700 * cfm)); ok {
		t.Error("700 cfm has a size")
	}
}

// The seasoning is the reference's exponential form, with dust in place of cycles.
func TestSeasoningForm(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/conditioning_curves.csv") {
		law := Default(unit.Drag(0.10 * inwgPerFpm))
		law.SeasonRise, law.SeasonDust, law.CreepDust = unit.Drag(0.20*inwgPerFpm), 1, 0
		b, err := NewBank(law, []unit.Area{10})
		if err != nil {
			t.Fatal(err)
		}
		if err := b.Load(unit.Mass(10 * r.Float("n_cycles") / 1000)); err != nil {
			t.Fatal(err)
		}
		near(t, "n = "+r.Text("n_cycles"), float64(b.Rows[0].Residual())/inwgPerFpm, r.Float("S_exponential"), 2e-6)
	}
}
