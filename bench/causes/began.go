package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"time"

	"dustwright/judge"
)

// began scores what is said of when the trouble began, where the cause named first is right and the record reaches back before it.
type began struct {
	n, told, within int
	off, width      []float64 // of those told [days]: from the truth, and of the interval
}

// slack is by how much an interval may miss the truth and still hold: a row of a slow log.
const slack = time.Hour

// add scores one judgement.
func (b *began) add(t *trial, r judge.Result) {
	first := time.Unix(0, t.series.Time[0])
	truth := t.at.Add(-time.Duration(t.old * 24 * float64(time.Hour)))
	if t.truth == "none" || t.second != "" || r.Causes[0].Cause != judge.Cause(t.truth) || truth.Sub(first) < 24*time.Hour {
		return
	}
	b.n++
	if r.Since.IsZero() {
		return
	}
	b.told++
	b.off = append(b.off, r.Since.Sub(truth).Abs().Hours()/24)
	b.width = append(b.width, r.SinceTop.Sub(r.SinceLow).Hours()/24)
	if !truth.Before(r.SinceLow.Add(-slack)) && !truth.After(r.SinceTop.Add(slack)) {
		b.within++
	}
}

// print writes a row.
func (b *began) print(w io.Writer, name string) {
	fmt.Fprintf(w, "%-30s  told %s of %d, within the interval %s, median error %.1f days, 8 of 10 within %.1f, width %.1f days\n", name, share(b.told, b.n), b.n,
		share(b.within, b.told), quantileOf(b.off, 0.5), quantileOf(b.off, 0.8), quantileOf(b.width, 0.5))
}

// quantileOf is the q-quantile of values; NaN for none.
func quantileOf(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(v))
	return s[int(q*float64(len(s)-1))]
}
