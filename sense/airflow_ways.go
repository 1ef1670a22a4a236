package sense

import (
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// none is the answer of a way that does not apply.
func none() (share, own, scale float64) { return math.NaN(), math.NaN(), math.NaN() }

// measured takes the measured airflow.
func (a *airflow) measured(r *Reading) (share, own, scale float64) {
	q := r.Of(Flow)
	if !(q > 0) || math.IsNaN(a.design) {
		return none()
	}
	q /= a.design
	return q, measuredOwn * q, measuredScale * q
}

// fromIndex takes anything proportional to the airflow, with its early level as design flow.
func (a *airflow) fromIndex(r *Reading) (share, own, scale float64) {
	q := r.Of(FlowIndex) / a.index
	if !(q > 0) {
		return none()
	}
	return q, indexOwn * q, indexScale * q
}

// fromSuction takes the square-root law of the inlet static pressure against commissioning:
// Q/Qd = sqrt(SP/SPd rho_d/rho).
func (a *airflow) fromSuction(r *Reading) (share, own, scale float64) {
	sp := -r.Of(InletSP)
	if !(sp > 0) || !(a.suction > 0) {
		return none()
	}
	q := math.Sqrt(sp / a.suction / a.density(r))
	return q, suctionOwn * q, a.sScale * q
}

// suctionAt is the size of the inlet static pressure at a share of design flow, in the air of 20 degC [Pa].
func (a *airflow) suctionAt(share float64) float64 {
	if off := a.way(ByInletSP).offBut[leftNone]; off > 0 {
		share *= off
	}
	return a.suction * share * share
}

// fromLoad takes motor power or current through the fan's power curve, on its rising part. Where the
// curve is flat the width grows; past a third it says nothing.
func (a *airflow) fromLoad(t *table, load float64, r *Reading) (share, own, scale float64) {
	if t == nil || !(load > 0) {
		return none()
	}
	load /= a.density(r) // shaft power goes with density; losses and idle current don't, within the width
	q, slope := t.inverse(load, false)
	if q != q {
		return none()
	}
	own, scale = loadOwn*load/slope, loadScale*load/slope
	if math.Hypot(own, scale) > q/3 {
		return none()
	}
	return q, own, scale
}

// fromCurve takes the fan curve less the dP read, with ducts and damper as at commissioning. Nobody says at
// which dP the damper was set, with clean filters or with seasoned ones, nor that it still stands there: hence
// the width.
func (a *airflow) fromCurve(r *Reading) (share, own, scale float64) {
	if a.byCurve == nil || r.Of(Damper) == r.Of(Damper) && a.path != nil && a.path.DamperKnown() {
		return none()
	}
	q, own, scale := a.fromTable(a.byCurve, r, curveOwn, curveScale)
	if late, _, _ := a.fromTable(a.byLate, r, 0, 0); late == late {
		scale = math.Hypot(scale, lateShare*(late-q))
		q += lateShare * (late - q)
	}
	return q, own, scale
}

// lateShare is how far the airflow is taken towards what it would be had the damper been set with seasoned
// filters. Common practice, no source.
const lateShare = 0.4

// fromDamper takes the fan curve, the damper where it stands, and the dP read. The width grows with what
// the damper's loss is unsure by.
func (a *airflow) fromDamper(r *Reading) (share, own, scale float64) {
	open := r.Of(Damper)
	if open != open || a.path == nil || !a.path.DamperKnown() {
		return none()
	}
	open = min(1, max(0, open))
	q, own, scale := a.fromTable(a.atOpen(open), r, damperOwn, damperScale)
	if q != q {
		return none()
	}
	step := math.Exp(a.lossSigma(open) / damperPower)
	other, _, _ := a.fromTable(a.atOpen(open/step), r, 0, 0)
	if other != other {
		other, _, _ = a.fromTable(a.atOpen(min(1, open*step)), r, 0, 0)
	}
	if other != other {
		other = q / 2 // past the curve at either: it may be anything
	}
	return q, own, math.Hypot(scale, other-q)
}

// atOpen is the table of an opening, to a whole percent.
func (a *airflow) atOpen(open float64) *table {
	percent := int(math.Round(100 * open))
	t, ok := a.byOpen[percent]
	if !ok {
		t = a.damperTable(float64(percent) / 100)
		a.byOpen[percent] = t
	}
	return t
}

// A damper's loss goes with about the opening to the power of minus damperPower, two to four by make. It is known
// within openSigma (of its log) where it was read at commissioning, and by insideSigma and outsideSigma more for
// each unit of the log of the opening away from there, between such points and beyond them. Common practice,
// no source.
const (
	damperPower  = 3
	openSigma    = 0.1
	insideSigma  = 0.5
	outsideSigma = 1.5
)

// lossSigma is the standard uncertainty of the log of the damper's loss at an opening.
func (a *airflow) lossSigma(open float64) float64 {
	near, lo, hi := math.Inf(1), math.Inf(1), math.Inf(-1)
	for _, p := range a.c.Damper.Points {
		o := float64(p.Open)
		lo, hi = min(lo, o), max(hi, o)
		near = min(near, math.Abs(math.Log(max(open, 0.01)/o)))
	}
	grow := insideSigma
	if open < lo || open > hi {
		grow = outsideSigma
	}
	return math.Hypot(openSigma, grow*min(near, 2))
}

// fromTable reads the share of design flow off a table of dP. What the after-filter takes above its
// clean value counts with the filters; fan, ducts and damper go with density.
func (a *airflow) fromTable(t *table, r *Reading, own, scale float64) (float64, float64, float64) {
	dp := r.Of(DP)
	if after := r.Of(AfterfilterDP); after > 0 {
		dp += after - a.after0
	}
	if !(dp > 0) {
		return none()
	}
	q, _ := t.inverse(dp/a.density(r), true)
	if q != q {
		return none()
	}
	return q, own * q, scale * q
}

// damperTable tabulates the dP left for the filters over the share of design flow at one opening, by
// the collector's own operating point.
func (a *airflow) damperTable(open float64) *table {
	cond := a.path.Conditions()
	cond.Damper = unit.Share(open)
	var t table
	const points = 25
	top := a.pressure(lowest)
	for i := points - 1; i >= 0; i-- {
		dp := top * float64(i) / (points - 1)
		o, _, err := a.path.PointFromReading(cond, unit.Pressure(dp))
		if err != nil {
			continue // beyond the fan curve there
		}
		q := float64(o.Flow) / a.design
		if n := len(t.share); n == 0 || q > t.share[n-1] {
			t.share, t.y = append(t.share, q), append(t.y, dp)
		}
	}
	return &t
}

// atDesign returns the reading's dP carried to design flow and 20 degC [Pa], and its own relative
// width. The filters' media are in creeping flow: dP goes with flow and viscosity.
func (a *airflow) atDesign(r *Reading, dp float64) (value, own float64) {
	f := a.infer(r)
	return dp / (f.share * a.viscosity(r)), f.own / f.share
}

// dragPer turns a dP at design flow [Pa] into drag [Pa s/m]: times area over design flow. NaN where
// the file leaves out one of them.
func dragPer(c *collector.Collector) float64 {
	if c.Duty.Flow > 0 && float64(c.Filters.Area()) > 0 {
		return float64(c.Filters.Area()) / float64(c.Duty.Flow)
	}
	return math.NaN()
}
