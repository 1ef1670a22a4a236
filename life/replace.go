package life

import (
	"errors"
	"math"
	"time"
)

// ErrNoOptimum is returned where the cost per hour only falls with age: run until the limit.
var ErrNoOptimum = errors.New("life: changing early never pays; run until the limit")

// Ageing is what age replacement needs to know of a part. Ages are in any one unit.
type Ageing struct {
	Survive func(age float64) float64 // probability that the limit is not reached by that age, 1 at 0, falling
	Running func(age float64) float64 // running cost per unit of age above that of a new part; nil none
	Planned float64                   // cost of a change in good time
	Failure float64                   // cost of a change after the limit was reached
	Longest float64                   // no age beyond this is looked at
}

// CheapestAge returns the age at which a part costs least per unit of age when it is changed there,
// or at its limit if that comes first, and that cost [money per unit of age].
//
//	C(T) = [Planned R(T) + Failure (1 - R(T)) + integral of Running R] / integral of R, from 0 to T
//
// It returns ErrNoOptimum, with the cost of running to the limit, where C still falls at Longest.
// Source: age replacement with the renewal-reward theorem, common reliability text; check values
// testdata/weibull_age_replacement.csv. NaN from the functions gives NaN.
func CheapestAge(a Ageing) (age, rate float64, err error) {
	const steps = 20000
	h := a.Longest / steps
	running := a.Running
	if running == nil {
		running = func(float64) float64 { return 0 }
	}
	best, bestAge := math.Inf(1), 0.0
	var up, cost float64
	r0, c0 := a.Survive(0), running(0)
	last := 0.0
	at := 0
	for i := 1; i <= steps; i++ {
		t := h * float64(i)
		rm, r1 := a.Survive(t-0.5*h), a.Survive(t)
		cm, c1 := running(t-0.5*h), running(t)
		up += h / 6 * (r0 + 4*rm + r1) // Simpson
		cost += h / 6 * (r0*c0 + 4*rm*cm + r1*c1)
		r0, c0 = r1, c1
		last = (a.Planned*r1 + a.Failure*(1-r1) + cost) / up
		if last < best {
			best, bestAge, at = last, t, i
		}
	}
	if at == steps || best > last*(1-1e-9) {
		return math.Inf(1), last, ErrNoOptimum
	}
	lo, hi := bestAge-h, bestAge+h
	slope := func(t float64) float64 { // sign of dC/dT times R: hazard part by central difference
		d := 1e-3 * h
		hazard := (a.Survive(t-d) - a.Survive(t+d)) / (2 * d)
		return hazard*(a.Failure-a.Planned) + a.Survive(t)*(running(t)-best)
	}
	for range 60 {
		mid := 0.5 * (lo + hi)
		if slope(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 0.5 * (lo + hi), best, nil
}

// Costs are what a change, and waiting for it, cost. Money is in the collector file's currency.
type Costs struct {
	Planned     float64 // filters and labour of a change in good time
	Failure     float64 // the same when the limit was reached first
	FanPerPaH   float64 // fan energy for each pascal across the filters and running hour; 0 where a damper evens it out
	AirPerHour  float64 // pulse air at present [money per running hour]; taken to grow with the dP
	LostPerHour float64 // lost capture, for each running hour past the limit until new filters are in
}

// Change is advice on when to change.
type Change struct {
	Date    time.Time // cheapest; zero: beyond three years
	AtLimit bool      // changing before the limit does not pay
	PerWeek float64   // what the filters cost in a week of running when changed then
	Waiting []Wait    // what it costs to wait longer than that
}

// Wait is the extra cost of changing some weeks after the cheapest date.
type Wait struct {
	Weeks int
	Extra float64
}

// cheapest returns the date of least cost for a change, given the distribution of the running hours to the first limit.
func (n *now) cheapest(first *view, cal calendar, c Costs) Change {
	hours := n.hours
	longest := hours + math.Min(first.quantiles(0.995)[0], cal.hours(horizon))
	birth, levels := n.course(longest)
	failure := math.Max(c.Failure, c.Planned) + c.LostPerHour*n.in.LeadTime.Hours()*cal.share
	a := Ageing{Planned: c.Planned, Failure: failure, Longest: longest}
	left := survival(first.pieces, longest-hours)
	a.Survive = func(t float64) float64 {
		if t <= hours {
			return 1
		}
		return left((t - hours) / (longest - hours))
	}
	nowLevel := levels(hours)
	a.Running = func(t float64) float64 {
		y := levels(t)
		return c.FanPerPaH*max(y-birth, 0) + c.AirPerHour*max(y/nowLevel-1, -1)
	}
	age, rate, err := CheapestAge(a)
	out := Change{PerWeek: rate * 168 * cal.share}
	if err != nil {
		out.AtLimit = true
		out.Date = cal.date(first.quantiles(0.5)[0])
		return out
	}
	from := math.Max(age, hours)
	out.Date = cal.date(from - hours)
	for _, w := range []int{1, 2, 4} {
		to := from + float64(w)*168*cal.share
		out.Waiting = append(out.Waiting, Wait{w, a.extra(from, to, rate)})
	}
	return out
}

// extra is what running from one age to another costs above the long-run rate, given that the
// limit was not reached before.
func (a Ageing) extra(from, to, rate float64) float64 {
	const steps = 50
	h := (to - from) / steps
	alive := math.Max(a.Survive(from), 1e-9)
	var sum float64
	for i := range steps {
		r0, r1 := a.Survive(from+h*float64(i)), a.Survive(from+h*float64(i+1))
		sum += (r0-r1)*(a.Failure-a.Planned) + 0.5*(r0+r1)*h*(a.Running(from+h*(float64(i)+0.5))-rate)
	}
	return sum / alive
}

// survival tabulates the probability of not having reached the limit, against the share of a span.
func survival(ms []mass, span float64) func(u float64) float64 {
	const steps = 400
	var table [steps + 1]float64
	var sum float64
	for _, m := range ms {
		sum += m.w
	}
	j, cum := 0, 0.0
	for k := range table {
		at := math.Log(span * float64(k) / steps)
		for j < len(ms) && ms[j].at <= at {
			cum += ms[j].w
			j++
		}
		table[k] = 1 - cum/sum
	}
	return func(u float64) float64 {
		t := min(max(u, 0), 1) * steps
		i := min(int(t), steps-1)
		return table[i] + (t-float64(i))*(table[i+1]-table[i])
	}
}

// course returns the level at birth and the likeliest level over running hours from birth on.
func (n *now) course(longest float64) (birth float64, level func(hours float64) float64) {
	const steps = 200
	o := n.main
	var table [steps + 1]float64
	var says []say
	perAge := o.f.now / math.Max(n.hours, 1e-9)
	for k := range table {
		h := longest * float64(k) / steps
		x := h * perAge
		if h > n.hours {
			x = o.f.now + (h-n.hours)*n.perHour()
		}
		says = o.says(x, says)
		table[k] = weighted(says, 0.5)
	}
	return table[0], func(h float64) float64 {
		t := min(max(h/longest, 0), 1) * steps
		i := min(int(t), steps-1)
		return table[i] + (t-float64(i))*(table[i+1]-table[i])
	}
}
