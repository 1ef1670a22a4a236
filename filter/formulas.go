package filter

import (
	"math"

	"dustwright/unit"
)

// PermeabilityDrag returns the drag of a clean medium from its air permeability.
//
//	permeability  flow per area at 125 Pa (0.5 in. w.g., ASTM D737) [m/s], above 0
//	result        [Pa s/m]; NaN in, NaN out. Permeability isn't quite linear in dP: good to some per cent
//
// Source: definition, S = dP/V. Check values: testdata/permeability_to_drag.csv.
func PermeabilityDrag(permeability unit.Velocity) unit.Drag {
	return unit.Drag(permTest / float64(permeability))
}

// CanVelocity returns the upward velocity between cartridges.
//
//	q      actual flow [m3/s], open plan area between the cartridges [m2], above 0
//	result [m/s]; above 1.0 to 1.5 m/s (200 to 300 ft/min) dust is carried back up, light dust earlier
//
// NaN in, NaN out. Source: definition; the guide values from memory (filtration.md section 1).
func CanVelocity(q unit.Flow, open unit.Area) unit.Velocity {
	return unit.Velocity(float64(q) / float64(open))
}

// FaceVelocity returns the filtration velocity (air-to-cloth ratio) of a flow [m3/s] through an area [m2];
// result [m/s]. NaN in, NaN out. Source: definition.
func FaceVelocity(q unit.Flow, area unit.Area) unit.Velocity {
	return unit.Velocity(float64(q) / float64(area))
}

// PulseJet is the Cost Manual's view of a pulse-jet fabric filter cleaned at a fixed interval.
type PulseJet struct {
	V       unit.Velocity      // filtration velocity [m/s]
	Header  unit.Pressure      // pulse pressure, gauge [Pa], 60 to 100 psig; it is a fit and not to be carried far
	K2      Resistance         // [1/s]
	C       unit.Concentration // dust in the air [kg/m3]
	Between unit.Seconds       // time between cleanings of one row [s]
}

// Residual returns (PE)dw, the part of the dP that cleaning leaves [Pa]. NaN in, NaN out.
// Source: (PE)dw = 6.08 V Pj^-0.65, in. w.g., ft/min, psig (EPA Cost Manual, confirmed to 7 figures by a public worksheet).
// Check values: testdata/fabric_filter_worked_examples.csv FF06.
func (p PulseJet) Residual() unit.Pressure {
	v, pj := float64(p.V)/(unit.Foot/60), float64(p.Header)/unit.Psi
	return unit.Pressure(6.08 * v * math.Pow(pj, -0.65) * unit.InchWater)
}

// Dust returns the areal dust that gathers between cleanings, Wo = C V theta [kg/m2]. NaN in, NaN out.
// Source: EPA Cost Manual. Check values: testdata/fabric_filter_worked_examples.csv FF05.
func (p PulseJet) Dust() Areal {
	return Areal(float64(p.C) * float64(p.V) * float64(p.Between))
}

// DP returns the fabric's pressure drop just before cleaning [Pa]. NaN in, NaN out.
// Source: dP = (PE)dw + K2 Wo V (EPA Cost Manual). Check values: testdata/fabric_filter_worked_examples.csv FF07.
func (p PulseJet) DP() unit.Pressure {
	return p.Residual() + unit.Pressure(float64(p.K2)*float64(p.Dust())*float64(p.V))
}

// CycleTime returns the time in which cake takes the dP from what cleaning left up to the trigger.
//
//	residual, trigger  dP [Pa] at constant velocity v [m/s], K2 [1/s], c dust in the air [kg/m3]
//	result             [s]; 0 where the residual is at the trigger already; NaN in, NaN out
//
// Source: (trigger - residual)/(K2 C V^2). Check values: testdata/cycle_time_vs_residual.csv.
func CycleTime(residual, trigger unit.Pressure, k2 Resistance, c unit.Concentration, v unit.Velocity) unit.Seconds {
	t := float64(trigger-residual) / (float64(k2) * float64(c) * float64(v) * float64(v))
	if math.IsNaN(t) {
		return unit.Seconds(t)
	}
	return unit.Seconds(math.Max(0, t))
}

// Felt is the felt and the dust of the factor method for pulse-jet gas-to-cloth ratios.
type Felt struct {
	Material, Application float64            // factors A and B of the method's tables
	T                     unit.Temperature   // [K], counted as 275 degF at most
	Loading               unit.Concentration // [kg/m3], above 0
	Mean                  unit.Length        // mass mean diameter of the dust [m], above 0
}

// Ratio returns the gas-to-cloth ratio of the factor method [m/s]. NaN in, NaN out.
// Source: V = 2.878 A B T^-0.2335 L^-0.06021 (0.7471 + 0.0853 ln D), ft/min, degF, gr/ft3, um (form from memory;
// a public worksheet gives the same). Check values: testdata/fabric_filter_worked_examples.csv FF01.
func (f Felt) Ratio() unit.Velocity {
	degF := math.Min((float64(f.T)-273.15)*1.8+32, 275)
	gr, um := float64(f.Loading)/(unit.Grain/unit.CubicFoot), float64(f.Mean)*1e6
	fpm := 2.878 * f.Material * f.Application * math.Pow(degF, -0.2335) * math.Pow(gr, -0.06021) * (0.7471 + 0.0853*math.Log(um))
	return unit.Velocity(fpm * unit.Foot / 60)
}

// FanEnergy returns the electrical energy that a pressure drop costs.
//
//	q      flow [m3/s], dp [Pa], t running time [s], eta of fan and motor together, 0.65 in the Manual
//	result [J]; NaN in, NaN out
//
// Source: Q dp t/eta; the trade's 1.81e-4 kWh per acfm in. w.g. h is 0.746/(6356 x 0.65).
// Check values: testdata/fabric_filter_worked_examples.csv FF09, FF17, FF25.
func FanEnergy(q unit.Flow, dp unit.Pressure, t unit.Seconds, eta unit.Share) unit.Energy {
	return unit.Energy(float64(q) * float64(dp) * float64(t) / float64(eta))
}

// CapitalRecovery returns the yearly share of a first cost at an interest over some years.
//
//	interest per year [-], above 0; years [a], above 0
//	result   share per year; NaN in, NaN out
//
// Source: i(1+i)^n/((1+i)^n-1). Check values: testdata/fabric_filter_worked_examples.csv FF21 to FF24.
func CapitalRecovery(interest unit.Share, years float64) unit.Share {
	g := math.Pow(1+float64(interest), years)
	return unit.Share(float64(interest) * g / (g - 1))
}
