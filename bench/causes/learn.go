package main

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"sync"

	"dustwright/judge"
	"dustwright/sense"
)

// lessons gathers what each cause does to each sight, in three grades of severity.
type lessons struct {
	mu   sync.Mutex
	seen map[place][]float64
}

// place is one cell of the table.
type place struct {
	key, cause string
	grade      int
}

func newLessons() *lessons { return &lessons{seen: map[place][]float64{}} }

// gradeOf sorts severities into subtle, middling and gross.
func gradeOf(severity float64) int {
	switch {
	case severity < 0.5:
		return 0
	case severity < 0.75:
		return 1
	}
	return 2
}

// take notes the sights of one trial. Sights of a sound valve or row count with the healthy ones.
func (l *lessons) take(lv level, t *trial) {
	if t.truth != "none" && t.old < 1 {
		return // what a fresh trouble does can't be told from noise
	}
	r := sense.NewReducer(t.collector)
	r.Add(lv.through(t.series))
	in := judge.Input{Collector: t.collector, Features: sense.At(r.History(), t.collector, t.at)}
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, s := range judge.Sights(in) {
		cause := t.truth
		if s.Valve != 0 && s.Valve != t.number {
			cause = "none"
		}
		p := place{s.Key, cause, 0}
		if cause != "none" {
			p.grade = gradeOf(t.severity)
		}
		l.seen[p] = append(l.seen[p], s.Distance)
	}
}

// least is how many trials make a line of the table.
const least = 4

// table writes the lines that differ from the healthy ones, widened for the few trials they rest on
// and shrunk towards the healthy ones.
func (l *lessons) table() string {
	var lines []string
	for p, x := range l.seen {
		base := l.seen[place{p.key, "none", 0}]
		if len(x) < least || len(base) < 2*least {
			continue
		}
		m0, s0 := centre(base)
		m, sd := centre(x)
		n := float64(len(x))
		m = (n*m + 2*m0) / (n + 2)
		sd = math.Sqrt((n*sd*sd + 4*s0*s0) / (n + 4) * (1 + 2/n))
		if p.cause != "none" {
			sd = math.Max(sd, s0)
			if math.Abs(m-m0) < 0.4*s0 && sd < 1.5*s0 {
				continue
			}
		}
		lines = append(lines, fmt.Sprintf("%s,%s,%d,%.3g,%.3g", p.cause, p.key, p.grade, m, sd))
	}
	sort.Strings(lines)
	return "# source: bench/causes -learn, trials of the simulation with odd seeds; status computed\ncause,sight,grade,centre,spread\n" + strings.Join(lines, "\n") + "\n"
}

// centre returns median and robust standard deviation, the latter at least half the plain one.
func centre(in []float64) (mid, sd float64) {
	x := append([]float64(nil), in...)
	sort.Float64s(x)
	mid = x[len(x)/2]
	var sum float64
	dev := make([]float64, len(x))
	for i, v := range x {
		dev[i] = math.Abs(v - mid)
		sum += math.Min(dev[i], 5) * math.Min(dev[i], 5)
	}
	sort.Float64s(dev)
	return mid, math.Max(1.48*dev[len(dev)/2], 0.6*math.Sqrt(sum/float64(len(x)))) + 1e-3
}
