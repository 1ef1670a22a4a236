package sense

import (
	"math/bits"
	"time"
)

// History is the reduced record of a collector: what later judgements need, a thousandth of the
// readings. It holds no pointers into the series it came from and can be written with encoding/gob.
type History struct {
	Version   int
	First     int64 // unix ns of the first row
	Last      int64 // unix ns of the last row taken
	Rows      int64
	Late      int64 // rows dropped because their time was not after the last one taken
	Hours     []Hour
	Cycles    []Cycle
	Recharges []Recharge
	Noted     []Change // changes somebody logged
}

// Stat is a channel in an hour, over the rows while the fan ran (over all rows for channels that
// do not depend on the fan).
type Stat struct {
	N                  uint32
	Mean, SD, Min, Max float32
	P10, P50, P90      float32
}

// Hour is one hour of the record.
type Hour struct {
	Start   int64 // unix seconds
	Rows    uint32
	Running float32 // hours the fan ran
	Has     uint32  // bit c set: Stats has an entry for channel c
	Stats   []Stat  // in channel order
}

// Cycle is one cleaning cycle.
type Cycle struct {
	Start, End int64   // unix ns
	Pulses     int32   // 0 unknown
	Before     float64 // dP before [Pa]
	After      float64 // dP after [Pa]
}

// Recharge is one refilling of the header or of a reservoir without a pulse.
type Recharge struct {
	Start, End time.Time
	Low, High  float64 // [Pa, gauge]
}

// Of returns the hour's summary of channel c, and false where the hour has none.
func (h *Hour) Of(c Channel) (Stat, bool) {
	bit := uint32(1) << c
	if h.Has&bit == 0 {
		return Stat{}, false
	}
	return h.Stats[bits.OnesCount32(h.Has&(bit-1))], true
}
