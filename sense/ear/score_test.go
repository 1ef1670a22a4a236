package ear

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"dustwright/sense/ear/eartest"
	"dustwright/sense/ear/sketchtest"
)

// score counts what was made against what was said.
type score struct {
	sync.Mutex
	said    map[string]map[State]int // by the state made
	clips   int
	counted int // clips with every pulse counted, none too many
	missed  []string
}

const refused State = "refused"

// add listens to a recording of made states and counts of each valve.
func (c *score) add(name string, x []float32, rate int, spec Spec, made []string, counts []int) {
	r, err := Analyse(x, rate, spec)
	c.Lock()
	defer c.Unlock()
	c.clips++
	if c.said == nil {
		c.said = map[string]map[State]int{}
	}
	exact := err == nil
	for i, f := range made {
		said := refused
		if err == nil {
			v := r.Valves[i]
			said = v.State
			exact = exact && v.Count == counts[i]
			if string(said) != f {
				c.missed = append(c.missed, fmt.Sprintf("%s: valve %d of %d is %s, said %s: %s", name, i+1, len(made), f, said, v.Why))
			}
		}
		if c.said[f] == nil {
			c.said[f] = map[State]int{}
		}
		c.said[f][said]++
	}
	if exact {
		c.counted++
	}
}

// voice adds a scene of the first family.
func (c *score) voice(sc eartest.Scene) {
	x, truth := sc.Make()
	var made []string
	var counts []int
	for i, f := range sc.Faults {
		made, counts = append(made, f.String()), append(counts, truth.Pulses(i))
	}
	c.add(fmt.Sprintf("seed %d voice %d", sc.Seed, sc.Voice), x, sc.Rate, Spec{Valves: sc.Valves, Interval: sc.Nominal}, made, counts)
}

// sketch adds a recording of the second.
func (c *score) sketch(seed uint64, snr float64) {
	k := sketchtest.Generate(seed, sketchtest.Options{SNR: snr})
	c.add(fmt.Sprintf("seed %d %v", seed, k.Tags), k.Samples, k.Rate, Spec{Valves: k.Valves, Interval: k.Interval}, k.Truth, k.Counts)
}

// balanced is the share of right states, each state made weighted alike, and the share of valves of
// which nothing was said.
func (c *score) balanced() (right, unsure float64) {
	all, open := 0, 0
	for state, said := range c.said {
		n := 0
		for _, k := range said {
			n += k
		}
		right += float64(said[State(state)]) / float64(n) / float64(len(c.said))
		all, open = all+n, open+said[Unsure]+said[refused]
	}
	return right, float64(open) / float64(max(1, all))
}

// String is the table of what was made against what was said.
func (c *score) String() string {
	var b strings.Builder
	right, unsure := c.balanced()
	fmt.Fprintf(&b, "%.1f %% balanced, %.1f %% unsure, pulses exact in %d of %d\n%-11s", 100*right, 100*unsure, c.counted, c.clips, "made")
	columns := []State{OK, Weak, Dead, StuckOpen, Unsure, refused}
	for _, s := range columns {
		fmt.Fprintf(&b, "%11s", s)
	}
	for _, f := range []State{OK, Weak, Dead, StuckOpen} {
		fmt.Fprintf(&b, "\n%-11s", f)
		for _, s := range columns {
			fmt.Fprintf(&b, "%11d", c.said[string(f)][s])
		}
	}
	return b.String()
}

// TestScoreboard holds the share of valve states told right, each state weighted alike, and of
// recordings with every pulse counted, over two families of made recordings. The floors lie below what was measured on
// many more (bench/listen), and below what is wanted: 97 % at 10 dB and more, 90 % at 0 dB, and 99 % counted at 10 dB.
func TestScoreboard(t *testing.T) {
	for snr, floor := range map[float64]struct{ right, exact float64 }{20: {0.88, 0.75}, 10: {0.85, 0.7}, 0: {0.58, 0.45}} {
		t.Run(fmt.Sprintf("%g dB", snr), func(t *testing.T) {
			t.Parallel()
			var c score
			for seed := range uint64(10) {
				c.voice(eartest.Draw(500+seed, int(seed%eartest.Voices), snr).Even())
				c.sketch(500+seed, snr)
			}
			t.Log(c.String())
			right, _ := c.balanced()
			if right < floor.right {
				t.Errorf("%.3f of the states right, want at least %.2f\n%s", right, floor.right, strings.Join(c.missed, "\n"))
			}
			if exact := float64(c.counted) / float64(c.clips); exact < floor.exact {
				t.Errorf("%.3f of the recordings counted exactly, want at least %.2f", exact, floor.exact)
			}
		})
	}
}
