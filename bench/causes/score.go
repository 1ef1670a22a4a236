package main

import (
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"sync"
	"time"

	"dustwright/judge"
	"dustwright/sense"
)

// board gathers the scores, by level of instrumentation.
type board struct {
	mu     sync.Mutex
	tally  map[string]*tally
	levels []string
}

// tally is the score of one level.
type tally struct {
	n, first, three      int
	numbered, right      int
	healthy, healthyDays float64
	alarms               int
	faults, missed       int
	both, paired, named  int // among three both of two; pairs named at all; named right
	sumP, sumHit, cells  [10]float64
	confusion            map[string]map[string]int
	byCause              map[string]hits
	byAge                [len(ages)]hits
	began                began
	checked              checked
}

// hits is how many trials there were, and in how many of them the cause was right.
type hits struct{ n, right int }

// and counts one more.
func (h hits) and(hit bool) hits {
	h.n++
	if hit {
		h.right++
	}
	return h
}

func newBoard() *board {
	b := &board{tally: map[string]*tally{}}
	for _, l := range levels() {
		b.levels = append(b.levels, l.name)
		b.tally[l.name] = &tally{confusion: map[string]map[string]int{}, byCause: map[string]hits{}}
	}
	return b
}

// score judges one trial as a level sees it.
func (b *board) score(l level, t *trial, verbose bool) {
	r := sense.NewReducer(t.collector)
	r.Add(l.through(t.series))
	h := r.History()
	result := judge.Judge(judge.Input{Collector: t.collector, Features: sense.At(h, t.collector, t.at)})
	alarms := 0
	if t.truth == "none" {
		alarms = episodes(h, t)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	y := b.tally[l.name]
	y.add(t, byCause(result.Causes), result, alarms)
	if verbose {
		fmt.Printf("%d %-28s %s:%d %.2f, %.1f days old; %s -> %v %s began %.2f %.2f %.2f\n", t.seed, l.name, t.truth, t.number, t.severity, t.old, t.story, result.Causes[:3], result.Standing,
			ago(t.at, result.Since), ago(t.at, result.SinceLow), ago(t.at, result.SinceTop))
	}
}

// ago is how many days before at a time lies; NaN for none.
func ago(at, t time.Time) float64 {
	if t.IsZero() {
		return math.NaN()
	}
	return at.Sub(t).Hours() / 24
}

// episodes counts how often a healthy history called for hands, judged every two days in its second half.
func episodes(h *sense.History, t *trial) int {
	n, on := 0, false
	span := time.Duration(h.Last - h.First)
	for at := time.Unix(0, h.First).Add(span / 2); at.UnixNano() <= h.Last; at = at.Add(48 * time.Hour) {
		res := judge.Judge(judge.Input{Collector: t.collector, Features: sense.At(h, t.collector, at)})
		hands := res.Standing.Rank() >= judge.NeedsHands.Rank()
		if hands && !on {
			n++
		}
		on = hands
	}
	return n
}

// byCause sums the probabilities of one cause over its numbers, most probable first.
func byCause(in []judge.Probability) []judge.Probability {
	sum := map[judge.Cause]*judge.Probability{}
	var out []judge.Probability
	best := map[judge.Cause]float64{}
	for _, p := range in {
		q := sum[p.Cause]
		if q == nil {
			q = &judge.Probability{Cause: p.Cause}
			sum[p.Cause] = q
		}
		q.P += p.P
		if p.P > best[p.Cause] {
			best[p.Cause], q.Number = p.P, p.Number
		}
	}
	for _, q := range sum {
		out = append(out, *q)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].P > out[j].P || out[i].P == out[j].P && out[i].Cause < out[j].Cause })
	return out
}

func (y *tally) add(t *trial, causes []judge.Probability, r judge.Result, alarms int) {
	y.n++
	top := causes[0]
	hit := t.has(top.Cause)
	if hit {
		y.first++
		if t.number > 0 && top.Number > 0 {
			y.numbered++
			if top.Number == t.number {
				y.right++
			}
		}
	}
	for _, p := range causes[:3] {
		if t.has(p.Cause) {
			y.three++
			break
		}
	}
	for _, p := range causes {
		k := min(9, int(10*p.P))
		y.cells[k]++
		y.sumP[k] += p.P
		if string(p.Cause) == t.truth {
			y.sumHit[k]++
		}
	}
	if t.truth == "none" {
		y.healthy++
		y.healthyDays += float64(t.series.Time[len(t.series.Time)-1]-t.series.Time[0]) / 86400e9 / 2
		y.alarms += alarms
	} else {
		y.faults++
		a := &y.byAge[ageOf(t)]
		*a = a.and(hit)
		if r.Standing == judge.Steady {
			y.missed++
		}
	}
	y.began.add(t, r)
	y.checked.add(t, r)
	y.pair(t, causes, r.Pair)
	row := y.confusion[t.truth]
	if row == nil {
		row = map[string]int{}
		y.confusion[t.truth] = row
	}
	row[string(top.Cause)]++
	y.byCause[t.truth] = y.byCause[t.truth].and(hit)
}

// pair notes whether both of two troubles stand among the first three, and whether two were named.
func (y *tally) pair(t *trial, causes []judge.Probability, p *judge.Pair) {
	n := 0
	for _, c := range causes[:3] {
		if t.has(c.Cause) {
			n++
		}
	}
	if n == 2 {
		y.both++
	}
	if p == nil {
		return
	}
	y.paired++
	if t.has(p.First.Cause) && t.has(p.Second.Cause) { // never the same cause twice
		y.named++
	}
}

// ece is the expected calibration error: the mean distance between belief and frequency over the
// beliefs given, weighted by how much belief lies there.
func (y *tally) ece() float64 {
	var e, w float64
	for k := range y.cells {
		if y.cells[k] > 0 && k > 0 {
			e += math.Abs(y.sumP[k] - y.sumHit[k])
			w += y.cells[k]
		}
	}
	return e / math.Max(w, 1)
}

func share(a, b int) string {
	if b == 0 {
		return "    -"
	}
	return fmt.Sprintf("%4.1f%%", 100*float64(a)/float64(b))
}

func (b *board) print(w io.Writer) {
	fmt.Fprintf(w, "%-30s %6s %7s %7s %8s %6s %14s %9s %11s %7s %7s\n", "instrumentation", "trials", "first", "three", "number", "ECE", "false hands/yr", "missed", "two named", "right", "both")
	for _, name := range b.levels {
		y := b.tally[name]
		fmt.Fprintf(w, "%-30s %6d %7s %7s %8s %6.3f %14.2f %9s %11s %7s %7s\n", name, y.n, share(y.first, y.n), share(y.three, y.n), share(y.right, y.numbered), y.ece(),
			float64(y.alarms)/(y.healthyDays/365), share(y.missed, y.faults), share(y.paired, y.n), share(y.named, y.n), share(y.both, y.n))
	}
	fmt.Fprintf(w, "\nright first, by how long something has been wrong\n")
	for _, name := range b.levels {
		fmt.Fprintf(w, "%-30s", name)
		for i, a := range b.tally[name].byAge {
			fmt.Fprintf(w, "  %s %s of %d", ages[i].name, strings.TrimSpace(share(a.right, a.n)), a.n)
		}
		fmt.Fprintln(w)
	}
	fmt.Fprintf(w, "\nwhen it began, where the cause named first is right\n")
	for _, name := range b.levels {
		b.tally[name].began.print(w, name)
	}
	fmt.Fprintf(w, "\nsomething wrong, right first after so many of the checks proposed\n")
	for _, name := range b.levels {
		b.tally[name].checked.print(w, name)
	}
	for _, name := range b.levels {
		fmt.Fprintf(w, "\n%s: right first, and what else is taken for it\n", name)
		y := b.tally[name]
		for _, e := range judge.Causes() {
			s := y.byCause[string(e.Name)]
			if s.n == 0 {
				continue
			}
			var wrong []string
			for k, n := range y.confusion[string(e.Name)] {
				if k != string(e.Name) {
					wrong = append(wrong, fmt.Sprintf("%s %d", k, n))
				}
			}
			sort.Strings(wrong)
			fmt.Fprintf(w, "  %-20s %3d of %3d  %s\n", e.Name, s.right, s.n, strings.Join(wrong, ", "))
		}
	}
}
