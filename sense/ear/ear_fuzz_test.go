package ear

import (
	"math"
	"testing"
)

func FuzzAnalyse(f *testing.F) {
	f.Add([]byte{1, 200, 3, 4}, 16000, 4, 1.0)
	f.Add([]byte{}, 48000, 0, math.NaN())
	f.Fuzz(func(t *testing.T, data []byte, rate, valves int, interval float64) {
		if rate < 16000 || rate > 48000 || len(data) == 0 || len(data) > 4096 || valves < 0 || valves > 50 {
			return
		}
		x := make([]float32, 6*rate)
		for i := range x {
			x[i] = float32(int(data[(i*i/97)%len(data)])-128) / 128
		}
		r, err := Analyse(x, rate, Spec{Valves: valves, Interval: interval})
		if err == nil && valves > 0 && len(r.Valves) != valves {
			t.Errorf("%d valves asked for, %d given", valves, len(r.Valves))
		}
	})
}
