package fan

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// ErrBelowNoLoad says that a current is below what the motor draws with nothing on its shaft.
var ErrBelowNoLoad = errors.New("below the motor's no-load current")

// Part-load behaviour of a squirrel-cage motor: no nameplate states it, so it is assumed with a width.
// common practice, no source: the fixed losses are half of all losses at full load (0.35 to 0.65 seen), and
// three quarters of the reactive current flow at no load already (0.6 to 0.9 seen).
const (
	fixedLossShare     = 0.5
	fixedLossSigma     = 0.1
	idleReactiveShare  = 0.75
	idleReactiveSigma  = 0.1
	nameplateSigma     = 0.02 // nameplate efficiency, power factor and amps against the motor itself, relative
	typicalEfficiency  = 0.90 // from memory: three-phase motors of 5 to 50 hp, 0.86 to 0.94
	typicalPowerFactor = 0.84 // from memory: the same motors, 0.78 to 0.89
	typicalSigma       = 0.03 // what assuming either of the two adds, relative
)

// Motor is a three-phase squirrel-cage motor on the line (no inverter), as its nameplate describes it.
type Motor struct {
	Rated       unit.Power   // shaft power of the nameplate [W]
	Voltage     unit.Voltage // line to line [V]
	FullLoad    unit.Current // full-load amps [A]
	Efficiency  unit.Share   // at full load, 0 to 1; NaN or 0 = unknown
	PowerFactor unit.Share   // at full load, 0 to 1; NaN or 0 = unknown
}

// PowerEstimate is a power with its standard uncertainty [W].
type PowerEstimate struct{ Value, Sigma unit.Power }

// CurrentEstimate is a current with its standard uncertainty [A].
type CurrentEstimate struct{ Value, Sigma unit.Current }

// Check returns nil if amps and power can be turned into each other, else a sentence about what is
// missing or impossible.
func (m Motor) Check() error {
	switch {
	case !(m.Rated > 0):
		return errors.New("the motor's rated power is not known")
	case !(m.Voltage > 0):
		return errors.New("the motor's voltage is not known")
	case !(m.FullLoad > 0):
		return errors.New("the motor's full-load amps are not known")
	case m.Efficiency < 0 || m.Efficiency > 1:
		return fmt.Errorf("the motor's efficiency is a share between 0 and 1; it is %g", float64(m.Efficiency))
	case m.PowerFactor < 0 || m.PowerFactor > 1:
		return fmt.Errorf("the motor's power factor is a share between 0 and 1; it is %g", float64(m.PowerFactor))
	}
	return nil
}

// ThreePhasePower returns the electrical power of a balanced three-phase load.
//
//	v      line-to-line voltage [V], i line current [A], pf power factor 0 to 1
//	result [W]; NaN in, NaN out
//
// Source: US DOE fact sheet "Determining Electric Motor Load and Efficiency", Eq. 1.
// Check values: testdata/three_phase_power.csv.
func ThreePhasePower(v unit.Voltage, i unit.Current, pf unit.Share) unit.Power {
	return unit.Power(math.Sqrt(3) * float64(v) * float64(i) * float64(pf))
}

// model is the motor's equivalent: losses a + b x^2 over the load share x, and a reactive current
// iq0 + iqx x^2 beside the active one. k scales the amps so that the nameplate's full-load amps come
// out at full load whatever its rounding.
type model struct {
	rated, loss, fixed     float64 // [W], [W], share
	activePerWatt, iq, idl float64 // [A/W], [A], share
	k                      float64
	sigma                  float64 // relative width at full load
}

func (m Motor) model(fixed, idle float64) model {
	eta, pf, sigma := float64(m.Efficiency), float64(m.PowerFactor), nameplateSigma
	if !(eta > 0) {
		eta, sigma = typicalEfficiency, math.Hypot(sigma, typicalSigma)
	}
	if !(pf > 0) {
		pf, sigma = typicalPowerFactor, math.Hypot(sigma, typicalSigma)
	}
	rated, fla := float64(m.Rated), float64(m.FullLoad)
	o := model{rated: rated, loss: rated * (1/eta - 1), fixed: fixed, idl: idle, sigma: sigma}
	o.activePerWatt = 1 / (math.Sqrt(3) * float64(m.Voltage))
	active := rated / eta * o.activePerWatt
	o.iq = active * math.Sqrt(1/(pf*pf)-1)
	o.k = fla / math.Hypot(active, o.iq)
	// Nameplates contradict themselves by a few per cent; what they disagree by is not known better.
	o.sigma = math.Hypot(o.sigma, math.Abs(o.k-1)/2)
	return o
}

func (o model) input(shaft float64) float64 {
	x := shaft / o.rated
	return shaft + o.loss*(o.fixed+(1-o.fixed)*x*x)
}

func (o model) current(shaft float64) float64 {
	x := shaft / o.rated
	return o.k * math.Hypot(o.input(shaft)*o.activePerWatt, o.iq*(o.idl+(1-o.idl)*x*x))
}

// shaft inverts a rising function f of shaft power by bisection; it serves only nameplates, not a loop.
func (o model) shaft(f func(float64) float64, want float64) float64 {
	lo, hi := 0.0, 4*o.rated
	for i := 0; i < 60; i++ {
		if mid := (lo + hi) / 2; f(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Current returns the line current at a shaft power, with its width.
//
//	shaft  power at the motor shaft [W], 0 or more
//	result [A]; at full load the nameplate's amps come back with 2 to 4 %, at half load the width is
//	       5 to 8 %, because no nameplate states the part-load power factor
//
// NaN in, NaN out. It returns Check's error for a motor whose nameplate is not known.
// Source: equivalent with fixed and load-squared losses and a reactive current that is mostly there at
// no load; common practice, no source. The nameplate is met exactly.
func (m Motor) Current(shaft unit.Power) (CurrentEstimate, error) {
	nan := CurrentEstimate{unit.Current(math.NaN()), unit.Current(math.NaN())}
	if err := m.Check(); err != nil {
		return nan, err
	}
	if math.IsNaN(float64(shaft)) {
		return nan, nil
	}
	if shaft < 0 {
		return nan, fmt.Errorf("the shaft power must be 0 or more; it is %g W", float64(shaft))
	}
	p := float64(shaft)
	mid := m.model(fixedLossShare, idleReactiveShare)
	i := mid.current(p)
	byLoss := m.model(fixedLossShare+fixedLossSigma, idleReactiveShare).current(p) - i
	byIdle := m.model(fixedLossShare, idleReactiveShare+idleReactiveSigma).current(p) - i
	sigma := math.Sqrt(byLoss*byLoss + byIdle*byIdle + mid.sigma*mid.sigma*i*i)
	return CurrentEstimate{unit.Current(i), unit.Current(sigma)}, nil
}

// Shaft returns the shaft power that belongs to a line current, with its width.
//
//	i      line current [A] and iSigma its own standard uncertainty [A], 0 for an exact reading
//	result [W]; near full load 3 to 5 % wide, at half load 8 to 15 %, worse below
//
// ErrBelowNoLoad where the current is less than the motor draws idling. NaN in, NaN out.
// Source: the inverse of Current.
func (m Motor) Shaft(i, iSigma unit.Current) (PowerEstimate, error) {
	nan := PowerEstimate{unit.Power(math.NaN()), unit.Power(math.NaN())}
	if err := m.Check(); err != nil {
		return nan, err
	}
	if math.IsNaN(float64(i)) {
		return nan, nil
	}
	mid := m.model(fixedLossShare, idleReactiveShare)
	if idle := mid.current(0); float64(i) < idle {
		return nan, fmt.Errorf("%.2f A is %w, about %.1f A", float64(i), ErrBelowNoLoad, idle)
	}
	p := mid.shaft(mid.current, float64(i))
	other := m.model(fixedLossShare+fixedLossSigma, idleReactiveShare)
	byLoss := other.shaft(other.current, float64(i)) - p
	other = m.model(fixedLossShare, idleReactiveShare+idleReactiveSigma)
	byIdle := other.shaft(other.current, float64(i)) - p
	step := 0.005 * mid.rated
	slope := (mid.current(p+step) - mid.current(math.Max(p-step, 0))) / (p + step - math.Max(p-step, 0))
	byReading := math.Hypot(float64(iSigma), mid.sigma*float64(i)) / slope
	return PowerEstimate{unit.Power(p), unit.Power(math.Sqrt(byLoss*byLoss + byIdle*byIdle + byReading*byReading))}, nil
}

// ShaftFromInput returns the shaft power that belongs to a metered electrical power, with its width.
//
//	input  electrical power [W] and inSigma its own standard uncertainty [W]
//	result [W]; 2 to 3 % wide down to half load: losses are small, so this is much firmer than amps
//
// Below the idle losses the shaft power is 0. NaN in, NaN out. The voltage and amps need not be known.
// Source: the inverse of Input.
func (m Motor) ShaftFromInput(input, inSigma unit.Power) PowerEstimate {
	if math.IsNaN(float64(input)) || !(m.Rated > 0) {
		return PowerEstimate{unit.Power(math.NaN()), unit.Power(math.NaN())}
	}
	mid := m.model(fixedLossShare, idleReactiveShare)
	p := mid.shaft(mid.input, float64(input))
	other := m.model(fixedLossShare+fixedLossSigma, idleReactiveShare)
	byLoss := other.shaft(other.input, float64(input)) - p
	sigma := math.Hypot(byLoss, math.Hypot(float64(inSigma), nameplateSigma*p))
	return PowerEstimate{unit.Power(p), unit.Power(sigma)}
}

// Input returns the electrical power drawn at a shaft power [W]; result [W]. NaN in, NaN out.
// Source: losses half fixed, half with the square of the load; common practice, no source.
func (m Motor) Input(shaft unit.Power) unit.Power {
	return unit.Power(m.model(fixedLossShare, idleReactiveShare).input(float64(shaft)))
}

// LoadShare returns the shaft power as a share of the rated power; above 1 is overload. NaN in, NaN out.
// Source: definition.
func (m Motor) LoadShare(shaft unit.Power) unit.Share { return unit.Share(shaft / m.Rated) }
