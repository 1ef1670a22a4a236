package main

import (
	"fmt"
	"io"
	"math"

	"dustwright/life"
)

// whole are the lives of the open record that are seen from birth to renewal; the limit of each is
// the level of its own last week.
func (r *openRecord) whole() []int {
	var out []int
	for k, l := range r.in.Lives {
		if l.StartKnown && l.Ended && len(r.weekly[k]) >= 8 {
			out = append(out, k)
		}
	}
	return out
}

// printRemaining prints the remaining weeks at shares of each whole life.
func (r *openRecord) printRemaining(w io.Writer) {
	fmt.Fprintln(w, "Remaining operating weeks of each whole life; the limit is the level of its own last week")
	fmt.Fprintln(w, "  passed   life   truth   life, all others: P10   P50   P90   earlier only: P10   P50   P90   alone: P10   P50   P90")
	shares := []float64{0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9}
	errs := map[string]map[float64][]float64{}
	note := func(name string, share, e float64) {
		if errs[name] == nil {
			errs[name] = map[float64][]float64{}
		}
		errs[name][share] = append(errs[name][share], math.Abs(e))
	}
	inside, asked := map[others]int{}, 0
	for _, share := range shares {
		for _, k := range r.whole() {
			v := r.weekly[k]
			limit := v[len(v)-1]
			end := r.in.Lives[k].Points[len(r.in.Lives[k].Points)-1].Hours
			now := share * end
			truth := (end - now) / week
			asked++
			fmt.Fprintf(w, "  %4.0f %%   %4d   %5.1f", 100*share, k+1, truth)
			for _, o := range []others{allOthers, earlierOnly, none} {
				f := life.Forecast(r.as(k, now, limit, o))
				q := [3]float64{f.Hours[0] / week, f.Hours[1] / week, f.Hours[2] / week}
				fmt.Fprintf(w, "      %13.1f %5.1f %5.1f", q[0], q[1], q[2])
				note("life, "+o.String(), share, q[1]-truth)
				if truth >= q[0] && truth <= q[2] {
					inside[o]++
				}
			}
			fmt.Fprintln(w)
			for name, left := range naiveWeeks(v[:int(now/week)], limit) {
				note(name, share, left-truth)
			}
		}
	}
	fmt.Fprint(w, "Mean error in weeks at")
	for _, s := range shares {
		fmt.Fprintf(w, "   %3.0f %%", 100*s)
	}
	fmt.Fprintln(w)
	for _, name := range []string{"life, " + allOthers.String(), "life, " + earlierOnly.String(), "life, " + none.String(),
		"line through the life", "line through 8 weeks", "exponential through the life", "parabola through the life"} {
		fmt.Fprintf(w, "  %-28s", name)
		for _, s := range shares {
			fmt.Fprintf(w, " %5.1f ", mean(errs[name][s]))
		}
		fmt.Fprintln(w)
	}
	for _, o := range []others{allOthers, earlierOnly, none} {
		fmt.Fprintf(w, "80 %% interval holds, %s: %d of %d\n", o, inside[o], asked)
	}
}

// naiveWeeks is what plain fits to the weekly medians say of the weeks left.
func naiveWeeks(v []float64, limit float64) map[string]float64 {
	now := float64(len(v))
	x, logs := make([]float64, len(v)), make([]float64, len(v))
	for i := range v {
		x[i], logs[i] = float64(i)+0.5, math.Log(v[i])
	}
	out := map[string]float64{}
	a, b := fit(x, v)
	out["line through the life"] = reach(a, b, limit, now)
	from := max(0, len(v)-8)
	a, b = fit(x[from:], v[from:])
	out["line through 8 weeks"] = reach(a, b, limit, now)
	a, b = fit(x, logs)
	out["exponential through the life"] = reach(a, b, math.Log(limit), now)
	out["parabola through the life"] = parabola(x, v, limit, now)
	return out
}

// parabola fits a second-degree curve by orthogonal polynomials and walks it to the limit.
func parabola(x, y []float64, limit, now float64) float64 {
	a, b := fit(x, y)
	square := make([]float64, len(x))
	for i := range x {
		square[i] = x[i] * x[i]
	}
	c, d := fit(x, square)
	var num, den float64
	for i := range x {
		q := square[i] - c - d*x[i]
		num += q * (y[i] - a - b*x[i])
		den += q * q
	}
	if den == 0 {
		return reach(a, b, limit, now)
	}
	e := num / den
	for t := now; t < (1+never)*now; t += 0.1 {
		if a+b*t+e*(t*t-c-d*t) >= limit {
			return t - now
		}
	}
	return never * now
}
