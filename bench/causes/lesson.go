package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"

	"dustwright/judge"
)

// words numbers the names of sights, so that a million lessons fit into memory. Several may ask for numbers at a time.
type words struct {
	mu    sync.Mutex
	index map[string]int32
	names []string
}

func newWords() *words { return &words{index: map[string]int32{}} }

// number returns the number of a name, a new one where it has none yet.
func (w *words) number(name string) int32 {
	w.mu.Lock()
	defer w.mu.Unlock()
	i, known := w.index[name]
	if !known {
		i = int32(len(w.names))
		w.index[name], w.names = i, append(w.names, name)
	}
	return i
}

// seen is one sight of a lesson: what judge sees, before it is bent into terms.
type seen struct {
	word int32
	x    float32
}

// lesson is what a judgement would have been made from, and the truth.
type lesson struct {
	from     string // file it was read from: a simulator's
	seed     uint64
	level    string
	end      bool // it shows its trial at the end
	truth    string
	number   int // of the valve or row, for the truth; 0 none
	sights   []seen
	culprits []seen // what the valves say together
	valves   []valveSeen
}

// valveSeen is what is seen of one valve.
type valveSeen struct {
	number int
	sights []seen
}

// reader reads lessons of one file.
type reader struct {
	words *words
	known map[string]int32  // what it has met of words
	names map[string]string // of levels and truths
	seen  []seen            // of the lesson that is being read
}

func newReader(w *words) *reader {
	return &reader{words: w, known: map[string]int32{}, names: map[string]string{}}
}

// readAll reads files of lessons at the same time, one for each simulator.
func readAll(w *words, paths []string) ([]lesson, error) {
	parts, errs := make([][]lesson, len(paths)), make([]error, len(paths))
	var wg sync.WaitGroup
	for i, p := range paths {
		wg.Go(func() { parts[i], errs[i] = readLessons(w, p) })
	}
	wg.Wait()
	return slices.Concat(parts...), errors.Join(errs...)
}

// readLessons reads what take wrote.
func readLessons(w *words, path string) ([]lesson, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	var out []lesson
	lines := bufio.NewReaderSize(f, 1<<20)
	r := newReader(w)
	for n := 1; ; n++ {
		text, err := lines.ReadString('\n')
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		l, err := r.lesson(strings.TrimSuffix(text, "\n"))
		if err != nil {
			return nil, fmt.Errorf("%s, line %d: %w", path, n, err)
		}
		l.from = path
		out = append(out, l)
	}
}

// lesson takes one line in.
func (r *reader) lesson(text string) (lesson, error) {
	parts := strings.SplitN(text, "\t", 5)
	if len(parts) < 4 || parts[2] != atEnd && parts[2] != before {
		return lesson{}, fmt.Errorf("seed, level, %s or %s, and truth must stand there, separated by tabs", atEnd, before)
	}
	truth, number, _ := strings.Cut(parts[3], ":")
	l := lesson{level: r.name(parts[1]), end: parts[2] == atEnd, truth: r.name(truth)}
	var err error
	if l.number, err = strconv.Atoi(number); err != nil {
		return l, fmt.Errorf("%q must be the truth and the number of the valve, with a colon between", parts[3])
	}
	if l.seed, err = strconv.ParseUint(parts[0], 10, 64); err != nil {
		return l, err
	}
	r.seen = r.seen[:0]
	if len(parts) == 5 {
		for p := range strings.SplitSeq(parts[4], "\t") {
			if err := r.sight(&l, p); err != nil {
				return l, err
			}
		}
	}
	l.sights = slices.Clone(r.seen)
	return l, nil
}

// name returns a name that does not hold on to the line it was read from.
func (r *reader) name(text string) string {
	if _, known := r.names[text]; !known {
		text = strings.Clone(text)
		r.names[text] = text
	}
	return r.names[text]
}

// word returns the number of a name.
func (r *reader) word(name string) int32 {
	i, known := r.known[name]
	if !known {
		name = strings.Clone(name)
		i = r.words.number(name)
		r.known[name] = i
	}
	return i
}

// farthest is how far out a sight is kept: beyond, no bend of it tells any more, and a ratio to next to nothing can be too
// large for a float32.
const farthest = 1000

// sight takes one sight in, as take wrote it: a name, an equals sign and a number. What the valves say together is left
// out: it is worked out anew from the weights that are fitted.
func (r *reader) sight(l *lesson, text string) error {
	name, value, _ := strings.Cut(text, "=")
	far, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return err
	}
	x := float32(max(-farthest, min(farthest, far)))
	if strings.HasPrefix(name, judge.Culprits) {
		return nil
	}
	rest, single := strings.CutPrefix(name, ofValve)
	if !single {
		r.seen = append(r.seen, seen{r.word(name), x})
		return nil
	}
	number, name, _ := strings.Cut(rest, ":")
	v, err := strconv.Atoi(number)
	if err != nil {
		return err
	}
	if n := len(l.valves); n == 0 || l.valves[n-1].number != v {
		l.valves = append(l.valves, valveSeen{number: v})
	}
	one := &l.valves[len(l.valves)-1]
	one.sights = append(one.sights, seen{r.word(name), x})
	return nil
}
