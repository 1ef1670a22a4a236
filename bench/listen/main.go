// Command listen prints how well the valves are heard in made recordings whose truth is known: per
// family of generators and signal-to-noise ratio the share of valves put into the right state, each
// state weighted alike, how often it is unsure, and in how many recordings every pulse was counted; then
// which states are taken for which. The families (sense/ear/eartest, sense/ear/sketchtest, sense/ear/roughtest) share
// no code with each other or with the detector. Odd seeds are looked at when the detector is worked on, even ones are
// only measured: -from 202 -stride 2.
//
//	go run ./bench/listen [-cases 60] [-from 0] [-stride 1] [-snr 0,10,20] [-family voice|sketch|rough] [-samples FOLDER] [-v]
//
// With -samples the pulses are sounds somebody recorded, from the WAV, Ogg and FLAC files of a folder
// (bench/listen/samples.sh fetches some).
package main

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"dustwright/sense/ear"
	"dustwright/sense/ear/eartest"
	"dustwright/sense/ear/roughtest"
	"dustwright/sense/ear/sketchtest"
)

// clip is a recording with its truth.
type clip struct {
	name     string
	samples  []float32
	rate     int
	valves   int
	interval float64
	truth    []string
	counts   []int
}

// family is a generator.
type family struct {
	name string
	make func(seed uint64, snr float64) clip
}

// families are the generators asked for.
func families(only, folder string) ([]family, error) {
	all := []family{{"voice", voice}, {"sketch", sketch}, {"rough", rough}}
	if folder != "" {
		sounds, err := readSamples(folder)
		if err != nil {
			return nil, err
		}
		if len(sounds) == 0 {
			return nil, fmt.Errorf("%s holds no short sounds", folder)
		}
		fmt.Printf("%d sounds\n", len(sounds))
		// Many are takes of one instrument: a stride that shares no factor with their number visits all kinds.
		return []family{{"sampled", func(seed uint64, snr float64) clip { return sampled(sounds[int(seed*37)%len(sounds)], seed, snr) }}}, nil
	}
	if only != "" {
		all = slices.DeleteFunc(all, func(f family) bool { return f.name != only })
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("-family: %q is none of voice, sketch and rough", only)
	}
	return all, nil
}

func voice(seed uint64, snr float64) clip {
	s := eartest.Draw(seed, int(seed%eartest.Voices), snr).Even()
	x, truth := s.Make()
	c := clip{name: fmt.Sprintf("voice %d seed %d form %d doubles %v", s.Voice, seed, s.Form, s.Doubles), samples: x, rate: s.Rate, valves: s.Valves, interval: s.Nominal}
	for i, f := range s.Faults {
		c.truth, c.counts = append(c.truth, f.String()), append(c.counts, truth.Pulses(i))
	}
	return c
}

func sketch(seed uint64, snr float64) clip {
	k := sketchtest.Generate(seed, sketchtest.Options{SNR: snr})
	return clip{fmt.Sprintf("sketch seed %d %v", seed, k.Tags), k.Samples, k.Rate, k.Valves, k.Interval, k.Truth, k.Counts}
}

func rough(seed uint64, snr float64) clip {
	k := roughtest.Make(seed, snr)
	return clip{fmt.Sprintf("rough seed %d %v", seed, k.Tags), k.Samples, k.Rate, k.Valves, k.Interval, k.Truth, k.Counts}
}

func main() {
	cases := flag.Int("cases", 60, "recordings at each ratio")
	from := flag.Uint64("from", 0, "first seed")
	stride := flag.Uint64("stride", 1, "from one seed to the next")
	ratios := flag.String("snr", "0,10,20", "signal-to-noise ratios [dB]")
	only := flag.String("family", "", "voice, sketch or rough; all without it")
	verbose := flag.Bool("v", false, "tell every valve put into a wrong state and every wrong count")
	folder := flag.String("samples", "", "folder of recorded sounds to make the pulses of")
	flag.Parse()
	asked, err := families(*only, *folder)
	if err != nil {
		fmt.Fprintf(os.Stderr, "listen: %v\n", err)
		os.Exit(2)
	}
	var boards []*board
	fmt.Println("family   dB   clips  refused  valves   alike   sure&alike  unsure  counted  each valve  s/clip")
	for _, f := range asked {
		for _, word := range strings.Split(*ratios, ",") {
			snr, err := strconv.ParseFloat(strings.TrimSpace(word), 64)
			if err != nil {
				fmt.Fprintf(os.Stderr, "listen: -snr: %q is no number of decibels\n", word)
				os.Exit(2)
			}
			b := &board{title: fmt.Sprintf("%s at %g dB", f.name, snr), said: map[string]map[string]int{}}
			for i := range *cases {
				b.add(f.make(*from+*stride*uint64(i), snr), *verbose)
			}
			n := float64(b.clips)
			fmt.Printf("%-7s %3g   %5d  %7d  %6d   %.3f   %.3f       %.3f   %.3f    %.3f       %.2f\n", f.name, snr, b.clips, b.refused, b.valves,
				b.alike(false), b.alike(true), float64(b.unsure)/float64(max(1, b.valves)), float64(b.counted)/n, float64(b.exact)/n, b.seconds/n)
			boards = append(boards, b)
		}
	}
	for _, b := range boards {
		b.print()
	}
}

// board counts what was made against what was said.
type board struct {
	title          string
	said           map[string]map[string]int // by the state made
	clips, refused int
	valves, unsure int
	counted, exact int // recordings with the right number of pulses, and with that of each valve
	seconds        float64
}

const refused = "refused"

// add listens to a recording.
func (b *board) add(c clip, verbose bool) {
	start := time.Now()
	r, err := ear.Analyse(c.samples, c.rate, ear.Spec{Valves: c.valves, Interval: c.interval})
	b.seconds += time.Since(start).Seconds()
	b.clips++
	if err != nil {
		b.refused++
		if verbose {
			fmt.Printf("%s: %v\n", c.name, err)
		}
	}
	counted, heard, exact := 0, 0, err == nil
	for i, made := range c.truth {
		said, why := refused, ""
		if err == nil {
			v := r.Valves[i]
			said, why = string(v.State), fmt.Sprintf("%s (level %.1f±%.1f length %.2f late hiss %.1f open %v p %.2f)", v.Why, v.Level, v.LevelSigma, v.Length, v.Hiss, v.Expected, v.Probability)
			counted, heard = counted+c.counts[i], heard+v.Count
			if v.Count != c.counts[i] {
				exact = false
				if verbose {
					fmt.Printf("COUNT %s: valve %d of %d, %s: %d of %d pulses, due %d\n", c.name, i+1, c.valves, made, v.Count, c.counts[i], v.Expected)
				}
			}
		}
		b.valves++
		if said == refused || said == string(ear.Unsure) {
			b.unsure++
		}
		if b.said[made] == nil {
			b.said[made] = map[string]int{}
		}
		b.said[made][said]++
		if verbose && said != made && said != refused {
			fmt.Printf("STATE %s: valve %d of %d, %s: said %s: %s\n", c.name, i+1, c.valves, made, said, why)
		}
	}
	if exact {
		b.exact++
	}
	if err == nil && counted == heard {
		b.counted++
	}
}

var states = []string{string(ear.OK), string(ear.Weak), string(ear.Dead), string(ear.StuckOpen)}

// alike is the share of right states with every state made weighted alike; sure leaves those out of
// which nothing was said.
func (b *board) alike(sure bool) float64 {
	sum, n := 0.0, 0.0
	for made, said := range b.said {
		all := 0
		for s, k := range said {
			if !sure || s != refused && s != string(ear.Unsure) {
				all += k
			}
		}
		if all > 0 {
			sum, n = sum+float64(said[made])/float64(all), n+1
		}
	}
	return sum / max(1, n)
}

// print shows which states are taken for which.
func (b *board) print() {
	columns := append(append([]string{}, states...), string(ear.Unsure), refused)
	fmt.Printf("\n%-18s", b.title)
	for _, s := range columns {
		fmt.Printf("%11s", s)
	}
	fmt.Println()
	for _, made := range states {
		fmt.Printf("%-18s", made)
		for _, s := range columns {
			fmt.Printf("%11d", b.said[made][s])
		}
		fmt.Println()
	}
}
