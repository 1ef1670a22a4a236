package sense

import "math"

// Behind is whether the log's pulses come a row after the header's fall, since a counter may be read before the rest of the row
// is; or the lowest pressures a row after the pulses, since a logger may write the lowest of the row that it closed last. It is
// exported for gob.
type Behind struct {
	Late    Ballot // cleanings whose first fall came in the row before the first pulse; against: in the row of it
	Trailed Ballot // cleanings in which it is the row after the last pulse that shows a fall; against: the first row does
	T       int64  // of the last row [unix ns]
	Last    [len(shifted)]float64
}

// Ballot counts cleanings that speak for and against something. It is exported for gob.
type Ballot struct{ For, Against uint16 }

// cast counts one more.
func (b *Ballot) cast(is bool) {
	if is {
		b.For++
	} else {
		b.Against++
	}
	if b.For+b.Against > lateMost { // the log may have changed
		b.For, b.Against = b.For/2, b.Against/2
	}
}

// carried reports that it is so.
func (b *Ballot) carried() bool { return b.For >= lateLeast && b.For > lateOdds*b.Against }

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
		b.Late.cast(false)
	case w.fired[i+1] > 0:
		b.Late.cast(true)
	}
}

// Where the lowest pressure trails, that of the row after the last pulse lies trailDeep and more of the depth below rest that it
// had a row before, and the next no more than trailBack: a header that fills slowly, or whose first valve is dead, shows it
// otherwise. Common practice, no source.
const (
	trailDeep = 0.7
	trailBack = 0.3
)

// voteTrails looks at a cleaning that begins in row i, after none for a while: whether its first row shows that the header fell,
// or else the row after its last does.
func (b *Behind) voteTrails(w *scratch, low []float64, i int, noise float64) {
	if i == 0 || w.fired[i] == 0 || w.fired[i-1] > 0 {
		return
	}
	end := i + 1 // the row after the last pulse
	for end < len(low) && w.fired[end] > 0 {
		end++
	}
	if end+1 >= len(low) || w.fired[end+1] > 0 {
		return
	}
	for k := i; k <= end+1; k++ {
		if w.gap[k] > 1.5*w.step {
			return
		}
	}
	before := low[i-1]
	fell := func(k int) float64 { return before - low[k] }
	limit := max(noDropNoise*noise, firstFall*before)
	switch deep := fell(end); {
	case fell(i) > limit:
		b.Trailed.cast(false)
	case deep > limit && deep >= trailDeep*fell(end-1) && fell(end+1) < trailBack*deep:
		b.Trailed.cast(true)
	}
}

// advance gives every row the lowest pressure that is written in the next, where they trail; of the chunk's last row it is not
// known yet.
func (b *Behind) advance(w *scratch, ch *chunk) {
	col := ch.col[HeaderLow]
	if !b.Trailed.carried() || col == nil {
		return
	}
	own := make([]float64, len(col))
	for i := range own {
		own[i] = math.NaN()
		if i+1 < len(col) && w.gap[i+1] <= 1.5*w.step {
			own[i] = col[i+1]
		}
	}
	ch.col[HeaderLow] = own
}

// undelay gives every row the readings of the row before where pulses come late, so that both are of the same time, and keeps
// the last ones for the next chunk.
func (b *Behind) undelay(w *scratch, ch *chunk, st *State) {
	n := len(ch.t)
	late := b.Late.carried()
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
