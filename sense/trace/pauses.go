package trace

import "math"

// A pause of the controller and a turn without a pulse look alike on their own: nothing happens. What
// tells them apart is who fires afterwards: a wrong count deals the later pulses to the wrong valves.

// evidence is how much better the turns are explained by n valves with habits than by no pulse at all.
// Turns without a pulse can then be added or left out and the numbers still compare.
func evidence(turns []turn, n int, c centre) float64 {
	rel := relatives(turns, c.scaling)
	looks, _ := looksOf(turns, n, c.drop, c.drop, rel)
	var sum float64
	for _, v := range looks {
		if len(v) == 0 {
			continue
		}
		w := weigh(v)
		sum += w.total()
		for _, l := range v {
			sd := math.Hypot(l.sigma, 0.02)
			sum += sq(l.ratio/sd)/2 + math.Log(sd*math.Sqrt(2*math.Pi))
		}
	}
	return sum
}

const (
	pausePrior = 4.5 // what a first pause costs, in logarithms
	pauseAgain = 2.0 // what every further one costs: a controller that pauses does so again
	roundPause = 2.0 // more where the first pause is a whole number of intervals
	stopPrior  = 3.0 // what it costs that cleaning started or stopped within the trace
)

// cost of a choice of missed turns.
func (g gaps) cost(at []float64, interval float64) float64 {
	var sum float64
	for j, k := range g {
		n := (at[j+1] - at[j]) / interval
		if math.Abs(n-float64(k+1)) < 0.2*float64(k+1) && math.Abs(n-float64(k+1)) < 0.5 {
			continue
		}
		if sum > 0 {
			sum += pauseAgain
			continue
		}
		sum = pausePrior
		if math.Abs(n-math.Round(n)) < 0.06 {
			sum += roundPause
		}
	}
	return sum
}

// settlePauses chooses for every long gap how many turns it holds.
func (w *work) settlePauses(at []float64, path []int, g gaps) gaps {
	long := false
	for j := range g {
		long = long || at[j+1]-at[j] > 1.6*w.interval
	}
	if !long {
		return g
	}
	value := func(g gaps) float64 {
		turns := measureTurns(w.s, lay(w.s, at, path, g, w.interval), w.shape, w.window())
		turns, stop := trimEnds(turns, w.n, w.centre)
		return evidence(turns, w.n, w.centre) - g.cost(at, w.interval) - stop - w.unexplained(turns)
	}
	best, bestValue := g, value(g)
	consider := func(h gaps) bool {
		if v := value(h); v > bestValue+0.5 {
			best, bestValue = h, v
			return true
		}
		return false
	}
	for _, same := range []int{0, 1, 2} { // all pauses alike
		h := append(gaps(nil), g...)
		for j := range h {
			if n := (at[j+1] - at[j]) / w.interval; n > 2.6 || n > 1.6 && math.Abs(n-2) > 0.2 {
				h[j] = min(same, int(n-0.6))
			}
		}
		consider(h)
	}
	for range 3 {
		changed := false
		for j := range g {
			n := (at[j+1] - at[j]) / w.interval
			if n < 1.6 {
				continue
			}
			for k := 0; k <= min(int(math.Round(n))-1, 4); k++ {
				if k == best[j] {
					continue
				}
				h := append(gaps(nil), best...)
				h[j] = k
				changed = consider(h) || changed
			}
		}
		if !changed {
			break
		}
	}
	return best
}

// trimEnds leaves out turns at either end in which nothing fired although their valves fire elsewhere:
// cleaning had not started or had stopped. It returns what that costs.
func trimEnds(turns []turn, n int, c centre) ([]turn, float64) {
	silent := func(t turn) bool { return t.mark == 0 && t.drop < 0.12*c.drop*c.at(t.before)+2*t.sigma }
	best, bestCost := turns, 0.0
	value := evidence(turns, n, c)
	tail := len(turns)
	for tail > 1 && silent(turns[tail-1]) {
		tail--
	}
	if tail < len(turns) {
		if v := evidence(turns[:tail], n, c) - stopPrior; v > value+0.5 {
			best, bestCost, value = turns[:tail], stopPrior, v
		}
	}
	head := 0
	for head < len(best)-1 && silent(best[head]) {
		head++
	}
	if head > 0 {
		if v := evidence(best[head:], n, c) - stopPrior - bestCost; v > value+0.5 {
			best, bestCost = best[head:], bestCost+stopPrior
		}
	}
	return best, bestCost
}

// unexplained is what it costs that pulses stand where no turn is, nor shortly after one.
func (w *work) unexplained(turns []turn) float64 {
	cost := 0.0
	j := 0
	for _, p := range w.found {
		at := w.s.time(p.bin)
		for j+1 < len(turns) && turns[j+1].at <= at+0.05*w.interval+0.3 {
			j++
		}
		if p.z < 8 || len(turns) == 0 || p.drop < 0.5*w.centre.drop*w.centre.at(turns[j].before) {
			continue
		}
		if since := at - turns[j].at; since < -0.05*w.interval-0.3 || since > 3 && since > 0.05*w.interval+0.3 {
			cost += 5
		}
	}
	return cost
}
