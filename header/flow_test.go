package header

import (
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

const dm3PerBar = 1e-8 // m3/(s Pa) per dm3/(s bar)

// near fails unless got is within tol of want, relative where want is not 0.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol*math.Max(math.Abs(want), 1e-300)) && !(want == 0 && math.Abs(got) <= tol) {
		t.Errorf("%s: got %.7g, want %.7g (within %.2g)", what, got, want, tol)
	}
}

func psig(p float64) float64 { return p*unit.Psi + 101325 }

func TestISO6358(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/iso6358_flow.csv") {
		n := Nozzle{C: unit.Conductance(r.Float("C_dm3_s_bar") * dm3PerBar), B: unit.Share(r.Float("b"))}
		p1 := psig(r.Float("p1_psig"))
		q := n.Flow(unit.AbsPressure(p1), unit.Temperature(r.Float("T1_K")), unit.AbsPressure(p1*r.Float("p2_over_p1")))
		near(t, r.Path, float64(q), r.Float("qm_kg_s"), 1e-5)
		near(t, "scfm", float64(StdVolume(unit.Mass(q)))/(unit.CubicFoot/60), r.Float("q_scfm_14.5psia_68F"), 1e-5)
	}
	if q := (Nozzle{C: 1e-8, B: 0.3}).Flow(1e5, 293, 2e5); q != 0 {
		t.Errorf("flow against the pressure: got %g, want 0", q)
	}
}

func TestThroat(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/valve_coefficient_conversion.csv") {
		d := map[string]float64{"round throat d=10 mm, Cd=1": 10, "round throat d=20 mm, Cd=1": 20, "round throat d=50 mm, Cd=1": 50,
			"A_eff ideal sonic nozzle 1 mm2": 2 / math.Sqrt(math.Pi)}[r.Text("input")]
		if d > 0 {
			near(t, r.Text("input"), float64(Throat(unit.Length(d/1000), 1))/dm3PerBar, r.Float("value"), 1e-5)
		}
	}
}

func TestBlowdownClosedForm(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/blowdown_nozzle.csv") {
		b := Blowdown{Volume: unit.Volume(r.Float("V_L") / 1000), C: Throat(unit.Length(r.Float("d_mm")/1000), unit.Share(r.Float("Cd"))),
			P0: unit.AbsPressure(psig(r.Float("p0_psig"))), T0: unit.Temperature(r.Float("T0_K"))}
		near(t, "tau", float64(b.Tau()), r.Float("tau_s"), 2e-6)
		dt := unit.Seconds(r.Float("t_s"))
		p, temp := b.Adiabatic(dt)
		near(t, "isothermal", float64(b.Isothermal(dt)), 1000*r.Float("p_iso_choked_kPa"), 3e-6)
		near(t, "adiabatic", float64(p), 1000*r.Float("p_adi_choked_kPa"), 3e-6)
		if r.Text("adi_still_choked") == "yes" {
			near(t, "temperature", float64(temp), r.Float("T_adi_ode_K"), 1e-5)
		}
	}
}

// The text-book tank of Bird, Stewart and Lightfoot (free batch expansion): problem read, answer computed
// in the pulse-air reference.
func TestBlowdownTextbook(t *testing.T) {
	area := 0.1 * unit.Foot * unit.Foot
	b := Blowdown{Volume: 10 * unit.CubicFoot, C: Throat(unit.Length(math.Sqrt(4*area/math.Pi)), 1), P0: 100 * 101325, T0: 300}
	near(t, "tau", float64(b.Tau()), 0.151689, 1e-5)
	p, temp := b.Adiabatic(0.57830)
	near(t, "pressure", float64(p)/101325, 1.893, 1e-3)
	near(t, "temperature", float64(temp), 96.58, 1e-3)
}

func TestLeakDecay(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/header_leak_decay.csv") {
		c := Throat(unit.Length(r.Float("hole_mm")/1000), unit.Share(r.Float("Cd")))
		v := unit.Volume(r.Float("V_L") / 1000)
		p0, p1 := unit.AbsPressure(psig(r.Float("p_start_psig"))), unit.AbsPressure(psig(r.Float("p_end_psig")))
		b := Blowdown{Volume: v, C: c, P0: p0, T0: t0}
		dt := b.TimeTo(p1)
		near(t, "time", float64(dt), r.Float("t_s"), 1e-5)
		near(t, "conductance back", float64(LeakConductance(v, p0, p1, dt, t0)), float64(c), 1e-9)
		mean := StdVolume(unit.Mass(float64(p0-p1)*float64(v)/(gasConstant*t0))) / unit.Volume(dt)
		near(t, "mean leak", float64(mean)/(unit.CubicFoot/60), r.Float("mean_leak_scfm_14.5psia_68F"), 1e-4)
	}
}

func TestRefillClosedForm(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/header_refill.csv") {
		n := Nozzle{C: unit.Conductance(r.Float("C_supply_dm3_s_bar") * dm3PerBar), B: unit.Share(r.Float("b"))}
		got := RefillTime(unit.Volume(r.Float("V_L")/1000), n, unit.AbsPressure(psig(r.Float("p_supply_psig"))),
			unit.AbsPressure(psig(r.Float("p_start_psig"))), unit.AbsPressure(psig(r.Float("p_target_psig"))))
		near(t, r.Text("case"), float64(got), r.Float("t_isothermal_s"), 2e-5)
	}
}
