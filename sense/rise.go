package sense

import (
	"math"

	"dustwright/solve"
)

// riseSize is how many points a RiseState holds; when full, neighbours are averaged in pairs.
const riseSize = 64

// RiseState follows the dP between two cleanings on at most riseSize points. It is exported for gob.
type RiseState struct {
	T0     float64 // running time at its beginning [s]
	Stride int32   // rows averaged into one point
	Count  int32   // rows in the point being made
	N      int32
	SumT   float64
	SumX   float64
	T, X   [riseSize]float64 // running time [s], dP [Pa]
}

// restart begins anew at running time t [s].
func (r *RiseState) restart(t float64) { *r = RiseState{T0: t, Stride: 1} }

// add takes the dP x [Pa] at running time t [s] in; NaN is passed over.
func (r *RiseState) add(t, x float64) {
	if x != x {
		return
	}
	r.SumT += t
	r.SumX += x
	r.Count++
	if r.Count < max(1, r.Stride) {
		return
	}
	if r.N == riseSize {
		for i := range riseSize / 2 {
			r.T[i], r.X[i] = (r.T[2*i]+r.T[2*i+1])/2, (r.X[2*i]+r.X[2*i+1])/2
		}
		r.N = riseSize / 2
		r.Stride = 2 * max(1, r.Stride)
		return // the sums go on until the longer stride is full
	}
	r.T[r.N], r.X[r.N] = r.SumT/float64(r.Count), r.SumX/float64(r.Count)
	r.N++
	r.SumT, r.SumX, r.Count = 0, 0, 0
}

// riseFit is a straight course through a rise.
type riseFit struct {
	n           int
	slope       float64 // [Pa/s]
	early, late float64 // slopes of the halves [Pa/s]
	end, endSD  float64 // dP at the last point and its standard uncertainty [Pa]
}

// fit puts lines through the whole and through both halves and carries the later one on to running
// time end [s]; points off by more than four robust standard deviations are left out. Slopes are NaN
// below three points, of halves below six.
func (r *RiseState) fit(end float64) riseFit {
	nan := math.NaN()
	f := riseFit{n: int(r.N), slope: nan, early: nan, late: nan, end: nan, endSD: nan}
	t, x := r.T[:r.N], r.X[:r.N]
	switch {
	case r.N == 0:
		if r.Count > 0 {
			f.end = r.SumX / float64(r.Count)
		}
		return f
	case r.N < 3:
		f.end = x[r.N-1]
		return f
	}
	whole := trimmedLine(t, x)
	f.slope, f.end, f.endSD = whole.slope, whole.at(end), whole.sdAt(end)
	if r.N >= 6 {
		half := r.N / 2
		a, b := trimmedLine(t[:half], x[:half]), trimmedLine(t[half:], x[half:])
		f.early, f.late = a.slope, b.slope
		if r.N >= 12 {
			f.end, f.endSD = b.at(end), b.sdAt(end)
		}
	}
	return f
}

// line is a least-squares line about the mean of its points.
type line struct{ n, tm, xm, slope, sd, stt float64 }

func (l line) at(t float64) float64 { return l.xm + l.slope*(t-l.tm) }

// sdAt is the standard uncertainty of the line at t.
func (l line) sdAt(t float64) float64 {
	lever := 1 / l.n
	if l.stt > 0 {
		lever += (t - l.tm) * (t - l.tm) / l.stt
	}
	return l.sd * math.Sqrt(lever)
}

// trimmedLine fits a line, leaves out what lies more than four robust deviations off, and fits again.
func trimmedLine(t, x []float64) line {
	l := lineThrough(t, x, math.Inf(1), line{})
	var off [riseSize]float64
	r := off[:len(t)]
	for i := range t {
		r[i] = math.Abs(x[i] - l.at(t[i]))
	}
	if limit := 4 * solve.MADToSigma * quantileOf(r, 0.5); limit > 0 && r[len(r)-1] > limit {
		return lineThrough(t, x, limit, l)
	}
	return l
}

// lineThrough fits the points that lie within limit of the line about.
func lineThrough(t, x []float64, limit float64, about line) line {
	var l line
	for i := range t {
		if math.IsInf(limit, 1) || math.Abs(x[i]-about.at(t[i])) <= limit {
			l.n++
			l.tm += t[i]
			l.xm += x[i]
		}
	}
	l.tm /= l.n
	l.xm /= l.n
	var stx, sxx float64
	for i := range t {
		if math.IsInf(limit, 1) || math.Abs(x[i]-about.at(t[i])) <= limit {
			dt, dx := t[i]-l.tm, x[i]-l.xm
			l.stt += dt * dt
			stx += dt * dx
			sxx += dx * dx
		}
	}
	if l.stt > 0 {
		l.slope = stx / l.stt
	}
	if l.n > 2 {
		l.sd = math.Sqrt(max(0, sxx-l.slope*stx) / (l.n - 2))
	}
	return l
}
