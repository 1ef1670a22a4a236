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
	pauseSame  = 0.7 // the same where all pauses come before one valve
	roundPause = 2.0 // more where the first pause is a whole number of intervals
	roundTrip  = 6.0 // more for every pause that is as long as whole rounds: then the same valve fires alone
	stopPrior  = 3.0 // what it costs that cleaning started or stopped within the trace
)

// cost of a choice of missed turns of n valves; again is what every pause after the first costs.
func (g gaps) cost(at []float64, interval, again float64, valves int) float64 {
	var sum float64
	next := pausePrior
	for j, k := range g {
		n := (at[j+1] - at[j]) / interval
		if math.Abs(n-float64(k+1)) < 0.2*float64(k+1) && math.Abs(n-float64(k+1)) < 0.5 {
			continue
		}
		sum += next
		round := math.Abs(n-math.Round(n)) < 0.06
		if round && next == pausePrior {
			sum += roundPause
		}
		if round && valves > 1 && n > 0.5 && int(math.Round(n))%valves == 0 {
			sum += roundTrip
		}
		next = again
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
	c := &chooser{w: w, at: at, path: path, best: g, known: map[float64]turn{}}
	c.value = c.worth(g, pauseAgain)
	for _, same := range []int{0, 1, 2} { // all pauses alike
		h := append(gaps(nil), g...)
		for j := range h {
			if n := c.intervals(j); n > 2.6 || n > 1.6 && math.Abs(n-2) > 0.2 {
				h[j] = min(same, int(n-0.6))
			}
		}
		c.consider(h, pauseAgain)
	}
	for o := range w.n { // all pauses before the same valve
		c.consider(c.before(o, g), pauseSame)
	}
	c.oneByOne()
	return c.best
}

// chooser looks for the gaps that make most sense of the pulses.
type chooser struct {
	w     *work
	at    []float64
	path  []int
	best  gaps
	value float64
	known map[float64]turn // turns measured so far
}

// intervals is how many intervals gap j is long.
func (c *chooser) intervals(j int) float64 { return (c.at[j+1] - c.at[j]) / c.w.interval }

// worth is the evidence of a choice less what it costs.
func (c *chooser) worth(g gaps, again float64) float64 {
	w := c.w
	turns, stop := trimEnds(c.turns(g), w.n, w.centre)
	return evidence(turns, w.n, w.centre) - g.cost(c.at, w.interval, again, w.n) - stop - w.unexplained(turns)
}

// turns are measured as a choice lays them.
func (c *chooser) turns(g gaps) []turn {
	w := c.w
	view := w.window()
	view.known = c.known
	return measureTurns(w.s, lay(w.s, c.at, c.path, g, w.interval), w.shape, view)
}

// nearby is how many intervals on either side of a gap decide on it in a long trace: far turns would only follow.
const nearby = 60

// worthNear is worth of the turns around gap j only.
func (c *chooser) worthNear(g gaps, j int) float64 {
	w := c.w
	turns := c.turns(g)
	from, to := c.at[j]-nearby*w.interval, c.at[j+1]+nearby*w.interval
	lo := 0
	for lo < len(turns) && turns[lo].at < from {
		lo++
	}
	hi := lo
	for hi < len(turns) && turns[hi].at <= to {
		hi++
	}
	return evidence(turns[lo:hi], w.n, w.centre) - g.cost(c.at, w.interval, pauseAgain, w.n)
}

func (c *chooser) consider(h gaps, again float64) bool {
	v := c.worth(h, again)
	if v <= c.value+0.5 {
		return false
	}
	c.best, c.value = h, v
	return true
}

// before gives the gaps of a controller that always pauses before the valve at position o, counted from
// the first pulse: the longest gaps are the pauses.
func (c *chooser) before(o int, g gaps) gaps {
	longest := 0.0
	for j := range g {
		longest = math.Max(longest, c.intervals(j))
	}
	h := append(gaps(nil), g...)
	index := 0
	for j := range h {
		n := c.intervals(j)
		whole := math.Abs(n-math.Round(n)) < 0.15
		if n > 1.6 && (!whole || n > 0.6*longest && n > 2.6) {
			k := ((o-index-1)%c.w.n + c.w.n) % c.w.n
			if float64(k+1) < n-0.3 {
				h[j] = k
			}
		}
		index += h[j] + 1
	}
	return h
}

// oneByOne changes single gaps as long as that helps.
func (c *chooser) oneByOne() {
	long := len(c.at) > 4*nearby
	for range 3 {
		changed := false
		for j := range c.best {
			n := c.intervals(j)
			if n < 1.6 {
				continue
			}
			for k := 0; k <= min(int(math.Round(n))-1, 4); k++ {
				if k == c.best[j] {
					continue
				}
				h := append(gaps(nil), c.best...)
				h[j] = k
				if long {
					if c.worthNear(h, j) > c.worthNear(c.best, j)+0.5 {
						c.best, changed = h, true
					}
					continue
				}
				changed = c.consider(h, pauseAgain) || changed
			}
		}
		if !changed {
			return
		}
	}
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
