package fan

import "dustwright/unit"

// Law carries a fan's figures from one speed and density to another; the wheel stays the same.
type Law struct {
	SpeedRatio   float64 // new speed over old speed, above 0
	DensityRatio float64 // new density over old density, above 0
}

// Flow returns the flow at the new speed [m3/s]: Q ~ n, density does not matter. NaN in, NaN out.
// Source: fan laws (US DOE fan sourcebook); check values: testdata/fan_laws.csv.
func (l Law) Flow(q unit.Flow) unit.Flow { return q * unit.Flow(l.SpeedRatio) }

// Pressure returns the pressure at the new speed and density [Pa]: p ~ n^2 rho. NaN in, NaN out.
// Source: fan laws; check values: testdata/fan_laws.csv.
func (l Law) Pressure(p unit.Pressure) unit.Pressure {
	return p * unit.Pressure(l.SpeedRatio*l.SpeedRatio*l.DensityRatio)
}

// Power returns the shaft power at the new speed and density [W]: P ~ n^3 rho. NaN in, NaN out.
// Source: fan laws; check values: testdata/fan_laws.csv.
func (l Law) Power(p unit.Power) unit.Power {
	return p * unit.Power(l.SpeedRatio*l.SpeedRatio*l.SpeedRatio*l.DensityRatio)
}

// StaticEfficiency returns the share of the shaft power that becomes static pressure and flow.
//
//	q      actual flow [m3/s], dp fan static pressure [Pa], shaft power [W], above 0
//	result 0 to 1 for figures that can be right; NaN in, NaN out
//
// Source: definition, eta = Q dp / P (the trade's Q SP/(6356 bhp)).
func StaticEfficiency(q unit.Flow, dp unit.Pressure, shaft unit.Power) unit.Share {
	return unit.Share(float64(q) * float64(dp) / float64(shaft))
}
