package ear

import "math"

// How loud the pulses of a row are from place to place.
const (
	valveScatter = 0.9 // of good valves about the run of the row [dB]
	weakBefore   = 0.2 // share of weak valves before anything was heard
	weakTop      = 2.6 // a weak pulse is at least so far below the run [dB]
	weakBottom   = 15  // and at most
	runOffset    = 30  // spread of the row's level before anything was heard [dB]
	runPasses    = 6
)

// runs are how far the level may run along the row [dB]: the phone lies nearer to some valves than to others.
var runs = [...]float64{0, 2, 5}

// along says of each valve how likely it is weaker than its place in the row lets expect, and how far below it is [dB].
// level and sigma are of each valve in firing order, NaN where nothing was heard. The recording may begin anywhere in the
// row, so its ends may lie side by side anywhere.
func along(level, sigma []float64) (weak, below []float64) {
	n := 0
	for _, l := range level {
		if !math.IsNaN(l) {
			n++
		}
	}
	top := math.Inf(-1)
	for _, run := range runs {
		starts := 1
		if run > 0 {
			starts = len(level)
		}
		if run > 0 && n < 5 {
			continue
		}
		for start := range starts {
			w, b, score := expect(level, sigma, run, start)
			if start > 0 {
				score -= math.Log(float64(len(level)))
			}
			if score-0.3*run > top {
				weak, below, top = w, b, score-0.3*run
			}
		}
	}
	return weak, below
}

// expect sets against each valve what all the others let expect of it, a smooth run along the row: a Gaussian process
// with good valves scattered about it and weak ones below. score is how well that does [ln].
func expect(level, sigma []float64, run float64, start int) (weak, below []float64, score float64) {
	var at []int
	var y []float64
	for i, l := range level {
		if !math.IsNaN(l) {
			at, y = append(at, i), append(y, l)
		}
	}
	weak, below = make([]float64, len(level)), make([]float64, len(level))
	n, count := len(at), float64(len(level))
	good := make([]float64, n)
	for i := range good {
		good[i] = 1
	}
	k := make([][]float64, n)
	for pass := range runPasses {
		for i := range k {
			k[i] = make([]float64, n)
			for j := range k[i] {
				d := float64((at[i]-start+len(level))%len(level)-(at[j]-start+len(level))%len(level)) / math.Max(2, 0.4*count)
				k[i][j] = runOffset*runOffset + run*run*math.Exp(-d*d/2)
			}
			k[i][i] += own(sigma[at[i]]) / math.Max(0.02, good[i])
		}
		invert(k)
		score = 0
		for i := range k {
			sum := 0.0
			for j, v := range k[i] {
				sum += v * y[j]
			}
			d := sum / k[i][i] // above what the others let expect
			wide := 1/k[i][i] - own(sigma[at[i]])/math.Max(0.02, good[i]) + own(sigma[at[i]])
			ok := (1 - weakBefore) * math.Exp(-d*d/(2*wide)) / math.Sqrt(2*math.Pi*wide)
			less := weakBefore * (1e-4 + logistic((-weakTop-d)/0.3)*logistic((d+weakBottom)/1.5)/(weakBottom-weakTop))
			if d > 0 {
				ok = math.Max(ok, 1e-4)
			}
			if pass == runPasses-1 {
				weak[at[i]], below[at[i]] = less/(less+ok), -d
			}
			good[i] = ok / (less + ok)
			score += math.Log(ok + less)
		}
	}
	return weak, below, score
}

// own is the variance of a good valve about the run [dB²].
func own(sigma float64) float64 { return valveScatter*valveScatter + sigma*sigma }

// invert inverts a symmetric positive definite matrix in place.
func invert(a [][]float64) {
	for p := range a {
		pivot := 1 / a[p][p]
		a[p][p] = 1
		for j := range a {
			a[p][j] *= pivot
		}
		for i := range a {
			if i == p {
				continue
			}
			f := a[i][p]
			a[i][p] = 0
			for j := range a {
				a[i][j] -= f * a[p][j]
			}
		}
	}
}
