package stencil

import (
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"dustwright/sense"
)

// mixed are the channels in which a trouble may show.
var mixed = []sense.Channel{sense.DP, sense.AfterfilterDP, sense.Flow, sense.Header, sense.HeaderLow, sense.FanCurrent, sense.FanPower,
	sense.InletSP, sense.Damper, sense.Cleaning, sense.Emission, sense.BinLevel}

// quarter is the length of time whose means are compared [ns].
const quarter = 6 * 3600e9

// shows reports that a log differs from that of the same machine without its trouble by more than what quarters of a day
// differ anyway, in one channel at least.
func shows(ill, well *sense.Series, since int64) bool {
	for _, c := range mixed {
		if differ(quarters(ill, c, since), quarters(well, c, since)) {
			return true
		}
	}
	for v := range 16 {
		a, b := drops(ill, uint8(v), since), drops(well, uint8(v), since)
		if len(a) < 4 || len(b) < 4 {
			continue
		}
		ma, sa := stat.PopMeanStdDev(a, nil)
		mb, sb := stat.PopMeanStdDev(b, nil)
		if math.Abs(ma-mb) > 0.5*max(sa, sb) {
			return true
		}
	}
	return false
}

// quarters are the means of a channel while the fan ran, by the number of the quarter of a day.
func quarters(s *sense.Series, c sense.Channel, since int64) map[int64]float64 {
	sum, n := map[int64]float64{}, map[int64]float64{}
	for i, v := range s.Col[c] {
		if s.Time[i] >= since && s.Col[sense.Running][i] > 0.5 && !math.IsNaN(v) {
			k := s.Time[i] / quarter
			sum[k] += v
			n[k]++
		}
	}
	for k := range sum {
		sum[k] /= n[k]
	}
	return sum
}

// differ reports that two sets of means differ by more than half of the scatter of the second.
func differ(a, b map[int64]float64) bool {
	var gaps, all []float64
	for _, k := range slices.Sorted(maps.Keys(b)) { // in order, for sums that are the same each time
		v := b[k]
		if x, ok := a[k]; ok {
			gaps = append(gaps, x-v)
		}
		all = append(all, v)
	}
	if len(gaps) == 0 {
		return false
	}
	gap := stat.Mean(gaps, nil)
	sd := stat.PopStdDev(all, nil)
	return math.Abs(gap) > 0.6*sd && math.Abs(gap) > 1e-6
}

// drops are the lowest header pressures of rows in which a valve fired alone.
func drops(s *sense.Series, valve uint8, since int64) []float64 {
	var out []float64
	for i, f := range s.Pulses {
		alone := (i == 0 || s.Pulses[i-1].Row != f.Row) && (i == len(s.Pulses)-1 || s.Pulses[i+1].Row != f.Row)
		if low := s.Col[sense.HeaderLow][f.Row]; alone && f.Valve == valve && s.Time[f.Row] >= since && !math.IsNaN(low) {
			out = append(out, low)
		}
	}
	return out
}
