package header

import (
	"math"

	"dustwright/unit"
)

// Blowdown is a tank emptied through a choked opening, in closed form: the check on the integration and
// the sum behind a leak-down test.
type Blowdown struct {
	Volume unit.Volume      // [m3], above 0
	C      unit.Conductance // of the opening [m3/(s Pa)], above 0
	P0     unit.AbsPressure // at the start [Pa abs]
	T0     unit.Temperature // at the start [K]
}

// Tau returns the time constant [s]: mass at the start over the choked flow at the start.
// Source: tau = V/(C rho0 R sqrt(T0 T)), the same as V/(Cd A R K sqrt(T)).
// Check values: testdata/blowdown_nozzle.csv.
func (b Blowdown) Tau() unit.Seconds {
	return unit.Seconds(float64(b.Volume) / (float64(b.C) * rhoANR * gasConstant * math.Sqrt(t0*float64(b.T0))))
}

// Isothermal returns the pressure after t [s] with the air kept at T0; result [Pa abs]. It holds only while the
// opening is choked. NaN in, NaN out.
// Source: p = p0 exp(-t/tau). Check values: testdata/blowdown_nozzle.csv.
func (b Blowdown) Isothermal(t unit.Seconds) unit.AbsPressure {
	return b.P0 * unit.AbsPressure(math.Exp(-float64(t/b.Tau())))
}

// Adiabatic returns pressure [Pa abs] and temperature [K] after t [s] with no heat from the walls. It holds only
// while the opening is choked. NaN in, NaN out.
// Source: p = p0 (1+(gamma-1)/2 t/tau)^(-2 gamma/(gamma-1)), T = T0 (p/p0)^((gamma-1)/gamma) (public derivation
// citing Perry's 8th ed. p. 23-57). Check values: testdata/blowdown_nozzle.csv.
func (b Blowdown) Adiabatic(t unit.Seconds) (unit.AbsPressure, unit.Temperature) {
	r := math.Pow(1+(gamma-1)/2*float64(t/b.Tau()), -2*gamma/(gamma-1))
	return b.P0 * unit.AbsPressure(r), b.T0 * unit.Temperature(math.Pow(r, (gamma-1)/gamma))
}

// TimeTo returns the time in which a choked leak takes the pressure from P0 to p, air at T0.
//
//	p      [Pa abs], below P0 and above about twice the surroundings
//	result [s]; NaN in, NaN out
//
// Source: t = tau ln(p0/p). Check values: testdata/header_leak_decay.csv.
func (b Blowdown) TimeTo(p unit.AbsPressure) unit.Seconds {
	return b.Tau() * unit.Seconds(math.Log(float64(b.P0/p)))
}

// LeakConductance returns the leak behind a fall of pressure with the supply shut.
//
//	volume [m3]; p0, p1 [Pa abs] at the start and after dt [s]; temp of the air [K]
//	result [m3/(s Pa)]; negative where the pressure rose; NaN in, NaN out
//
// Source: the inverse of TimeTo. Check values: testdata/header_leak_decay.csv.
func LeakConductance(volume unit.Volume, p0, p1 unit.AbsPressure, dt unit.Seconds, temp unit.Temperature) unit.Conductance {
	return unit.Conductance(float64(volume) / float64(dt) * math.Log(float64(p0/p1)) /
		(rhoANR * gasConstant * math.Sqrt(t0*float64(temp))))
}

// RefillTime returns the time in which a constant pressure behind a nozzle fills a tank, air at T0 throughout.
//
//	volume   [m3], n the nozzle
//	supply   constant pressure before it [Pa abs]
//	from, to pressures of the tank [Pa abs], from < to <= supply
//	result   [s]: finite even up to the supply pressure; 0 where to is not above from, NaN where to is above supply
//
// Source: t = (1-b) V/(C rho0 R T0) (asin y2 - asin y1), y = (p/ps-b)/(1-b), and V (pc-p1)/(C rho0 R T0 ps) below
// pc = b ps (own integration of the ISO 6358 form). Check values: testdata/header_refill.csv.
func RefillTime(volume unit.Volume, n Nozzle, supply, from, to unit.AbsPressure) unit.Seconds {
	v, c, b, ps := float64(volume), float64(n.C), float64(n.B), float64(supply)
	p1, p2 := float64(from), float64(to)
	if p2 <= p1 {
		return 0
	}
	k := v / (c * rhoANR * gasConstant * t0)
	t := 0.0
	if pc := b * ps; p1 < pc {
		t = k * (math.Min(pc, p2) - p1) / ps
		p1 = math.Min(pc, p2)
	}
	if p2 > p1 {
		y := func(p float64) float64 { return (p/ps - b) / (1 - b) }
		t += (1 - b) * k * (math.Asin(y(p2)) - math.Asin(y(p1)))
	}
	return unit.Seconds(t)
}
