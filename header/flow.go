package header

import (
	"math"

	"dustwright/unit"
)

// Constants of air in this package's formulas; the check values were computed with the same.
const (
	gasConstant = 287.05 // R of dry air [J/(kg K)]
	gamma       = 1.4    // cp/cv
	t0          = 293.15 // reference temperature of ISO 6358 [K]
	rhoANR      = 1.185  // density at ISO 8778 reference, 100 kPa, 20 degC, 65 % RH [kg/m3]
)

// Nozzle is a flow path for compressed air as ISO 6358 describes it.
type Nozzle struct {
	C unit.Conductance // sonic conductance [m3/(s Pa)]; 1 dm3/(s bar) is 1e-8
	B unit.Share       // critical pressure ratio, 0 to 1; 0.3 is a usual guess for a valve
}

// Flow returns the mass flow through a nozzle.
//
//	p1, t1  upstream pressure [Pa abs] and temperature [K]
//	p2      downstream pressure [Pa abs]
//	result  [kg/s], 0 where p2 is not below p1 (no way back); NaN in, NaN out
//
// Source: ISO 6358-1, form as given in public documentation of simulation libraries:
// qm = C p1 rho0 sqrt(T0/T1), times sqrt(1-((p2/p1-b)/(1-b))^2) above p2/p1 = b.
// Check values: testdata/iso6358_flow.csv.
func (n Nozzle) Flow(p1 unit.AbsPressure, t1 unit.Temperature, p2 unit.AbsPressure) unit.MassFlow {
	return unit.MassFlow(isoFlow(float64(n.C), float64(n.B), float64(p1), float64(t1), float64(p2)))
}

func isoFlow(c, b, p1, t1, p2 float64) float64 {
	if p2 >= p1 {
		return 0
	}
	q := c * p1 * rhoANR * math.Sqrt(t0/t1)
	if r := p2 / p1; r > b {
		x := (r - b) / (1 - b)
		q *= math.Sqrt(1 - x*x)
	}
	return q
}
