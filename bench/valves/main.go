// Command valves prints how well the valve check does on generated header traces whose truth is known:
// per signal-to-noise ratio the share of valves put into the right state, each state weighted alike, the
// pulse counts, and how often it is unsure; then which states are taken for which. The generator
// (sense/trace/tracetest) shares no code with the detector.
//
//	go run ./bench/valves [-cases 200] [-from 0] [-step 1] [-snr 0,5,10,20,30] [-family tank|sketch|rough|works] [-v]
package main

import (
	"flag"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"dustwright/sense/trace"
	"dustwright/sense/trace/tracetest"
	"dustwright/unit"
)

func main() {
	cases := flag.Int("cases", 200, "cases at each ratio")
	from := flag.Uint64("from", 0, "first seed")
	ratios := flag.String("snr", "-6,0,5,10,15,20,30", "signal-to-noise ratios [dB]")
	family := flag.String("family", "", "tank, sketch, rough or works; tank and sketch without it")
	step := flag.Uint64("step", 1, "from one seed to the next; 2 keeps to odd or even ones")
	verbose := flag.Bool("v", false, "tell every valve put into a wrong state or counted wrongly")
	flag.Parse()
	var total board
	fmt.Println("  dB   cases  refused  valves  right   alike   sure&right  unsure   counts  s/case")
	for _, word := range strings.Split(*ratios, ",") {
		snr, err := strconv.ParseFloat(strings.TrimSpace(word), 64)
		if err != nil {
			fmt.Fprintf(os.Stderr, "valves: -snr: %q is no number of decibels\n", word)
			os.Exit(2)
		}
		b := run(seeds{*from, *step, *cases}, tracetest.Options{SNR: snr, Family: *family}, *verbose)
		fmt.Printf("%4.0f   %5d  %7d  %6d  %.3f   %.3f   %.3f       %.3f    %.3f   %.2f\n", snr, b.cases, b.refused, b.valves(), b.right(), b.alike(), b.sureRight(), b.unsure(), b.counts(), b.seconds/float64(b.cases))
		total.add(b)
	}
	fmt.Println()
	total.print()
}

// seeds are the cases that are looked at.
type seeds struct {
	from, step uint64
	cases      int
}

// run judges cases of one kind.
func run(s seeds, o tracetest.Options, verbose bool) board {
	var b board
	for i := range s.cases {
		c := tracetest.Generate(s.from+s.step*uint64(i), o)
		tr := &trace.Trace{Time: c.Time, Header: c.Header}
		for _, m := range c.Marks {
			tr.Marks = append(tr.Marks, trace.Mark{Row: m.Row, Valve: m.Valve})
		}
		start := time.Now()
		r, err := trace.Analyse(tr, trace.Spec{Valves: c.Valves, Order: c.Order, Interval: unit.Seconds(c.Interval), Volume: unit.Volume(c.Volume),
			ValveFlow: unit.Conductance(c.ValveC), OnTime: unit.Seconds(c.OnTime), Set: unit.Pressure(c.Set)})
		b.seconds += time.Since(start).Seconds()
		b.cases++
		if err != nil {
			b.refused++
			if verbose {
				fmt.Printf("seed %d %v: %v\n", c.Seed, c.Tags, err)
			}
			continue
		}
		b.take(c, r, verbose)
	}
	return b
}

// states in the order of the table.
var states = [4]string{"ok", "weak", "dead", "stuck-open"}

func index(state string) int {
	for i, s := range states {
		if s == state {
			return i
		}
	}
	panic("valves: no state " + state)
}

// board counts valves by truth and by what was said.
type board struct {
	cases, refused         int
	seconds                float64
	said                   [4][4]int
	sure, sureOK           int
	countRight, countWrong int
}

func (b *board) take(c tracetest.Case, r trace.Result, verbose bool) {
	for i, want := range c.Truth {
		v := r.Valves[i]
		t, s := index(string(want)), index(string(v.State))
		b.said[t][s]++
		if !v.Unsure {
			b.sure++
			if s == t {
				b.sureOK++
			}
		}
		if want != tracetest.Stuck { // what a stuck valve's movements are is a matter of taste
			if v.Count == c.Counts[i] {
				b.countRight++
			} else {
				b.countWrong++
				if verbose && s == t {
					fmt.Printf("seed %d valve %d %s: counts %d of %d, truth %d of %d %v\n", c.Seed, i+1, want, v.Count, v.Due, c.Counts[i], c.Due[i], c.Tags)
				}
			}
		}
		if verbose && s != t {
			fmt.Printf("seed %d valve %d %s: %s (%.2f): %s %v\n", c.Seed, i+1, want, v.State, v.Probability, v.Why, c.Tags)
		}
	}
}

func (b *board) add(o board) {
	b.cases, b.refused, b.seconds = b.cases+o.cases, b.refused+o.refused, b.seconds+o.seconds
	b.sure, b.sureOK = b.sure+o.sure, b.sureOK+o.sureOK
	b.countRight, b.countWrong = b.countRight+o.countRight, b.countWrong+o.countWrong
	for t := range states {
		for s := range states {
			b.said[t][s] += o.said[t][s]
		}
	}
}

func (b *board) of(t int) (right, all int) {
	for s, n := range b.said[t] {
		all += n
		if s == t {
			right = n
		}
	}
	return right, all
}

func (b *board) valves() int {
	sum := 0
	for t := range states {
		_, n := b.of(t)
		sum += n
	}
	return sum
}

func (b *board) right() float64 {
	sum := 0
	for t := range states {
		n, _ := b.of(t)
		sum += n
	}
	return share(sum, b.valves())
}

// alike is the share of right states with every state weighted alike.
func (b *board) alike() float64 {
	var sum float64
	for t := range states {
		n, all := b.of(t)
		sum += share(n, all)
	}
	return sum / float64(len(states))
}

func (b *board) sureRight() float64 { return share(b.sureOK, b.sure) }
func (b *board) unsure() float64    { return share(b.valves()-b.sure, b.valves()) }
func (b *board) counts() float64    { return share(b.countRight, b.countRight+b.countWrong) }

func share(n, all int) float64 {
	if all == 0 {
		return 0
	}
	return float64(n) / float64(all)
}

// print shows which states are taken for which.
func (b *board) print() {
	fmt.Printf("%-12s", "truth \\ said")
	for _, s := range states {
		fmt.Printf("%12s", s)
	}
	fmt.Printf("%12s\n", "right")
	for t, name := range states {
		fmt.Printf("%-12s", name)
		for _, n := range b.said[t] {
			fmt.Printf("%12d", n)
		}
		n, all := b.of(t)
		fmt.Printf("%12.3f\n", share(n, all))
	}
}
