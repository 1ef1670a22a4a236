package trace

import (
	"math"
	"path/filepath"
	"strconv"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

const psi = 6894.757293168

// referenceSpec is the machine of the reference traces.
func referenceSpec() Spec {
	return Spec{Valves: 8, Interval: 10, Volume: 0.020, ValveFlow: 60e-8, OnTime: 0.1, Set: 60 * psi}
}

// referenceTrace takes one supply of header/testdata/header_cycle_trace_50hz.csv.
func referenceTrace(t *testing.T, supply string) *Trace {
	t.Helper()
	tr := &Trace{}
	for _, row := range unittest.Table(t, filepath.Join("..", "..", "header", "testdata", "header_cycle_trace_50hz.csv")) {
		tr.Time = append(tr.Time, row.Float("time_s"))
		tr.Header = append(tr.Header, row.Float(supply+"_psig")*psi)
	}
	return tr
}

// TestReference compares drops, recoveries and states with an independent integration of the same
// cycle: valve 3 half open, 4 dead, 6 too short, 8 closing 200 ms late; four supplies.
func TestReference(t *testing.T) {
	rows := unittest.Table(t, filepath.Join("..", "..", "header", "testdata", "header_cycle_features.csv"))
	want := map[string]State{"ok": OK, "weak_half_C": Weak, "dead": Dead, "short_50ms": Weak, "slow_close_plus200ms": OK}
	for _, supply := range []string{"supply_ok", "supply_starved", "bleed_1mm2_like_C0.2", "bleed_C2"} {
		t.Run(supply, func(t *testing.T) {
			r, err := Analyse(referenceTrace(t, supply), referenceSpec())
			if err != nil {
				t.Fatal(err)
			}
			for _, row := range rows {
				if row.Text("case") != supply {
					continue
				}
				n, err := strconv.Atoi(row.Text("valve"))
				if err != nil {
					t.Fatal(err)
				}
				v := r.Valves[n-1]
				cond := row.Text("condition")
				if v.State != want[cond] || v.Unsure {
					t.Errorf("valve %d (%s): %s, %.2f, unsure %v: %s", n, cond, v.State, v.Probability, v.Unsure, v.Why)
				}
				if v.Late != (cond == "slow_close_plus200ms") {
					t.Errorf("valve %d (%s): late %v", n, cond, v.Late)
				}
				compareDrop(t, r, n, row)
				compareRecovery(t, v, row)
			}
		})
	}
}

// compareDrop: the drop seen on the turn, within 4 % and 0.5 psi; the shape fitted is one for all valves.
func compareDrop(t *testing.T, r Result, n int, row unittest.Row) {
	t.Helper()
	for _, p := range r.Pulses {
		if p.Valve != n || p.Extra {
			continue
		}
		got, want := float64(p.Drop)/psi, row.Float("drop_psi")
		if math.Abs(got-want) > 0.04*want+0.5 {
			t.Errorf("valve %d: drop %.2f psi, want %.2f", n, got, want)
		}
		if fired := want > 0; p.Fired != fired {
			t.Errorf("valve %d: fired %v, want %v", n, p.Fired, fired)
		}
		if got, want := float64(p.Before)/psi, row.Float("p_before_psig"); math.Abs(got-want) > 0.5 {
			t.Errorf("valve %d: %.2f psi before, want %.2f", n, got, want)
		}
	}
}

func compareRecovery(t *testing.T, v Valve, row unittest.Row) {
	t.Helper()
	before, low, next := row.Float("p_before_psig"), row.Float("p_min_psig"), row.Float("p_before_next_psig")
	if row.Float("drop_psi") == 0 {
		if !math.IsNaN(v.Recovered) {
			t.Errorf("valve %d: recovered %.2f without a drop", v.Number, v.Recovered)
		}
		return
	}
	if want := (next - low) / (before - low); math.Abs(v.Recovered-want) > 0.03 {
		t.Errorf("valve %d: recovered %.3f, want %.3f", v.Number, v.Recovered, want)
	}
	if !row.Has("t_95pct_recovery_after_min_s") {
		if !math.IsNaN(float64(v.Recovery)) {
			t.Errorf("valve %d: recovery in %.2f s, want none", v.Number, float64(v.Recovery))
		}
		return
	}
	if want := row.Float("t_95pct_recovery_after_min_s"); math.Abs(float64(v.Recovery)-want) > 0.1*want {
		t.Errorf("valve %d: recovery in %.2f s, want %.2f", v.Number, float64(v.Recovery), want)
	}
}

var _ unit.Pressure
