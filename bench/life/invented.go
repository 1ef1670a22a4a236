package main

import (
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"sync"

	"dustwright/life"
	"dustwright/life/lifetest"
)

// phases are the shares of the life passed at which a forecast is asked for.
var phases = []float64{0.25, 0.5, 0.7, 0.9}

// family is a kind of invented life.
type family struct {
	name string
	make func(seed uint64) lifetest.Case
}

func families() []family {
	lab := func(earlier int, known, varied bool) func(uint64) lifetest.Case {
		return func(s uint64) lifetest.Case { return lifetest.Lab(s, earlier, known, varied) }
	}
	return []family{
		{"pulse-jet, several readings a day, 0 to 3 earlier lives", func(s uint64) lifetest.Case { return lifetest.Pulsed(s, false) }},
		{"pulse-jet, one hand reading a day, 0 to 3 earlier lives", func(s uint64) lifetest.Case { return lifetest.Pulsed(s, true) }},
		{"never pulsed, laboratory, no earlier life", lab(0, false, false)},
		{"never pulsed, laboratory, feed known, no earlier life", lab(0, true, false)},
		{"never pulsed, laboratory, 3 earlier lives, same feed", lab(3, false, false)},
		{"never pulsed, laboratory, 4 earlier lives, feeds and dusts differ, feed known", lab(4, true, true)},
		{"never pulsed, laboratory, 4 earlier lives, feeds and dusts differ, unknown", lab(4, false, true)},
		{"never pulsed, static inlet over months, no earlier life", func(s uint64) lifetest.Case { return lifetest.Static(s, 0) }},
		{"never pulsed, static inlet over months, 3 earlier lives", func(s uint64) lifetest.Case { return lifetest.Static(s, 3) }},
	}
}

// hit is one forecast against the truth.
type hit struct {
	off         float64 // relative error of the remaining life, NaN where nothing was forecast
	early, late bool    // the truth lies before P10, after P90
	width       float64 // P90 over P10
	line        float64 // relative error of a straight line through the last half of the record
}

// printInvented prints the table of the invented lives.
func printInvented(w io.Writer, n int, seed uint64) {
	fmt.Fprintf(w, "Invented lives, %d of each kind from seed %d; remaining life against the truth\n", n, seed)
	fmt.Fprintln(w, hitsHead)
	var all []hit
	for _, f := range families() {
		hits := make([][]hit, n)
		each(n, func(i int) { hits[i] = foretell(f.make(seed + uint64(i))) })
		fmt.Fprintln(w, f.name)
		for k := range phases {
			var at []hit
			for _, h := range hits {
				if !math.IsNaN(h[k].off) {
					at = append(at, h[k])
				}
			}
			all = append(all, at...)
			printHits(w, fmt.Sprintf("%.0f %%", 100*phases[k]), at)
		}
	}
	fmt.Fprintln(w, "all together")
	printHits(w, "", all)
	fmt.Fprintln(w)
}

// each runs f for 0 to n-1 on all cores.
func each(n int, f func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.NumCPU() {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// foretell forecasts one case at every phase.
func foretell(c lifetest.Case) []hit {
	out := make([]hit, len(phases))
	for k, share := range phases {
		in := c.Input(share)
		r := life.Forecast(in)
		left := c.Left(share)
		if !r.Known {
			out[k].off = math.NaN()
			continue
		}
		out[k] = hit{
			off: r.Hours[1]/left - 1, early: left < r.Hours[0], late: left > r.Hours[2], width: r.Hours[2] / r.Hours[0],
			line: lineLeft(in.Lives[len(in.Lives)-1].Points, float64(in.MaxDP), share*c.Life.End)/left - 1,
		}
	}
	return out
}

// hitsHead stands above the rows of printHits.
const hitsHead = "  passed   forecasts   median error   8 of 10 within   in the 80 % interval   before it   after it   P90/P10   a straight line errs"

func printHits(w io.Writer, label string, at []hit) {
	var abs, width, line []float64
	var early, late int
	for _, h := range at {
		abs = append(abs, math.Abs(h.off))
		width = append(width, h.width)
		if !math.IsNaN(h.line) {
			line = append(line, math.Abs(h.line))
		}
		if h.early {
			early++
		}
		if h.late {
			late++
		}
	}
	n := float64(len(at))
	fmt.Fprintf(w, "  %-14s %5d   %10.1f %%   %12.1f %%   %18.0f %%   %7.0f %%   %6.0f %%   %7.2f   %18.1f %%\n", label, len(at),
		100*quantile(abs, 0.5), 100*quantile(abs, 0.8), 100*(n-float64(early+late))/n, 100*float64(early)/n, 100*float64(late)/n,
		quantile(width, 0.5), 100*quantile(line, 0.5))
}

// quantile sorts a copy of v.
func quantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[min(int(p*float64(len(s))), len(s)-1)]
}

func mean(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}
