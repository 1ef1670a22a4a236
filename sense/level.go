package sense

import (
	"math"

	"dustwright/collector"
	"dustwright/solve"
)

// point is one hour, or one finer slot, of running.
type point struct {
	t              int64   // [unix s]
	run            float64 // running time it stands for [h]
	n              int     // dP readings behind it
	dp             float64 // mean [Pa]
	flow           float64 // flow or flow index; NaN none
	temp, baro, rh float64 // [K], [Pa], [1]; NaN none
	z              float64 // log of the dP carried to the reference, see reduction
}

// points returns the running record as points: slots where the record is short, hours otherwise.
func points(h *History, upto int64) []point {
	flow := Flow
	if h.Seen>>Flow&1 == 0 {
		flow = FlowIndex
	}
	if f := &h.Fine; !f.Done && len(f.Slots) > 2*len(h.Hours) {
		return finePoints(f, flow, upto)
	}
	var ps []point
	for i := range h.Hours {
		o := &h.Hours[i]
		dp, ok := o.Of(DP)
		if !ok || o.Start >= upto {
			continue
		}
		ps = append(ps, point{t: o.Start, run: float64(o.Running), n: int(dp.N), dp: float64(dp.Mean),
			flow: o.Mean(flow), temp: o.Mean(Temperature), baro: o.Mean(Barometer), rh: o.Mean(Humidity)})
	}
	return ps
}

// finePoints returns the slots that begin by upto [unix s], with the airflow of one channel throughout.
func finePoints(f *Fine, flow Channel, upto int64) []point {
	var ps []point
	for _, s := range f.Slots {
		if s.K*f.Width > upto {
			break
		}
		p := point{t: s.K * f.Width, run: float64(s.Run) / 3600, n: int(s.N), dp: s.DP / float64(s.N),
			flow: math.NaN(), temp: math.NaN(), baro: math.NaN(), rh: math.NaN()}
		for j, c := range fineChannels {
			to := &p.flow
			switch {
			case s.OtherN[j] == 0:
				continue
			case c == Temperature:
				to = &p.temp
			case c == Barometer:
				to = &p.baro
			case c != flow:
				continue
			}
			*to = s.Others[j] / float64(s.OtherN[j])
		}
		ps = append(ps, p)
	}
	return ps
}

// reduction carries the dP of filters that are never pulsed to a reference flow and density:
//
//	z = ln dP - a ln F/F0 - b ln T/T0 - c ln P/P0 - d max(0, RH - 0.8)/0.2
//
// The exponents are fitted to the record itself on differences over about a day, in which the
// filters' age does not show, and held to what physics allows: a from 1 (creeping flow) to 2
// (turbulent); b and c from those of a volume flow to those of a mass flow; d from 0, since damp dust
// swells, to 0.5.
type reduction struct {
	a, b, c, d float64
	f0, t0, p0 float64 // medians of the record; NaN where a channel is missing
	useRH      bool
	fitted     bool
	flowBy     string // "flow", "flow_index", or "" when neither
}

// reductionLimits are the lowest and highest a, b, c and d.
var reductionLimits = [4][2]float64{{1, 2}, {-1, 1.75}, {-1.5, 1}, {0, 0.5}}

// dampFrom is the relative humidity from which dust on the filters takes up water. Common practice,
// no source.
const dampFrom = 0.8

// terms returns what stands beside the exponents for a point: logs of flow, temperature and pressure
// over the reference, and dampness. A missing one counts as the reference.
func (r *reduction) terms(p *point) (x [4]float64) {
	set := func(i int, v, ref float64) {
		if v > 0 && ref > 0 {
			x[i] = math.Log(v / ref)
		}
	}
	set(0, p.flow, r.f0)
	set(1, p.temp, r.t0)
	set(2, p.baro, r.p0)
	if r.useRH && p.rh == p.rh {
		x[3] = max(0, p.rh-dampFrom) / (1 - dampFrom)
	}
	return x
}

// level returns z of a point; NaN for a dP that is not above zero.
func (r *reduction) level(p *point) float64 {
	if !(p.dp > 0) {
		return math.NaN()
	}
	x := r.terms(p)
	return math.Log(p.dp) - r.a*x[0] - r.b*x[1] - r.c*x[2] - r.d*x[3]
}

// reduce fits the reduction to the points and writes their z.
func reduce(ps []point, c *collector.Collector, flow string) reduction {
	r := reduction{a: 1, flowBy: flow, f0: math.NaN(), t0: math.NaN(), p0: math.NaN()}
	r.f0, r.t0, r.p0 = centre(ps, func(p *point) float64 { return p.flow }), centre(ps, func(p *point) float64 { return p.temp }),
		centre(ps, func(p *point) float64 { return p.baro })
	r.useRH = !math.IsNaN(centre(ps, func(p *point) float64 { return p.rh }))
	if flow == "flow" && c != nil && c.Duty.Flow > 0 {
		r.f0 = float64(c.Duty.Flow)
	}
	r.fit(ps)
	for i := range ps {
		ps[i].z = r.level(&ps[i])
	}
	return r
}

// centre is the median of a property over the points.
func centre(ps []point, of func(*point) float64) float64 {
	v := make([]float64, 0, len(ps))
	for i := range ps {
		v = append(v, of(&ps[i]))
	}
	return medianOf(v)
}

// The fit takes differences over lagPoints points or one day, whichever is longer, but no more of
// them than fitPoints; below fitLeast it is not worth while and the reduction stays linear in flow.
const (
	lagPoints = 1
	fitPoints = 4000
	fitLeast  = 60
)

// fit finds the exponents by robust least squares on differences (Huber weights), one after the
// other set to its limit where it would pass it.
func (r *reduction) fit(ps []point) {
	lag := r.lag(ps)
	n := len(ps) - lag
	if n < fitLeast {
		return
	}
	stride := max(1, n/fitPoints)
	var x [][4]float64
	var y []float64
	for i := lag; i < len(ps); i += stride {
		a, b := &ps[i], &ps[i-lag]
		if !(a.dp > 0) || !(b.dp > 0) {
			continue
		}
		ta, tb := r.terms(a), r.terms(b)
		for j := range ta {
			ta[j] -= tb[j]
		}
		x, y = append(x, ta), append(y, math.Log(a.dp/b.dp))
	}
	free := moved(x)
	var fixed [4]float64
	if !free[0] {
		fixed[0] = 1
	}
	for range 4 {
		got, ok := robustFit(x, y, free, fixed)
		if !ok {
			return
		}
		out := -1
		for j, lim := range reductionLimits {
			if free[j] && (got[j] < lim[0] || got[j] > lim[1]) {
				fixed[j], out = min(max(got[j], lim[0]), lim[1]), j
				free[j] = false
				break
			}
		}
		if out < 0 {
			r.a, r.b, r.c, r.d, r.fitted = got[0], got[1], got[2], got[3], true
			return
		}
	}
}

// lag is how many points make a day, at least one; a short record takes a twentieth of itself.
func (r *reduction) lag(ps []point) int {
	if len(ps) < 2 {
		return lagPoints
	}
	step := float64(ps[len(ps)-1].t-ps[0].t) / float64(len(ps)-1)
	if step <= 0 {
		return lagPoints
	}
	return max(lagPoints, min(int(math.Round(86400/step)), len(ps)/20))
}

// moved reports which terms vary enough to be told: by half a percent in the flow, a fifth of that
// elsewhere.
func moved(x [][4]float64) (free [4]bool) {
	v := make([]float64, 0, len(x))
	for j, least := range [4]float64{0.005, 0.001, 0.001, 0.02} {
		v = v[:0]
		sum := 0.0
		for i := range x {
			sum += x[i][j] * x[i][j]
		}
		free[j] = len(x) > 0 && math.Sqrt(sum/float64(len(x))) > least
	}
	return free
}

// robustFit is least squares with Huber weights on the free terms; the others keep their fixed value.
func robustFit(x [][4]float64, y []float64, free [4]bool, fixed [4]float64) ([4]float64, bool) {
	got := fixed
	w, res, abs := make([]float64, len(y)), make([]float64, len(y)), make([]float64, len(y))
	for i := range w {
		w[i] = 1
	}
	for range 12 {
		next, ok := weightedFit(x, y, w, free, fixed)
		if !ok {
			return got, false
		}
		change := 0.0
		for j := range next {
			change = max(change, math.Abs(next[j]-got[j]))
		}
		got = next
		for i := range y {
			res[i] = y[i]
			for j := range got {
				res[i] -= got[j] * x[i][j]
			}
			abs[i] = math.Abs(res[i])
		}
		scale := 1.345 * solve.MADToSigma * quantileOf(abs, 0.5)
		for i := range w {
			w[i] = 1
			if a := math.Abs(res[i]); a > scale && a > 0 {
				w[i] = scale / a
			}
		}
		if change < 1e-6 {
			break
		}
	}
	return got, true
}

// weightedFit is least squares on the free terms.
func weightedFit(x [][4]float64, y, w []float64, free [4]bool, fixed [4]float64) ([4]float64, bool) {
	rows, rest := make([][]float64, len(y)), make([]float64, len(y))
	flat := make([]float64, 0, 4*len(y))
	for i := range y {
		from := len(flat)
		rest[i] = y[i]
		for j := range fixed {
			if free[j] {
				flat = append(flat, x[i][j])
			} else {
				rest[i] -= fixed[j] * x[i][j]
			}
		}
		rows[i] = flat[from:]
	}
	out := fixed
	if len(flat) == 0 {
		return out, true
	}
	f, err := solve.LeastSquares(rows, rest, w)
	if err != nil {
		return out, false
	}
	k := 0
	for j := range out {
		if free[j] {
			out[j] = f.Param[k]
			k++
		}
	}
	return out, true
}
