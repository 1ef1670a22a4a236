package main

import (
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"dustwright/feed/sound"
)

// sample is a short sound somebody recorded.
type sample struct {
	name string
	x    []float64
	rate int
	loud float64 // rms until it has nearly died away
}

// readSamples takes the short sounds with a sharp beginning from a folder, in order of their names.
func readSamples(folder string) ([]sample, error) {
	var out []sample
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !slices.Contains([]string{".wav", ".ogg", ".flac"}, strings.ToLower(filepath.Ext(path))) {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		clip, err := sound.Decode(data, filepath.Base(path))
		if err != nil {
			return nil // a folder of sounds holds some that are none
		}
		if s, usable := cut(clip); usable {
			s.name = filepath.Base(path)
			out = append(out, s)
		}
		return nil
	})
	return out, err
}

// cut leaves a sound from its onset until it has fallen by 30 dB, and says whether it is like a pulse: 30 ms
// to 0.8 s, with its peak in the first third of a second.
func cut(c *sound.Clip) (sample, bool) {
	var top float64
	peak := 0
	for i, v := range c.Samples {
		if a := math.Abs(float64(v)); a > top {
			top, peak = a, i
		}
	}
	first, last := 0, len(c.Samples)-1
	for first < last && math.Abs(float64(c.Samples[first])) < 0.05*top {
		first++
	}
	for last > first && math.Abs(float64(c.Samples[last])) < 0.03*top {
		last--
	}
	s := sample{rate: c.Rate}
	for _, v := range c.Samples[first : last+1] {
		s.x = append(s.x, float64(v))
	}
	s.loud = rms(s.x)
	seconds := float64(len(s.x)) / float64(c.Rate)
	return s, c.Rate >= 16000 && top > 0.01 && seconds > 0.03 && seconds < 0.8 && float64(peak-first) < 0.33*float64(c.Rate)
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(1, len(x))))
}

// sampled mixes a cleaning cycle whose pulses are one recorded sound over a fan of noise and hum. A valve
// that does not shut sounds like grains of the pulse strewn at random.
func sampled(s sample, seed uint64, snr float64) clip {
	r := rand.New(rand.NewPCG(seed, 0xf01e))
	in := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	c := clip{name: fmt.Sprintf("sampled %s seed %d", s.name, seed), rate: s.rate, valves: 4 + r.IntN(6), interval: math.Round(in(4, 8))}
	rate := float64(s.rate)
	c.truth, c.counts = make([]string, c.valves), make([]int, c.valves)
	for i := range c.truth {
		c.truth[i] = "ok"
	}
	places := r.Perm(c.valves)
	for k, state := range []string{"weak", "dead", "stuck-open"}[:min(3, c.valves/2)] {
		c.truth[places[k]] = state
	}
	due := c.valves + r.IntN(c.valves+1)
	lead, step := in(0.5, c.interval), c.interval*in(0.97, 1.03)
	x := make([]float64, int((lead+float64(due-1)*step+in(1, c.interval))*rate))
	gain := make([]float64, c.valves)
	for i := range gain {
		gain[i] = in(0.9, 1.1)
		if c.truth[i] == "weak" {
			gain[i] = in(0.25, 0.55)
		}
	}
	leak := s.loud * in(0.25, 0.6)
	for k := range due {
		v, at := k%c.valves, int((lead+float64(k)*step+in(-0.03, 0.03))*rate)
		if c.truth[v] == "dead" {
			continue
		}
		add(x, s.x, at, gain[v])
		c.counts[v]++
		if c.truth[v] == "stuck-open" {
			hiss := grains(s, int(step*rate), r)
			add(x, hiss, at, leak/rms(hiss))
		}
	}
	fan, y, hum := make([]float64, len(x)), 0.0, in(40, 130)
	colour := in(0.02, 0.5)
	for i := range fan {
		w := r.NormFloat64()
		y += colour * (w - y)
		fan[i] = y + 0.1*w + 0.2*math.Sin(2*math.Pi*hum*float64(i)/rate)
	}
	add(x, fan, 0, s.loud*math.Pow(10, -snr/20)/rms(fan))
	top := 0.0
	for _, v := range x {
		top = math.Max(top, math.Abs(v))
	}
	c.samples = make([]float32, len(x))
	for i, v := range x {
		c.samples[i] = float32(0.7 * v / top)
	}
	return c
}

// add adds y to x from a place on.
func add(x, y []float64, at int, gain float64) {
	for i, v := range y {
		if at+i >= 0 && at+i < len(x) {
			x[at+i] += gain * v
		}
	}
}

// grains strews pieces of 20 ms of a sound over n samples.
func grains(s sample, n int, r *rand.Rand) []float64 {
	out := make([]float64, n)
	long := s.rate / 50
	piece := make([]float64, long)
	for range 12 * n / long {
		from := r.IntN(max(1, len(s.x)-long))
		for i := range piece {
			piece[i] = 0
			if from+i < len(s.x) {
				piece[i] = s.x[from+i] * math.Sin(math.Pi*float64(i)/float64(long))
			}
		}
		add(out, piece, r.IntN(n), 1-2*float64(r.IntN(2)))
	}
	return out
}
