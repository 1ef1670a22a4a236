package duct

import (
	"math"

	"dustwright/unit"
)

// Velocity returns the air velocity [m/s, 0 or more] behind a velocity pressure vp [Pa, 0 or more]
// in air of density rho [kg/m3, above 0], probe coefficient 1, incompressible. NaN for a negative or
// NaN argument: a negative velocity pressure is a fault of the reading, not a velocity.
// Source: V = sqrt(2 VP/rho); ISO 3966 without compressibility. Check values:
// testdata/pitot_velocity.csv, testdata/velocity_pressure.csv.
func Velocity(vp unit.Pressure, rho unit.Density) unit.Velocity {
	if !(vp >= 0) || !(rho > 0) {
		return unit.Velocity(math.NaN())
	}
	return unit.Velocity(math.Sqrt(2 * float64(vp) / float64(rho)))
}

// VelocityPressure returns the velocity pressure [Pa, 0 or more] of air moving at v [m/s] with
// density rho [kg/m3]. NaN in, NaN out.
// Source: VP = rho V^2/2. Check values: testdata/velocity_pressure.csv.
func VelocityPressure(v unit.Velocity, rho unit.Density) unit.Pressure {
	return unit.Pressure(float64(rho) * float64(v) * float64(v) / 2)
}

// TotalPressure returns static plus velocity pressure [Pa]. On the suction side static and total are
// negative; the velocity pressure never is. NaN in, NaN out. Source: TP = SP + VP, definition.
func TotalPressure(static, velocity unit.Pressure) unit.Pressure { return static + velocity }
