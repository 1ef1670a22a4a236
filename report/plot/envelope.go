package plot

import (
	"math"
	"time"

	"dustwright/rehearse"
)

// Envelope is a rehearse.Recorder that keeps of a log only what a picture of some hundred columns can show: the lowest
// and highest dP with the fan on in each.
type Envelope struct {
	from, to  int64
	low, high []float64
}

// NewEnvelope returns an envelope of so many columns over a stretch of time.
func NewEnvelope(from, to time.Time, columns int) *Envelope {
	e := &Envelope{from: from.UnixNano(), to: to.UnixNano(), low: make([]float64, columns), high: make([]float64, columns)}
	for i := range e.low {
		e.low[i], e.high[i] = math.NaN(), math.NaN()
	}
	return e
}

// Record takes a row; rows without a dP or with the fan off are left out.
func (e *Envelope) Record(r *rehearse.Row) error {
	dp := r.Values[rehearse.DP]
	if math.IsNaN(dp) || r.Values[rehearse.Running] == 0 || r.Unix < e.from || r.Unix > e.to || e.to == e.from {
		return nil
	}
	i := min(int(float64(r.Unix-e.from)/float64(e.to-e.from)*float64(len(e.low))), len(e.low)-1)
	if !(e.low[i] <= dp) {
		e.low[i] = dp
	}
	if !(e.high[i] >= dp) {
		e.high[i] = dp
	}
	return nil
}
