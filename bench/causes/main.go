// Command causes scores the judgement on simulated collectors with a known trouble, or none, and
// prints how often the right cause stands first and among the first three, how well the
// probabilities are calibrated, how often healthy histories call for hands, and what is taken for
// what. Nothing in its tables is typed in.
package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"sync"
)

func main() {
	n := flag.Int("n", 200, "trials")
	first := flag.Uint64("seed", 1, "seed of the first trial; the odd ones were looked at while building, the even ones were not")
	step := flag.Uint64("step", 2, "step between seeds")
	gather := flag.String("gather", "", "write what the trials show, with the truth, to this file, and score nothing")
	learned := flag.String("learn", "", "fit the weights of judge to gathered files (the arguments, one for each simulator), write those of the causes to this file, and score nothing")
	valves := flag.String("valves", "judge/valves.csv", "with -learn: where the weights of single valves are written")
	goOn := flag.Bool("go-on", false, "with -learn: begin with the weights that stand in the two tables, and draw them there")
	mean := flag.String("mean", "", "write the net that answers with the mean of several tables' log odds (the arguments) to this file, and score nothing")
	verbose := flag.Bool("v", false, "print every trial")
	diagram := flag.String("diagram", "", "write a reliability diagram to this SVG file")
	from := flag.String("from", "rehearse", "where the trials come from: "+simulators()+"; they share none of their equations, but pairs are of rehearse with two troubles at once")
	remount := flag.Bool("remount", false, "have each machine's record kept by other instruments and another logger than its simulator's")
	flag.Parse()
	drawn, known := sources[*from]
	if !known {
		fmt.Fprintf(os.Stderr, "causes: there is no simulator %q; -from takes %s\n", *from, simulators())
		os.Exit(2)
	}
	if *learned != "" {
		if err := learn(flag.Args(), *learned, *valves, *goOn); err != nil {
			quit(err)
		}
		return
	}
	if *mean != "" {
		if err := average(flag.Args(), *mean); err != nil {
			quit(err)
		}
		return
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	board := newBoard()
	var notes *lessons
	if *gather != "" {
		f, err := os.Create(*gather)
		if err != nil {
			quit(err)
		}
		defer func() { _ = f.Close() }() // every line was flushed, or its error told
		notes = &lessons{out: bufio.NewWriter(f)}
	}
	seeds := make(chan uint64)
	var wg sync.WaitGroup
	for range 2 {
		wg.Go(func() {
			for seed := range seeds {
				t, err := drawn(ctx, seed)
				if err != nil {
					fmt.Fprintln(os.Stderr, "causes:", err)
					continue
				}
				if *remount {
					t = remounted(t)
				}
				for _, l := range levels() {
					if notes != nil {
						if err := notes.take(l, t); err != nil {
							fmt.Fprintln(os.Stderr, "causes:", err)
						}
						continue
					}
					board.score(l, t, *verbose)
				}
			}
		})
	}
	for i := range *n {
		if ctx.Err() != nil {
			break
		}
		seeds <- *first + uint64(i)**step
		if i%20 == 19 {
			fmt.Fprintf(os.Stderr, "\r%d of %d", i+1, *n)
		}
	}
	close(seeds)
	wg.Wait()
	fmt.Fprintln(os.Stderr)
	if notes != nil {
		return
	}
	board.print(os.Stdout)
	if *diagram != "" {
		if err := os.WriteFile(*diagram, []byte(board.diagram()), 0o644); err != nil {
			quit(err)
		}
	}
}

// quit says what is wrong and ends.
func quit(err error) {
	fmt.Fprintln(os.Stderr, "causes:", err)
	os.Exit(2)
}
