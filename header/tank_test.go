package header

import (
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

// The tank of the check values has no subsonic gap and isothermal or no walls.
func tank(volume float64, heat float64) Tank {
	return Tank{Volume: unit.Volume(volume / 1000), WallHeat: heat, Supply: Supply{Set: 0, Nozzle: Nozzle{B: 0.3}}}
}

func TestPulseWithoutSupply(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/header_pulse.csv") {
		tk := tank(r.Float("V_L"), 0)
		if r.Text("model") == "isothermal" {
			tk.WallHeat = math.Inf(1)
		}
		on := unit.Seconds(r.Float("on_s"))
		v := Valve{Nozzle: Nozzle{C: unit.Conductance(r.Float("C_dm3_s_bar") * dm3PerBar), B: unit.Share(r.Float("b"))}, On: on}
		start := State{P: unit.AbsPressure(psig(r.Float("p0_psig"))), T: t0}
		for name, run := range map[string]func(State, Valve, unit.Seconds) (Pulse, State){"exact": tk.PulseExact, "fast": tk.Pulse} {
			tol := map[string]float64{"exact": 1e-5, "fast": 5e-3}[name]
			p, end := run(start, v, on)
			near(t, name+" drop "+r.Text("model"), float64(p.Drop())/unit.Psi, r.Float("drop_psi"), tol)
			near(t, name+" air", float64(p.Air)*1000, r.Float("air_g"), tol)
			near(t, name+" temperature", float64(end.T), r.Float("T_end_K"), tol)
		}
	}
}

func TestRefillByIntegration(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/header_refill.csv") {
		tk := tank(r.Float("V_L"), 0)
		tk.Supply = Supply{Nozzle: Nozzle{C: unit.Conductance(r.Float("C_supply_dm3_s_bar") * dm3PerBar), B: unit.Share(r.Float("b"))},
			Set: unit.Pressure(r.Float("p_supply_psig") * unit.Psi)}
		start := unit.AbsPressure(psig(r.Float("p_start_psig")))
		target := psig(r.Float("p_target_psig"))
		end, _, _ := tk.Rest(State{P: start, T: unit.Temperature(r.Float("T_start_adiabatic_K"))}, unit.Seconds(r.Float("t_adiabatic_s")))
		rise := target - float64(start)
		near(t, "adiabatic rise", float64(end.P)-float64(start), rise, 5e-3)
		near(t, "adiabatic temperature", float64(end.T), r.Float("T_end_adiabatic_K"), 2e-3)
		tk.WallHeat = math.Inf(1)
		end, _, _ = tk.Rest(State{P: start, T: t0}, unit.Seconds(r.Float("t_isothermal_s")))
		near(t, "isothermal rise", float64(end.P)-float64(start), rise, 5e-3)
	}
}

func TestRegulatorDroop(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/regulator_droop.csv") {
		tk := tank(20, math.Inf(1))
		tk.Supply = Supply{Nozzle: Nozzle{C: unit.Conductance(r.Float("C_supply_dm3_s_bar") * dm3PerBar), B: 0.3}, Set: 60 * unit.Psi,
			Droop: r.Float("droop_psi_per_scfm") * unit.Psi / (unit.CubicFoot / 60 * 1.18806)}
		b := tk.body(Valve{})
		q := b.supply(psig(35))
		near(t, "flow at 35 psig", q/1.18806/(unit.CubicFoot/60), r.Float("flow_at_35psig_scfm_14.5psia_68F"), 2e-5)
		near(t, "regulator outlet", (float64(tk.Supply.Set)-tk.Supply.Droop*q)/unit.Psi, r.Float("reg_outlet_at_35psig_psig"), 2e-5)
		end, _, _ := tk.Rest(State{P: unit.AbsPressure(psig(35)), T: t0}, unit.Seconds(r.Float("t_35_to_57_psig_s")))
		near(t, "35 to 57 psig", (float64(end.P)-psig(35))/unit.Psi, 22, 5e-3)
	}
}

func TestBleedSteadyState(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/header_bleed_steady_state.csv") {
		tk := tank(20, 2)
		tk.Leak = unit.Conductance(r.Float("C_bleed_dm3_s_bar") * dm3PerBar)
		tk.Supply = Supply{Nozzle: Nozzle{C: unit.Conductance(r.Float("C_supply_dm3_s_bar") * dm3PerBar), B: 0.3},
			Set: unit.Pressure(r.Float("p_supply_psig") * unit.Psi)}
		at := float64(tk.Equilibrium().P) - 101325
		near(t, "header", at/unit.Psi, r.Float("header_psig"), 2e-5)
		end, _, leaked := tk.Rest(tk.Equilibrium(), 60)
		near(t, "stays there", float64(end.P)-101325, at, 1e-3)
		near(t, "bleed", float64(StdVolume(leaked))/60/(unit.CubicFoot/60), r.Float("bleed_scfm_14.5psia_68F"), 2e-4)
	}
}

// referenceTank is the header of header_cycle_features.csv.
func referenceTank(name string) Tank {
	tk := Tank{Volume: 0.020, WallHeat: 2, Supply: Supply{Nozzle: Nozzle{C: 4 * dm3PerBar, B: 0.3}, Set: 60 * unit.Psi}}
	switch name {
	case "supply_starved":
		tk.Supply.C = 0.6 * dm3PerBar
	case "bleed_1mm2_like_C0.2":
		tk.Leak = 0.2 * dm3PerBar
	case "bleed_C2":
		tk.Leak = 2 * dm3PerBar
	}
	return tk
}

func referenceValve(condition string) Valve {
	v := DefaultValve(60*dm3PerBar, 0.1)
	switch condition {
	case "weak_half_C":
		v.C /= 2
	case "dead":
		v.C = 0
	case "short_50ms":
		v.On = 0.05
	case "slow_close_plus200ms":
		v.CloseDelay += 0.2
	}
	return v
}

// The whole cycle with faults and four supplies. The table's own "lowest" are read from a trace in 2 ms
// steps, its recovery times too, hence the tolerances.
func TestHeaderCycle(t *testing.T) {
	var s State
	for _, r := range unittest.Table(t, "testdata/header_cycle_features.csv") {
		tk := referenceTank(r.Text("case"))
		if r.Text("valve") == "1" {
			s, _, _ = tk.Rest(tk.Equilibrium(), 2)
		}
		v := referenceValve(r.Text("condition"))
		fast, end := tk.Pulse(s, v, 10)
		exact, endExact := tk.PulseExact(s, v, 10)
		for name, p := range map[string]Pulse{"exact": exact, "fast": fast} {
			tol := map[string]float64{"exact": 2e-3, "fast": 5e-3}[name]
			near(t, name+" before "+r.Text("case")+r.Text("valve"), float64(p.Before)/unit.Psi, r.Float("p_before_psig"), 2e-3)
			near(t, name+" drop "+r.Text("case")+r.Text("valve"), float64(p.Drop())/unit.Psi, r.Float("drop_psi"), tol)
			if r.Text("valve") != "8" {
				near(t, name+" before next", float64(p.End)/unit.Psi, r.Float("p_before_next_psig"), 2e-3)
			}
			if r.Has("t_95pct_recovery_after_min_s") {
				near(t, name+" recovery", float64(p.Recovery), r.Float("t_95pct_recovery_after_min_s"), map[string]float64{"exact": 0.01, "fast": 0.03}[name])
			}
		}
		if r.Text("condition") != "dead" {
			near(t, "fast against exact: drop", float64(fast.Drop()), float64(exact.Drop()), 5e-3)
		}
		near(t, "fast against exact: air", float64(fast.Air), float64(exact.Air), 5e-3)
		near(t, "fast against exact: end", float64(fast.End), float64(exact.End), 5e-3)
		near(t, "fast against exact: temperature", float64(end.T), float64(endExact.T), 5e-3)
		s = endExact
	}
}

// The contract's log has lows of 33.5 to 33.8 psi.
func TestContractHeader(t *testing.T) {
	tk := Tank{Volume: 0.020, WallHeat: DefaultWallHeat(0.020), Supply: SupplyOf(60*unit.Psi, 20*cfm)}
	p, _ := tk.Pulse(tk.Equilibrium(), DefaultValve(Installed(18*unit.KvOfCv*unit.ConductanceOfKv), 0.15), 10)
	near(t, "low", float64(p.Low)/unit.Psi, 33, 0.05)
	if !(p.Recovered > 0.99) {
		t.Errorf("recovered %g of the drop within 10 s", float64(p.Recovered))
	}
}

func TestImpossibleTankGivesNaN(t *testing.T) {
	p, s := Tank{Volume: unit.Volume(math.NaN())}.Pulse(State{P: 5e5, T: 293}, DefaultValve(6e-7, 0.1), 10)
	if !math.IsNaN(float64(p.Low)) || !math.IsNaN(float64(s.P)) || !math.IsNaN(float64(p.Recovered)) {
		t.Errorf("got %+v, %+v; want NaN throughout", p, s)
	}
	for _, bad := range []Tank{{}, {Volume: 1, WallHeat: -1}, {Volume: 1, Supply: Supply{Set: -1}}, {Volume: 1, Leak: -1}, {Volume: 1, Supply: Supply{Nozzle: Nozzle{B: 1}}}} {
		if bad.Check() == nil {
			t.Errorf("Check(%+v) accepted it", bad)
		}
	}
}

func BenchmarkPulse(b *testing.B) {
	tk, v := referenceTank("supply_ok"), referenceValve("ok")
	s := tk.Equilibrium()
	b.ReportAllocs()
	for b.Loop() {
		_, s = tk.Pulse(s, v, 10)
	}
}
