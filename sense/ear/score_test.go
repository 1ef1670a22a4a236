package ear

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"dustwright/sense/ear/eartest"
	"dustwright/sense/ear/roughtest"
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

// recording is a made recording with the state made of each valve and its pulses.
type recording struct {
	name   string
	rate   int
	spec   Spec
	made   []string
	counts []int
}

// add listens to a recording.
func (c *score) add(x []float32, rec recording) {
	r, err := Analyse(x, rec.rate, rec.spec)
	c.Lock()
	defer c.Unlock()
	c.clips++
	if c.said == nil {
		c.said = map[string]map[State]int{}
	}
	exact := err == nil
	for i, f := range rec.made {
		said := refused
		if err == nil {
			v := r.Valves[i]
			said = v.State
			exact = exact && v.Count == rec.counts[i]
			if string(said) != f {
				c.missed = append(c.missed, fmt.Sprintf("%s: valve %d of %d is %s, said %s: %s", rec.name, i+1, len(rec.made), f, said, v.Why))
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
	rec := recording{name: fmt.Sprintf("seed %d voice %d", sc.Seed, sc.Voice), rate: sc.Rate, spec: Spec{Valves: sc.Valves, Interval: sc.Nominal}}
	for i, f := range sc.Faults {
		rec.made, rec.counts = append(rec.made, f.String()), append(rec.counts, truth.Pulses(i))
	}
	c.add(x, rec)
}

// sketch adds a recording of the second.
func (c *score) sketch(seed uint64, snr float64) {
	k := sketchtest.Generate(seed, sketchtest.Options{SNR: snr})
	c.add(k.Samples, recording{fmt.Sprintf("seed %d %v", seed, k.Tags), k.Rate, Spec{Valves: k.Valves, Interval: k.Interval}, k.Truth, k.Counts})
}

// rough adds a recording of the third.
func (c *score) rough(seed uint64, snr float64) {
	k := roughtest.Make(seed, snr)
	c.add(k.Samples, recording{fmt.Sprintf("seed %d %v", seed, k.Tags), k.Rate, Spec{Valves: k.Valves, Interval: k.Interval}, k.Truth, k.Counts})
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
// recordings with every pulse counted, over three families of made recordings. The floors lie below what was measured on
// many more (bench/listen), and below what is wanted: 97 % at 10 dB and more, 90 % at 0 dB, and 99 % counted at 10 dB.
func TestScoreboard(t *testing.T) {
	if testing.Short() {
		t.Skip("hears many recordings")
	}
	for snr, floor := range map[float64]struct{ right, exact float64 }{20: {0.88, 0.9}, 10: {0.86, 0.9}, 0: {0.7, 0.65}} {
		t.Run(fmt.Sprintf("%g dB", snr), func(t *testing.T) {
			t.Parallel()
			var c score
			for seed := range uint64(eartest.Voices) {
				c.voice(eartest.Draw(500+seed, int(seed%eartest.Voices), snr).Even())
				c.sketch(500+seed, snr)
			}
			for _, seed := range []uint64{526, 536} { // short ones
				c.rough(seed, snr)
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
