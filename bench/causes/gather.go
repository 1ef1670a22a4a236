package main

import (
	"bufio"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"dustwright/judge"
	"dustwright/sense"
)

// lessons writes what is met in the trials to a file, a line each.
type lessons struct {
	mu  sync.Mutex
	out *bufio.Writer
}

// freshest is how old a trouble must be to be learned from [days].
const freshest = 0.1

// others is at how many other times than its end a trial is learned from: while its trouble lasts, or in
// the second half of a sound one.
const others = 5

// take notes a trial as a level sees it, at its end and at other times.
func (l *lessons) take(lv level, t *trial) error {
	r := sense.NewReducer(t.collector)
	r.Add(lv.through(t.series))
	h := r.History()
	first := time.Unix(0, h.First)
	onset := t.at.Add(-time.Duration(t.old * 24 * float64(time.Hour)))
	rnd := rand.New(rand.NewPCG(t.seed, 9))
	from := first.Add(t.at.Sub(first) / 2)
	if t.truth != none {
		from = onset
	}
	times := []time.Time{t.at}
	for range others {
		times = append(times, from.Add(time.Duration(rnd.Float64()*float64(t.at.Sub(from)))))
	}
	for i, at := range times {
		truth, when := t.truth, before
		if i == 0 {
			when = atEnd
		}
		if truth != none && at.Sub(onset).Hours() < 24*freshest {
			continue
		}
		in := judge.Input{Collector: t.collector, Features: sense.At(h, t.collector, at)}
		all, valves := judge.Sights(in), judge.ValveSights(in)
		for v, seen := range valves {
			for n, x := range seen {
				all[fmt.Sprintf("%s%d:%s", ofValve, v, n)] = x
			}
		}
		names := slices.Sorted(maps.Keys(all))
		l.mu.Lock()
		fmt.Fprintf(l.out, "%d\t%s\t%s\t%s:%d", t.seed, lv.name, when, truth, t.number)
		for _, n := range names {
			fmt.Fprintf(l.out, "\t%s=%.4g", n, all[n])
		}
		fmt.Fprintln(l.out)
		err := l.out.Flush() // tells of any write before it that failed
		l.mu.Unlock()
		if err != nil {
			return err
		}
	}
	return nil
}

// ofValve begins the name of a sight of a single valve, before its number.
const ofValve = "valve "

// What a lesson says of when its trial was looked at.
const (
	atEnd  = "end"
	before = "before"
)

// none is the truth of a trial with nothing wrong.
const none = string(judge.None)
