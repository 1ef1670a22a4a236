package header

import (
	"math"

	"dustwright/unit"
)

// Installed returns the sonic conductance of a pulse valve with its blowpipe and nozzles behind it.
//
//	valve  the valve alone, as its maker gives it [m3/(s Pa)]
//	result [m3/(s Pa)], 0.6 of it, give or take 0.15; NaN in, NaN out
//
// Source: flow paths in series, the pipe's holes about as large as the valve's seat; from memory. With it the contract's
// header (20 L, 60 psi, Cv 18, 150 ms) falls to 33 psi, as in the contract's log; without it to 19 psi.
func Installed(valve unit.Conductance) unit.Conductance { return 0.6 * valve }

// Throat returns the sonic conductance of a round hole.
//
//	d      diameter [m], cd discharge coefficient: 0.97 well rounded, 0.61 to 0.65 sharp edged
//	result [m3/(s Pa)]; NaN in, NaN out
//
// Source: choked ideal nozzle qm = Cd A p0 K/sqrt(T0), K = sqrt(gamma/R) (2/(gamma+1))^((gamma+1)/(2(gamma-1))).
// Check values: testdata/valve_coefficient_conversion.csv, blowdown_nozzle.csv.
func Throat(d unit.Length, cd unit.Share) unit.Conductance {
	return unit.Conductance(float64(cd) * math.Pi / 4 * float64(d) * float64(d) * choked() / (rhoANR * math.Sqrt(t0)))
}

// choked returns K of the choked nozzle [s K^0.5/m], 0.0404149.
func choked() float64 {
	return math.Sqrt(gamma/gasConstant) * math.Pow(2/(gamma+1), (gamma+1)/(2*(gamma-1)))
}

// SupplyOf returns a supply that brings a given free-air flow while the header is below its set pressure.
//
//	set     regulator set point, gauge [Pa], above 0
//	most    what the shop air can bring to the header at it [m3/s, compressed-air standard], above 0
//	result  a supply limited to that flow, whose regulator begins to close 10 % below the set pressure
//
// NaN in most gives a supply without a limit and an ample regulator (C = 5e-8).
// Source: the 10 % is common practice for regulators, no source; standard: 14.5 psia, 68 degF, dry.
func SupplyOf(set unit.Pressure, most unit.StdFlow) Supply {
	s := Supply{Nozzle: Nozzle{C: 5e-8, B: 0.3}, Set: set}
	if !(most > 0) {
		return s
	}
	s.Most = unit.MassFlow(float64(most) * unit.ScfDensity)
	abs := float64(set) + 101325
	s.C = unit.Conductance(float64(s.Most) / isoFlow(1, float64(s.B), abs, t0, abs-0.1*float64(set)))
	return s
}

// DefaultWallHeat returns the heat flow between a header's walls and its air per temperature difference.
//
//	v      volume of the header [m3], above 0
//	result [W/K], 2 for 20 L, with the 2/3 power of the volume: its surface; NaN in, NaN out
//
// Source: assumed in the pulse-air reference (header_cycle_features.csv); between adiabatic and isothermal it
// gives the polytropic exponents 1.16 to 1.18 seen over a minute in larger tanks.
func DefaultWallHeat(v unit.Volume) float64 { return 2 * math.Pow(float64(v)/0.020, 2.0/3) }

// StdVolume returns the standard volume of a mass of compressed air [m3 at 14.5 psia, 68 degF, dry].
// NaN in, NaN out. Source: unit.ScfDensity.
func StdVolume(m unit.Mass) unit.Volume { return unit.Volume(float64(m) / unit.ScfDensity) }
