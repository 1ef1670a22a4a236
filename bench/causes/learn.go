package main

import (
	"bufio"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"dustwright/judge"
	"dustwright/sense"
)

// lesson is what a judgement would have been made from, and the truth.
type lesson struct {
	from   string // file it was read from: a simulator's
	seed   uint64
	level  string
	truth  string
	number int // of the valve or row, for the truth; 0 none
	terms  map[string]float64
	valves map[int]map[string]float64 // what is seen of each valve
}

// lessons writes what is met in the trials to a file, a line each.
type lessons struct {
	mu  sync.Mutex
	out *bufio.Writer
}

// freshest is how old a trouble must be to be learned from [days].
const freshest = 0.1

// others is at how many other times than its end a trial is learned from: while its trouble lasts, or in
// the second half of a sound one.
const others = 2

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
	for _, at := range times {
		truth := t.truth
		if truth != none && at.Sub(onset).Hours() < 24*freshest {
			continue
		}
		in := judge.Input{Collector: t.collector, Features: sense.At(h, t.collector, at)}
		terms, valves := judge.Terms(in), judge.ValveTerms(in)
		for v, seen := range valves {
			for n, x := range seen {
				terms[fmt.Sprintf("%s%d:%s", ofValve, v, n)] = x
			}
		}
		names := slices.Sorted(maps.Keys(terms))
		l.mu.Lock()
		fmt.Fprintf(l.out, "%d\t%s\t%s:%d", t.seed, lv.name, truth, t.number)
		for _, n := range names {
			fmt.Fprintf(l.out, "\t%s=%.4g", n, terms[n])
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

// ofValve begins the name of a term of a single valve, before its number.
const ofValve = "valve "

// none is the truth of a trial with nothing wrong.
const none = string(judge.None)

// readLessons reads what take wrote.
func readLessons(path string) ([]lesson, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	var out []lesson
	r := bufio.NewReaderSize(f, 1<<20)
	for n := 1; ; n++ {
		text, err := r.ReadString('\n')
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		parts := strings.Split(strings.TrimSuffix(text, "\n"), "\t")
		if len(parts) < 3 {
			return nil, fmt.Errorf("%s, line %d: seed, level and truth must stand there, separated by tabs", path, n)
		}
		truth, number, _ := strings.Cut(parts[2], ":")
		l := lesson{from: path, level: parts[1], truth: truth, terms: map[string]float64{}, valves: map[int]map[string]float64{}}
		if l.number, err = strconv.Atoi(number); err != nil {
			return nil, fmt.Errorf("%s, line %d: %q must be the truth and the number of the valve, with a colon between", path, n, parts[2])
		}
		if l.seed, err = strconv.ParseUint(parts[0], 10, 64); err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", path, n, err)
		}
		for _, p := range parts[3:] {
			if err := l.read(p); err != nil {
				return nil, fmt.Errorf("%s, line %d: %w", path, n, err)
			}
		}
		out = append(out, l)
	}
}

// read takes one term in, as take wrote it: a name, an equals sign and a number.
func (l *lesson) read(text string) error {
	name, value, _ := strings.Cut(text, "=")
	x, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return err
	}
	rest, single := strings.CutPrefix(name, ofValve)
	if !single {
		l.terms[name] = x
		return nil
	}
	number, term, _ := strings.Cut(rest, ":")
	v, err := strconv.Atoi(number)
	if err != nil {
		return err
	}
	if l.valves[v] == nil {
		l.valves[v] = map[string]float64{}
	}
	l.valves[v][term] = x
	return nil
}
