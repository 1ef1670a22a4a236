package etch

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"dustwright/sense"
)

// differ reports whether two clean records differ in some channel by more than its instrument's noise: in their means
// while the fan runs, in their scatter, in how often valves fire, or in what one valve does.
func differ(a, b *record, d *dials, valve int) bool {
	for _, c := range []sense.Channel{sense.DP, sense.AfterfilterDP, sense.Flow, sense.Header, sense.HeaderLow, sense.FanCurrent,
		sense.FanPower, sense.InletSP, sense.Emission, sense.BinLevel} {
		if d.of[c].dead {
			continue
		}
		x, y := ran(a, c), ran(b, c)
		if len(x) < 20 || len(y) < 20 {
			return false
		}
		noise := d.of[c].noise + d.of[c].step/2
		mx, sx := stat.PopMeanStdDev(x, nil)
		my, sy := stat.PopMeanStdDev(y, nil)
		if math.Abs(mx-my) > 1.5*noise+0.3*min(sx, sy)+0.003*math.Abs(my) {
			return true
		}
		if c != sense.Emission && c != sense.BinLevel && math.Abs(sx-sy) > noise+0.35*min(sx, sy) {
			return true
		}
	}
	na, nb := float64(len(a.fired)), float64(len(b.fired))
	if math.Abs(na-nb) > 25+0.25*min(na, nb) {
		return true
	}
	if valve == 0 {
		return false
	}
	da, db := dip(a, valve), dip(b, valve)
	ea, eb := swell(a, valve), swell(b, valve)
	return math.Abs(da-db) > 1.5*(d.of[sense.HeaderLow].noise+d.of[sense.HeaderLow].step/2) ||
		math.Abs(ea-eb) > 1.5*(d.of[sense.Emission].noise+d.of[sense.Emission].step/2)
}

// ran are the readings of a channel while the fan runs.
func ran(r *record, c sense.Channel) []float64 {
	var out []float64
	for i, v := range r.col[c] {
		if r.col[sense.Running][i] == 1 {
			out = append(out, v)
		}
	}
	return out
}

// dip is the mean fall of the header in the rows with the fewest valves beside the one asked for.
func dip(r *record, valve int) float64 {
	return beside(r, valve, func(i int) float64 { return r.col[sense.Header][max(0, i-1)] - r.col[sense.HeaderLow][i] })
}

// swell is the mean of the leak detector's reading in these rows.
func swell(r *record, valve int) float64 {
	return beside(r, valve, func(i int) float64 { return r.col[sense.Emission][i] })
}

func beside(r *record, valve int, of func(i int) float64) float64 {
	fewest := math.MaxInt
	var got []float64
	for k := 0; k < len(r.fired); {
		n, has := 0, false
		row := r.fired[k].Row
		for ; k < len(r.fired) && r.fired[k].Row == row; k++ {
			n++
			has = has || int(r.fired[k].Valve) == valve
		}
		if r.col[sense.Running][row] != 1 {
			continue
		}
		if has && n < fewest {
			fewest, got = n, got[:0]
		}
		if has && n == fewest {
			got = append(got, of(int(row)))
		}
	}
	if len(got) == 0 {
		return 0
	}
	mean := stat.Mean(got, nil)
	return mean
}
