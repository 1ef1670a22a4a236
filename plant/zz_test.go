package plant

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"regexp"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

func TestZZWords(t *testing.T) {
	bad := regexp.MustCompile(`NaN|Inf\b|%!|-0 %|e\+[0-9]{2}`)
	const least = "tag = \"DC-1\"\n[duty]\nflow = \"4200 cfm\"\n[filters]\nrows = 4\nper_row = 1\narea_each = \"400 ft2\"\n"
	var files []*collector.Collector
	for _, text := range []string{trimmable, least, least + "[cleaning]\nmode = \"none\"\n",
		trimmable + "[header]\nset = \"60 psi\"\ninterval = \"10 s\"\n[setpoints]\nlow = \"2 in.w.g.\"\nhigh = \"4 in.w.g.\"\nalarm = \"6 in.w.g.\"\n"} {
		c, err := collector.Parse("test", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, c)
	}
	seen := map[string]bool{}
	levels := []float64{0, 1, -1, 0.5, 50, 500, 1500, 4e5, 20, 293, 1e5, -300}
	for seed := range uint64(400) {
		r := rand.New(rand.NewPCG(seed, 5))
		s := &sense.Series{}
		n := 50 + r.IntN(2000)
		step := []time.Duration{time.Minute, 10 * time.Minute, time.Hour, 24 * time.Hour}[r.IntN(4)]
		var base, noise, shift [sense.NumChannels]float64
		var has [sense.NumChannels]bool
		turn := r.IntN(n)
		for c := range has {
			has[c] = r.IntN(3) > 0
			base[c] = levels[r.IntN(len(levels))]
			noise[c] = []float64{0, 0.01, 0.3}[r.IntN(3)] * math.Abs(base[c])
			shift[c] = []float64{1, 1, 0, 2, -1}[r.IntN(5)]
			if has[c] {
				s.Col[c] = []float64{}
			}
		}
		has[sense.DP], s.Col[sense.DP] = true, []float64{}
		at := first
		for i := range n {
			at = at.Add(step)
			if r.IntN(50) == 0 {
				at = at.Add(step * time.Duration(r.IntN(40)))
			}
			s.Time = append(s.Time, at.UnixNano())
			for c := range has {
				if !has[c] {
					continue
				}
				x := base[c] + noise[c]*r.NormFloat64()
				if i > turn {
					x *= shift[c]
				}
				if r.IntN(30) == 0 {
					x = math.NaN()
				}
				s.Col[c] = append(s.Col[c], x)
			}
			if seed%2 == 0 && r.IntN(3) == 0 {
				s.Pulses = append(s.Pulses, sense.Firing{Row: int32(i), Valve: uint8(1 + i%4)})
			}
		}
		c := files[r.IntN(len(files))]
		red := sense.NewReducer(c)
		red.Add(s)
		j := Judge(JudgeInput{Collector: c, History: red.History()})
		data, err := json.Marshal(j)
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		for _, m := range bad.FindAllIndex(data, -1) {
			what := string(data[max(0, m[0]-90):min(len(data), m[1]+40)])
			key := string(data[max(0, m[0]-30):m[0]-8])
			if !seen[key] {
				seen[key] = true
				t.Logf("seed %d: %s", seed, what)
			}
		}
		if l := j.Life; l != nil {
			if !l.P50.IsZero() && l.P50.Before(l.P10.Time) || !l.P90.IsZero() && l.P90.Before(l.P50.Time) || l.P10.Time.Before(j.At) && !l.P10.IsZero() {
				t.Errorf("seed %d: %v %v %v", seed, l.P10, l.P50, l.P90)
			}
			for _, f := range l.Fan {
				if f.P10 < 0 || f.P90 > 1e5 {
					if !seen["fan"] {
						t.Logf("seed %d fan %+v reading %v", seed, f, j.Reading)
						seen["fan"] = true
					}
				}
			}
		}
		a, _ := json.Marshal(Judge(JudgeInput{Collector: c, History: red.History()}))
		if string(a) != string(data) {
			t.Errorf("seed %d not the same twice", seed)
		}
	}
}
