package fan

import (
	"errors"
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

func TestThreePhasePower(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/three_phase_power.csv") {
		p := ThreePhasePower(unit.Voltage(r.Float("V_line")), unit.Current(r.Float("I_A")), unit.Share(r.Float("PF")))
		near(t, "power", float64(p)/1000, r.Float("P_kW"), 1.5e-4)
	}
}

// contract is the nameplate of the contract's collector file.
func contract() Motor {
	return Motor{Rated: 15 * unit.Horsepower, Voltage: 460, FullLoad: 18.5, Efficiency: 0.91, PowerFactor: 0.86}
}

func TestMotorMeetsItsNameplate(t *testing.T) {
	for _, m := range []Motor{contract(), {Rated: 7500, Voltage: 400, FullLoad: 14.5}, {Rated: 7500, Voltage: 400, FullLoad: 14.5, PowerFactor: 0.85}} {
		i, err := m.Current(m.Rated)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "full load", float64(i.Value), float64(m.FullLoad), 1e-9)
		if s := float64(i.Sigma / i.Value); s < 0.02 || s > 0.08 {
			t.Errorf("width at full load %.3f", s)
		}
		half, err := m.Current(m.Rated / 2)
		if err != nil {
			t.Fatal(err)
		}
		if half.Value <= m.FullLoad/2 || half.Value >= i.Value || half.Sigma/half.Value <= i.Sigma/i.Value {
			t.Errorf("half load draws %.2f +- %.2f of %.2f A", float64(half.Value), float64(half.Sigma), float64(m.FullLoad))
		}
		back, err := m.Shaft(half.Value, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "half load back", float64(back.Value), float64(m.Rated)/2, 1)
		if back.Sigma/back.Value < 0.05 || back.Sigma/back.Value > 0.25 {
			t.Errorf("width of the shaft power at half load: %.3f", float64(back.Sigma/back.Value))
		}
		metered := m.ShaftFromInput(m.Input(m.Rated/2), 0)
		near(t, "from a power meter", float64(metered.Value), float64(m.Rated)/2, 1)
		if metered.Sigma >= back.Sigma {
			t.Error("a power meter is no firmer than amps")
		}
	}
}

func TestMotorAnswersHonestly(t *testing.T) {
	m := contract()
	if _, err := m.Shaft(2, 0); !errors.Is(err, ErrBelowNoLoad) {
		t.Errorf("2 A: %v", err)
	}
	for _, bad := range []Motor{{}, {Rated: 1}, {Rated: 1, Voltage: 1}, {Rated: 1, Voltage: 1, FullLoad: 1, Efficiency: 2}, {Rated: 1, Voltage: 1, FullLoad: 1, PowerFactor: -1}} {
		if _, err := bad.Current(1); err == nil {
			t.Errorf("%+v was accepted", bad)
		}
		if _, err := bad.Shaft(1, 0); err == nil {
			t.Errorf("%+v was accepted", bad)
		}
	}
	if _, err := m.Current(-1); err == nil {
		t.Error("negative power was accepted")
	}
	nan := math.NaN()
	if i, err := m.Current(unit.Power(nan)); err != nil || !math.IsNaN(float64(i.Value)) {
		t.Errorf("NaN gives %v, %v", i, err)
	}
	if p, err := m.Shaft(unit.Current(nan), 0); err != nil || !math.IsNaN(float64(p.Value)) {
		t.Errorf("NaN gives %v, %v", p, err)
	}
	if p := m.ShaftFromInput(unit.Power(nan), 0); !math.IsNaN(float64(p.Value)) {
		t.Errorf("NaN gives %v", p)
	}
	if p := m.ShaftFromInput(10, 0); p.Value > 1 {
		t.Errorf("below the idle losses the shaft gives %v", p)
	}
	near(t, "load share", float64(m.LoadShare(m.Rated/4)), 0.25, 1e-12)
}
