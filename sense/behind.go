package sense

import "math"

// Behind is whether the log's pulses come a row after the header's fall: a counter may be read before the rest of the row is. It
// is exported for gob.
type Behind struct {
	Prompt, Late uint16 // cleanings whose first fall came in the row of the first pulse, and in the row before
	T            int64  // of the last row [unix ns]
	Last         [len(shifted)]float64
}

// shifted are the channels that show a pulse.
var shifted = [...]Channel{Header, HeaderLow, DP, Emission}

// Pulses come late where that is so of lateLeast cleanings and of lateOdds times as many as are prompt; a row between two
// pulses may always end amid one. A first fall is more than firstFall of the pressure. Common practice, no source.
const (
	lateLeast = 6
	lateOdds  = 4
	lateMost  = 60
	firstFall = 0.03
)

// late reports that pulses come a row late.
func (b *Behind) late() bool { return b.Late >= lateLeast && b.Late > lateOdds*b.Prompt }

// vote looks at row i, before which no valve had fired for a while: whether the header fell in it, and whether its pulse is
// counted there or in the next row.
func (b *Behind) vote(w *scratch, low []float64, i int, noise float64) {
	if i == 0 || i+1 >= len(low) || w.fired[i-1] > 0 || max(w.gap[i], w.gap[i+1]) > 1.5*w.step {
		return
	}
	before := low[i-1]
	if !(before-low[i] > max(noDropNoise*noise, firstFall*before)) {
		return
	}
	switch {
	case w.fired[i] > 0:
		b.Prompt++
	case w.fired[i+1] > 0:
		b.Late++
	}
	if b.Prompt+b.Late > lateMost { // the log may have changed
		b.Prompt, b.Late = b.Prompt/2, b.Late/2
	}
}

// undelay gives every row the readings of the row before where pulses come late, so that both are of the same time, and keeps
// the last ones for the next chunk.
func (b *Behind) undelay(w *scratch, ch *chunk, st *State) {
	n := len(ch.t)
	late := b.late()
	for k, c := range shifted {
		before := math.NaN()
		if b.T != 0 && b.T == st.LastT && w.gap[0] <= 3*w.step {
			before = b.Last[k]
		}
		col := ch.col[c]
		b.Last[k] = at(col, n-1)
		if !late || col == nil {
			continue
		}
		own := make([]float64, n)
		for i := range own {
			own[i] = before
			if i+1 < n && w.gap[i+1] <= 3*w.step {
				before = col[i]
			} else {
				before = math.NaN()
			}
		}
		ch.col[c] = own
	}
	b.T = ch.t[n-1]
}
