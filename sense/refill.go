package sense

import "math"

// RefillState is where the finder of recharges stands. It is exported for gob.
type RefillState struct {
	Rising bool
	Ext    float64 // lowest (falling) or highest (rising) reading since the last turn [Pa]
	ExtT   int64
	ToeT   int64 // last reading still close above the lowest
	TopT   int64 // last reading still close below the last top [unix ns]; 0 none
	Top    float64
	FellT  int64 // when the fall to the lowest began, and from where
	Fell   float64
	LowT   int64
	Low    float64
	Curve  Ring // second differences [Pa]
	X1, X2 float64
}

// reset is the state before the first row.
func (r *RefillState) reset() {
	nan := math.NaN()
	*r = RefillState{Ext: nan, X1: nan, X2: nan}
}

// refillShare is the least height of a recharge, as a share of the pressure; compressors and
// pressure switches work over five percent and more. Common practice, no source.
const refillShare = 0.03

// refillPace is how many times as long as the rise the fall before a recharge must have taken: a leak
// or the use of air is slow beside a compressor. After a pulse it is the other way round.
const refillPace = 2

// toeShare is how far above the lowest reading, as a share of the least height that counts, a recharge
// has not begun yet: the toe of the rise and the noise at the bottom lie below. So far below the highest
// reading the fall has not begun yet.
const toeShare = 0.1

// refills follows the header where no valve fires: slow falls and quick rises between two levels.
// A pulse is the other way round, so it is passed over even where the log does not name it.
func (w *scratch) refills(ch chunk, h *History, st *State) {
	col := ch.col[Header]
	if col == nil {
		return
	}
	r := &st.Refill
	if st.LastFire != 0 && ch.t[0]-st.LastFire < hourNs {
		r.reset()
		return
	}
	delta, toe := math.NaN(), 0.0
	for i, x := range col {
		if x != x {
			continue
		}
		if i%16 == 0 || delta != delta {
			r.Curve.put(math.Abs(x - 2*r.X1 + r.X2))
			delta = refillShare * math.Abs(x)
			toe = toeShare * delta
			if noise := curveToSigma * r.Curve.quantile(0.5); noise == noise {
				delta, toe = max(delta, 8*noise), max(toe, 6*noise)
			}
		}
		r.turn(h, ch.t[i], x, delta, toe)
		r.X2, r.X1 = r.X1, x
	}
}

// turn takes one reading in and closes a recharge when the pressure has turned down again.
func (r *RefillState) turn(h *History, t int64, x, delta, toe float64) {
	if !r.Rising && x <= r.Ext+toe {
		r.ToeT = t
	}
	if !r.Rising && x > r.Top {
		r.Top = x
	}
	if !r.Rising && x >= r.Top-toe || r.Rising && x >= r.Ext-toe {
		r.TopT = t
	}
	switch {
	case r.Ext != r.Ext:
		r.Ext, r.ExtT, r.ToeT, r.Top, r.TopT = x, t, t, x, t
	case !r.Rising && x <= r.Ext:
		r.Ext, r.ExtT, r.ToeT = x, t, t
	case r.Rising && x >= r.Ext:
		r.Ext, r.ExtT = x, t
	case !r.Rising && x > r.Ext+delta:
		r.Low, r.LowT, r.FellT, r.Fell = r.Ext, r.ToeT, r.TopT, r.Top
		r.Rising, r.Ext, r.ExtT = true, x, t
	case r.Rising && x < r.Ext-delta:
		r.close(h)
		r.Top = r.Ext
		r.Rising, r.Ext, r.ExtT, r.ToeT = false, x, t, t
	}
}

// close writes the rise that has ended, if the fall before it was the slower of the two.
func (r *RefillState) close(h *History) {
	fall, rise := float64(r.LowT-r.FellT)*1e-9, float64(r.ExtT-r.LowT)*1e-9
	if fall < refillPace*rise {
		return
	}
	h.Recharges = append(h.Recharges, Recharge{Start: r.LowT, End: r.ExtT, Low: r.Low, High: r.Ext,
		Fall: (r.Low - r.Fell) / fall, FallTime: fall})
	if len(h.Recharges) >= 2*maxRecharges {
		h.Recharges = append([]Recharge(nil), h.Recharges[maxRecharges:]...)
	}
}
