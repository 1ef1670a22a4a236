package header

import (
	"math"

	"dustwright/unit"
)

// CompressionPower returns the ideal power to compress air.
//
//	q       free air at 14.7 psia [m3/s], p gauge pressure [Pa]
//	k       exponent: 1 isothermal, 1.395 or 1.4 adiabatic
//	stages  1 or more, with intercooling to the intake temperature
//	result  [W], no losses; real packages take 40 to 60 % more than one adiabatic stage; NaN in, NaN out
//
// Source: isothermal p1 Q ln(p2/p1); adiabatic N k/(k-1) p1 Q ((p2/p1)^((k-1)/(kN))-1).
// Check values: testdata/compression_power.csv.
func CompressionPower(q unit.StdFlow, p unit.Pressure, k float64, stages int) unit.Power {
	const p1 = 14.7 * unit.Psi
	r := 1 + float64(p)/p1
	if k == 1 {
		return unit.Power(p1 * float64(q) * math.Log(r))
	}
	n := float64(max(stages, 1))
	return unit.Power(n * k / (k - 1) * p1 * float64(q) * (math.Pow(r, (k-1)/(k*n)) - 1))
}

// PackagePower is what a compressor package draws per free-air flow: 22 kW per 100 cfm [W per m3/s].
// Source: 18 to 22 kW per 100 cfm, from memory.
const PackagePower = 22e3 / (100 * unit.CubicFoot / 60)

// AirEnergy returns the electrical energy behind compressed air.
//
//	v        free air used [m3]
//	specific power per flow of the compressor package [W per m3/s], PackagePower where nobody measured
//	result   [J]; NaN in, NaN out
//
// Source: E = V w. Check values: testdata/air_cost.csv.
func AirEnergy(v unit.Volume, specific float64) unit.Energy {
	return unit.Energy(float64(v) * specific)
}

// MotorCost returns what a motor's electricity costs.
//
//	shaft   shaft power at full load [W], load its mean share, 0 to 1, efficiency 0 to 1
//	hours   running time [s]
//	perJ    price of electricity per joule (price per kWh / 3.6e6)
//	result  in the price's currency; NaN in, NaN out
//
// Source: hp 0.746 x load x h x rate / efficiency. Check values: testdata/compressed_air_cost_examples.csv.
func MotorCost(shaft unit.Power, load, efficiency unit.Share, hours unit.Seconds, perJ float64) float64 {
	return float64(shaft) * float64(load) / float64(efficiency) * float64(hours) * perJ
}

// HoleLoss returns the free air lost through a round hole to the surroundings.
//
//	d      diameter [m], cd discharge coefficient (0.97 well rounded, 0.61 sharp edged)
//	p      gauge pressure [Pa], temp of the air [K], amb the surroundings [Pa abs]
//	result [kg/s]; NaN in, NaN out
//
// Source: isentropic nozzle, choked above a ratio of 1.893. Check values: testdata/doe_leak_table.csv,
// orifice_discharge_free_air.csv.
func HoleLoss(d unit.Length, cd unit.Share, p unit.Pressure, temp unit.Temperature, amb unit.AbsPressure) unit.MassFlow {
	a := float64(cd) * math.Pi / 4 * float64(d) * float64(d)
	return unit.MassFlow(nozzleFlow(a, float64(p)+float64(amb), float64(temp), float64(amb)))
}

// nozzleFlow is the isentropic nozzle of effective area a.
func nozzleFlow(a, p1, temp, p2 float64) float64 {
	r := p2 / p1
	critical := math.Pow(2/(gamma+1), gamma/(gamma-1))
	switch {
	case r >= 1:
		return 0
	case r <= critical:
		return a * p1 * choked() / math.Sqrt(temp)
	}
	return a * p1 * math.Sqrt(2*gamma/((gamma-1)*gasConstant*temp)*(math.Pow(r, 2/gamma)-math.Pow(r, (gamma+1)/gamma)))
}
