package rehearse

import (
	"errors"
	"math"

	"dustwright/collector"
	"dustwright/fan"
	"dustwright/solve"
	"dustwright/unit"
)

// airside is what the air's way depends on beside filters and air: it changes only when somebody or some fault does.
type airside struct {
	damper, duct, fanLoss, speed, leak float64
}

// airway answers "how much air" for one airside at once. Fan, ducts and damper follow the density, filters and after-filter
// the viscosity; divided by the density only one number is left, the filters' dP at design flow, so the operating
// points along it are found once and read off a monotone curve after that.
type airway struct {
	flow, power *solve.Monotone // over x: flow [m3/s], shaft power at site density [W]; power nil where it is not known
	top         float64         // largest x of the curve
	hoods       float64         // share of the flow that comes through the hoods
	duct        float64         // inlet and duct loss per flow squared at site density [Pa s2/m6]
	damper      float64         // damper loss likewise
	fanShare    float64         // what the fan still gives of its pressure
	speed       float64         // of the fan [1/s]
	strained    bool            // part of it lies outside the fan curve: flow there is carried on
}

const airwayNodes = 40

// newAirway finds the operating points of an airside.
func newAirway(p *collector.AirPath, a airside, peak float64) (*airway, error) {
	cond := p.Conditions()
	cond.Damper, cond.DuctExtra, cond.FanLoss = unit.Share(a.damper), a.duct, a.fanLoss
	cond.Speed, cond.LeakArea, cond.AfterFilterDP = unit.Speed(a.speed), unit.Area(a.leak), 0
	w := &airway{hoods: 1, fanShare: 1 - a.fanLoss, speed: a.speed}
	var xs, qs, ps [airwayNodes]float64
	n, known := 0, true
	var last error
	for i := range airwayNodes {
		// close together where filters are clean, wide where they choke the fan
		s := float64(i) / airwayNodes
		x := 1.5 * peak * s * s / (1 - s)
		cond.FilterDP = unit.Pressure(x)
		o, err := p.Point(cond)
		var none *collector.NoPoint
		if errors.As(err, &none) {
			w.strained, last = true, err
			if none.Beyond {
				continue // more air than the curve knows; with more filters it will do
			}
			break
		}
		if err != nil {
			return nil, err
		}
		q := float64(o.Flow)
		xs[n], qs[n], ps[n] = x, q, float64(o.Power)
		known = known && !math.IsNaN(ps[n])
		w.hoods = float64(o.HoodFlow) / q
		w.duct, w.damper = float64(o.Inlet)/(q*q), float64(o.Damper)/(q*q)
		n++
	}
	if n < 3 {
		return nil, last
	}
	var err error
	if w.flow, err = solve.NewMonotone(xs[:n], qs[:n]); err != nil {
		return nil, err
	}
	w.top = xs[n-1]
	if known {
		w.power, err = solve.NewMonotone(xs[:n], ps[:n])
	}
	return w, err
}

// at returns the flow for filters and after-filter that lose x [Pa] together at design flow, in air of the site's density
// and reference viscosity.
func (w *airway) at(x float64) float64 {
	lo, _ := w.flow.Domain()
	switch {
	case x < lo:
		return w.flow.At(lo) // left of the curve: the flow is at least this
	case x > w.top:
		return w.flow.At(w.top) * w.top / x // the fan at its first point, the filters take all
	}
	return w.flow.At(x)
}

// slope returns dQ/dx there [m3/(s Pa)], 0 or less.
func (w *airway) slope(x float64) float64 {
	if lo, _ := w.flow.Domain(); x < lo {
		return 0
	}
	if x > w.top {
		return -w.at(x) / x
	}
	return w.flow.Slope(x)
}

// shaft returns the shaft power likewise [W]; NaN where it is not known.
func (w *airway) shaft(x float64) float64 {
	if w.power == nil {
		return math.NaN()
	}
	lo, _ := w.power.Domain()
	return w.power.At(min(max(x, lo), w.top))
}

// motor is current and electrical power over shaft power as curves: the nameplate's arithmetic is too slow for a row a
// minute.
type motor struct {
	amps, input *solve.Monotone // amps nil where the nameplate is not known
	top         float64
}

func newMotor(m fan.Motor, most float64) (*motor, error) {
	const n = 33
	var x, a, p [n]float64
	if m.Rated > 0 {
		most = 2 * float64(m.Rated)
	}
	known := m.Check() == nil
	for i := range n {
		x[i] = most * float64(i) / (n - 1)
		if p[i] = x[i] / 0.9; m.Rated > 0 { // 0.9: common practice for a motor nobody described
			p[i] = float64(m.Input(unit.Power(x[i])))
		}
		if known {
			c, err := m.Current(unit.Power(x[i]))
			if err != nil {
				return nil, err
			}
			a[i] = float64(c.Value)
		}
	}
	o := &motor{top: x[n-1]}
	var err error
	if o.input, err = solve.NewMonotone(x[:], p[:]); err != nil || !known {
		return o, err
	}
	o.amps, err = solve.NewMonotone(x[:], a[:])
	return o, err
}

// current returns the motor's current at a shaft power [W, A]; NaN where it is not known.
func (m *motor) current(shaft float64) float64 {
	if m.amps == nil || math.IsNaN(shaft) {
		return math.NaN()
	}
	return m.amps.At(min(max(shaft, 0), m.top))
}

// electric returns the electrical power at a shaft power [W]; NaN where that is not known.
func (m *motor) electric(shaft float64) float64 {
	if math.IsNaN(shaft) {
		return shaft
	}
	return m.input.At(min(max(shaft, 0), m.top))
}
