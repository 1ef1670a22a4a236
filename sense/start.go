package sense

import "math"

// A fan that has stood for longStood starts on filters that were cleaned when it stopped, if ever: the dP it starts with shows
// filters and airflow where set points hold all other levels. The first spinNs are left out, and startNs makes it. Common
// practice, no source.
const (
	longStood = 2 * hourNs
	startNs   = hourNs / 6
)

// BeginState is where the search for the dP at start-up stands. It is exported for gob.
type BeginState struct {
	Stands int64 // first row since which the fan stands [unix ns]; 0 it runs, or nobody knows
	At     int64 // first row in which it ran again after it had stood for long [unix ns]; 0 none
	Sum    float64
	N      int32
}

// start finds the dP with which the fan starts. Rows that are missing on the way leave it open.
func (w *scratch) start(ch chunk, hour *Hour, st *State) {
	b := &st.Begin
	for i, t := range ch.t {
		switch {
		case !w.run[i]:
			if b.Stands == 0 {
				b.Stands = t
			}
			b.At = 0
			continue
		case b.Stands > 0 && t-b.Stands >= longStood:
			*b = BeginState{At: t}
		case w.gap[i] > 3*w.step:
			b.At = 0
		}
		b.Stands = 0
		if b.At == 0 || t-b.At < spinNs {
			continue
		}
		if col := ch.col[DP]; col != nil && col[i] == col[i] {
			b.Sum += col[i]
			b.N++
		}
		if t-b.At >= startNs {
			if b.N > 0 {
				hour.DP.Start = float32(b.Sum / float64(b.N))
			}
			b.At = 0
		}
	}
}

// started is the median of the dP with which the fan started.
func (d *Day) started(hours []Hour) {
	var v []float64
	for i := range hours {
		if x := float64(hours[i].DP.Start); x != 0 {
			v = append(v, x)
		}
	}
	if len(v) > 0 {
		d.set(DPStart, medianOf(v), math.NaN())
	}
}
