package feed

import (
	"math"

	"dustwright/sense"
)

// table gathers the rows of one log after another, in the order in which they were read.
type table struct {
	times   []int64
	col     [sense.NumChannels][]float64
	firings []sense.Firing
}

// reserve makes room for so many more rows, so that columns need not move while they grow. Room that
// is never used costs no memory: it is not touched before.
func (t *table) reserve(lay *layout, rows int) {
	if need := len(t.times) + rows; cap(t.times) < need {
		t.times = append(make([]int64, 0, need), t.times...)
	}
	for _, c := range lay.columns {
		if c.isChannel() {
			t.column(c.channel)
		}
	}
	for ch := range lay.constants {
		t.column(ch)
	}
	for ch, col := range t.col {
		if col != nil && cap(col) < cap(t.times) {
			t.col[ch] = append(make([]float64, 0, cap(t.times)), col...)
		}
	}
}

// column makes sure that a channel has a column; rows read before have no reading in it.
func (t *table) column(ch sense.Channel) {
	if t.col[ch] == nil {
		t.col[ch] = append(make([]float64, 0, max(cap(t.times), 1)), missingRows(len(t.times), ch)...)
	}
}

// missingRows returns n cells without a reading; no valve fired in them.
func missingRows(n int, ch sense.Channel) []float64 {
	out := make([]float64, n)
	if ch != sense.Pulse {
		for i := range out {
			out[i] = math.NaN()
		}
	}
	return out
}

// add appends the rows of a batch.
func (t *table) add(lay *layout, b *batch) {
	base := len(t.times)
	var filled [sense.NumChannels]bool
	for k, c := range lay.columns {
		if v := b.vals[k]; v != nil {
			t.column(c.channel)
			t.col[c.channel] = append(t.col[c.channel], v[:b.rows]...)
			filled[c.channel] = true
		}
	}
	for ch, v := range lay.constants {
		if !filled[ch] {
			t.column(ch)
			t.col[ch] = appendSame(t.col[ch], v, b.rows)
			filled[ch] = true
		}
	}
	for ch := range t.col {
		if t.col[ch] != nil && !filled[ch] {
			t.col[ch] = append(t.col[ch], missingRows(b.rows, sense.Channel(ch))...)
		}
	}
	for _, f := range b.firings {
		t.firings = append(t.firings, sense.Firing{Row: f.Row + int32(base), Valve: f.Valve})
	}
	t.times = append(t.times, b.times[:b.rows]...)
}

func appendSame(col []float64, v float64, n int) []float64 {
	for range n {
		col = append(col, v)
	}
	return col
}

// ascending reports whether the times from row `from` on rise strictly.
func (t *table) ascending(from int) bool {
	for i := max(from, 1); i < len(t.times); i++ {
		if t.times[i] <= t.times[i-1] {
			return false
		}
	}
	return true
}

// series hands the rows over; the table must not be used afterwards.
func (t *table) series() *sense.Series {
	return &sense.Series{Time: t.times, Col: t.col, Pulses: t.firings}
}
