package fan

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"dustwright/solve"
	"dustwright/unit"
)

// ErrDamperRange says that no blade position gives the loss asked for.
var ErrDamperRange = errors.New("no damper position gives this loss")

// DamperPoint is what commissioning found at one blade position: the loss left over for the damper.
type DamperPoint struct {
	Open  unit.Share    // blade position, 0 shut to 1 fully open
	Flow  unit.Flow     // measured flow [m3/s], above 0
	Loss  unit.Pressure // pressure lost in the damper at that flow [Pa], above 0
	Rho   unit.Density  // density at the time [kg/m3], above 0
	Sigma unit.Share    // standard uncertainty of Loss as a share of it; 0 or NaN = 0.15
}

// DamperSpec is what is known of a damper.
type DamperSpec struct {
	Kind   DamperKind    // shape of the law; the zero value is a butterfly
	Area   unit.Area     // of the duct it stands in [m2]; needed only where there are no points
	Points []DamperPoint // none, or any number, any order
}

// Damper is a damper's resistance over its blade position. Safe for concurrent use. Build it with NewDamper.
type Damper struct {
	kind       DamperKind
	lo, hi     float64         // generic ln K of the calibration points furthest open and furthest shut
	shift      float64         // ln R - ln K, for one point or none
	shiftLo    float64         // the same beyond the most open point
	shiftHi    float64         // the same beyond the most shut point
	between    *solve.Monotone // ln R over generic ln K between points; nil with fewer than two
	openLo     float64         // most shut calibration position
	openHi     float64         // most open calibration position
	sigma      float64         // of ln R at the points
	calibrated bool
	disordered bool
}

const (
	defaultPointSigma = 0.15 // of a loss found by difference at commissioning; common practice, no source
	genericSigma      = 0.5  // of ln K, a damper of unknown make against its kind's table (SMACNA against ASHRAE: 0.15 at one angle; blades, linkage and seals more); no source
	extrapolatedSigma = 0.6  // of ln K per unit of open share beyond the calibrated range, no source
)

// NewDamper builds a damper from its kind and its commissioning points.
//
// With no points the generic law of its kind at the given area holds, wide. With one point that law is
// shifted in log K to meet it. With more, ln R runs through them as a monotone function of the generic
// ln K and goes on with the generic slope beyond them. Points out of order (more open, yet more loss per
// velocity pressure) are pooled to their mean; Disordered then says so.
// The errors are sentences about the points; NaN in a point is such an error.
// Source: shapes in kinds.go; calibration in log K: own method, no source.
func NewDamper(spec DamperSpec) (*Damper, error) {
	if err := spec.Kind.check(); err != nil {
		return nil, err
	}
	d := &Damper{kind: spec.Kind, openLo: math.NaN(), openHi: math.NaN(), sigma: genericSigma}
	if len(spec.Points) == 0 {
		if !(spec.Area > 0) {
			return nil, errors.New("a damper without commissioning points needs its size")
		}
		d.shift = -2 * math.Log(float64(spec.Area))
		return d, nil
	}
	open, lnR, variance := make([]float64, 0, len(spec.Points)), make([]float64, 0, len(spec.Points)), 0.0
	points := append([]DamperPoint(nil), spec.Points...)
	sort.SliceStable(points, func(i, j int) bool { return points[i].Open > points[j].Open })
	for i, p := range points {
		if err := p.check(i + 1); err != nil {
			return nil, err
		}
		s := float64(p.Sigma)
		if !(s > 0) {
			s = defaultPointSigma
		}
		variance += s * s / float64(len(points))
		open = append(open, float64(p.Open))
		lnR = append(lnR, math.Log(2*float64(p.Loss)/(float64(p.Rho)*float64(p.Flow)*float64(p.Flow))))
	}
	d.calibrated, d.sigma = true, math.Sqrt(variance)
	d.openHi, d.openLo = open[0], open[len(open)-1]
	if err := d.calibrate(open, lnR); err != nil {
		return nil, err
	}
	return d, nil
}

// check says what is wrong with point number n.
func (p DamperPoint) check(n int) error {
	switch {
	case !(p.Open >= 0 && p.Open <= 1):
		return fmt.Errorf("damper point %d: the open share must lie between 0 and 100 %%; it is %g %%", n, 100*float64(p.Open))
	case !(p.Flow > 0) || math.IsInf(float64(p.Flow), 0):
		return fmt.Errorf("damper point %d: the flow must be above 0; it is %g m3/s", n, float64(p.Flow))
	case !(p.Rho > 0) || math.IsInf(float64(p.Rho), 0):
		return fmt.Errorf("damper point %d: the density must be above 0; it is %g kg/m3", n, float64(p.Rho))
	case !(p.Loss > 0) || math.IsInf(float64(p.Loss), 0):
		return fmt.Errorf("damper point %d: nothing is left for the damper (%.0f Pa) at %.2f m3/s: the flow measured there, the fan curve or the duct loss can't all be right",
			n, float64(p.Loss), float64(p.Flow))
	}
	return nil
}

// calibrate lays ln R over the generic ln K; both come from most open to most shut, so both should rise.
func (d *Damper) calibrate(open, lnR []float64) error {
	var x, y []float64
	for i := range open {
		k := d.kind.lnK(open[i])
		if n := len(x); n > 0 && k <= x[n-1] { // the same position measured twice
			y[n-1] = (y[n-1] + lnR[i]) / 2
			continue
		}
		x, y = append(x, k), append(y, lnR[i])
	}
	d.disordered = pool(y)
	last := len(x) - 1
	d.lo, d.hi, d.shift = x[0], x[last], y[0]-x[0]
	d.shiftLo, d.shiftHi = y[0]-x[0], y[last]-x[last]
	if last == 0 {
		return nil
	}
	var err error
	d.between, err = solve.NewMonotone(x, y)
	return err
}

// pool makes y rise by the pool-adjacent-violators rule, with a slope small but not zero inside a pool so
// that a position can still be found; it reports whether it had to.
func pool(y []float64) bool {
	found := false
	for i := 1; i < len(y); i++ {
		found = found || y[i] <= y[i-1]
	}
	if !found {
		return false
	}
	type block struct{ sum, n float64 }
	var blocks []block
	for _, v := range y {
		blocks = append(blocks, block{v, 1})
		for k := len(blocks) - 1; k > 0 && blocks[k-1].sum/blocks[k-1].n >= blocks[k].sum/blocks[k].n; k-- {
			blocks[k-1].sum += blocks[k].sum
			blocks[k-1].n += blocks[k].n
			blocks = blocks[:k]
		}
	}
	const tilt = 1e-3 // of ln R from point to point in a pool
	i := 0
	for _, b := range blocks {
		for j := 0.0; j < b.n; j++ {
			y[i] = b.sum/b.n + tilt*(j-(b.n-1)/2)
			i++
		}
	}
	for i := 1; i < len(y); i++ {
		y[i] = math.Max(y[i], y[i-1]+tilt/10)
	}
	return true
}

// Disordered reports that the commissioning points contradicted each other and were pooled.
func (d *Damper) Disordered() bool { return d.disordered }

// Calibrated reports whether commissioning points stand behind the damper's law.
func (d *Damper) Calibrated() bool { return d.calibrated }

// lnR returns ln of the resistance at a position.
func (d *Damper) lnR(open float64) float64 {
	k := d.kind.lnK(open)
	switch {
	case d.between == nil:
		return k + d.shift
	case k <= d.lo:
		return k + d.shiftLo
	case k >= d.hi:
		return k + d.shiftHi
	}
	return d.between.At(k)
}

// Resistance returns R of dp = R rho Q^2/2.
//
//	open   blade position, 0 shut to 1 fully open; outside it is held at the end, NaN in, NaN out
//	result [1/m4]; +Inf for a shut damper is never returned, its table ends near 1e4 velocity pressures
//
// It allocates nothing. Source: NewDamper.
func (d *Damper) Resistance(open unit.Share) float64 { return math.Exp(d.lnR(float64(open))) }

// Loss returns the pressure lost in the damper.
//
//	open   blade position, 0 shut to 1 fully open
//	q      actual flow [m3/s], 0 or more
//	rho    density [kg/m3], above 0
//	result [Pa], 0 or more; NaN in, NaN out
//
// Source: dp = K rho V^2/2; NewDamper.
func (d *Damper) Loss(open unit.Share, q unit.Flow, rho unit.Density) unit.Pressure {
	return unit.Pressure(d.Resistance(open) * float64(rho) * float64(q) * float64(q) / 2)
}

// DamperLoss is a loss with its standard uncertainty [Pa]; Extrapolated marks a position beyond the
// commissioning points or beyond the table of its kind.
type DamperLoss struct {
	Value, Sigma unit.Pressure
	Extrapolated bool
}

// LossWidth is Loss with its width and the mark of extrapolation; same arguments, NaN in, NaN out.
// Source: the width at the points is theirs; away from them it grows, no source.
func (d *Damper) LossWidth(open unit.Share, q unit.Flow, rho unit.Density) DamperLoss {
	s, out := d.lnSigma(float64(open))
	v := d.Loss(open, q, rho)
	return DamperLoss{Value: v, Sigma: unit.Pressure(float64(v) * s), Extrapolated: out}
}

// lnSigma returns the standard uncertainty of ln R at a position and whether it is extrapolated.
func (d *Damper) lnSigma(open float64) (float64, bool) {
	s, beyond := d.sigma, 0.0
	if d.calibrated {
		beyond = math.Max(0, math.Max(d.openLo-open, open-d.openHi))
	}
	out := beyond > 1e-9 || d.kind.beyondTable(open)
	if d.disordered {
		s = math.Hypot(s, defaultPointSigma)
	}
	return math.Hypot(s, extrapolatedSigma*beyond), out
}

// Position is a blade position with its standard uncertainty, both shares of fully open.
type Position struct {
	Open, Sigma  unit.Share
	Extrapolated bool // beyond the commissioning points or the table of its kind
}

// endRounding is how far beyond the ends of the blade's travel a log of a resistance may lie by rounding.
const endRounding = 1e-12

// Open returns the position at which the damper loses a given pressure.
//
//	loss   pressure to be lost [Pa], above 0
//	q      at this flow [m3/s], above 0
//	rho    and density [kg/m3], above 0
//	result position 0 to 1 with its width
//
// Where even the fully open damper loses more, or the shut one less, it returns ErrDamperRange with the
// two losses in its text and the nearest end as position. NaN in, NaN out without an error.
// Source: the inverse of Loss.
func (d *Damper) Open(loss unit.Pressure, q unit.Flow, rho unit.Density) (Position, error) {
	want := math.Log(2 * float64(loss) / (float64(rho) * float64(q) * float64(q)))
	if math.IsNaN(want) && !(loss <= 0) {
		return Position{Open: unit.Share(math.NaN()), Sigma: unit.Share(math.NaN())}, nil
	}
	if openLn, shutLn := d.lnR(1), d.lnR(0); loss <= 0 || want < openLn-endRounding || want > shutLn+endRounding {
		end := unit.Share(1)
		if want > shutLn {
			end = 0
		}
		s, _ := d.position(float64(end))
		return Position{Open: end, Sigma: s, Extrapolated: true}, fmt.Errorf("%w: %.0f Pa is asked for at %.2f m3/s; fully open it loses %.0f Pa, shut %.0f Pa",
			ErrDamperRange, float64(loss), float64(q), float64(d.Loss(1, q, rho)), float64(d.Loss(0, q, rho)))
	}
	lo, hi := 0.0, 1.0
	for i := 0; i < 50; i++ {
		if mid := (lo + hi) / 2; d.lnR(mid) > want {
			lo = mid
		} else {
			hi = mid
		}
	}
	open := (lo + hi) / 2
	s, out := d.position(open)
	return Position{Open: unit.Share(open), Sigma: s, Extrapolated: out}, nil
}

// position returns the width of a position found from a loss.
func (d *Damper) position(open float64) (unit.Share, bool) {
	s, out := d.lnSigma(open)
	a, b := math.Max(0, open-0.01), math.Min(1, open+0.01)
	slope := (d.lnR(a) - d.lnR(b)) / (b - a)
	return unit.Share(math.Min(s/slope, 1)), out
}
