package sketch

import (
	"math"

	"dustwright/sense"
)

// record gathers the rows of the log.
type record struct {
	clock clock
	out   sense.Series
	fire  []uint8 // since the last row
}

func newRecord(c clock) *record {
	return &record{clock: c, out: sense.Series{Source: "sketch", Time: make([]int64, 0, c.steps/c.every+1)}}
}

// row begins a new row at a time since the start [s].
func (o *record) row(t float64) {
	n := int32(len(o.out.Time))
	o.out.Time = append(o.out.Time, o.clock.start.UnixNano()+int64(t*1e9))
	for _, v := range o.fire {
		o.out.Pulses = append(o.out.Pulses, sense.Firing{Row: n, Valve: v})
	}
	o.set(sense.Pulse, float64(len(o.fire)))
	o.fire = o.fire[:0]
}

// fired notes a valve.
func (o *record) fired(valve int) { o.fire = append(o.fire, uint8(valve)) }

// forget drops what fired while nobody logged.
func (o *record) forget() { o.fire = o.fire[:0] }

// set writes a channel of the row begun last, and not in a gap.
func (o *record) set(c sense.Channel, v float64) {
	n := len(o.out.Time)
	if o.out.Col[c] == nil {
		o.out.Col[c] = make([]float64, 0, o.clock.steps/o.clock.every+1)
	}
	for len(o.out.Col[c]) < n {
		o.out.Col[c] = append(o.out.Col[c], math.NaN())
	}
	if n > 0 {
		o.out.Col[c][n-1] = v
	}
}

// series hands the log over, every column as long as the time.
func (o *record) series() *sense.Series {
	n := len(o.out.Time)
	for c := range o.out.Col {
		if o.out.Col[c] != nil {
			for len(o.out.Col[c]) < n {
				o.out.Col[c] = append(o.out.Col[c], math.NaN())
			}
		}
	}
	return &o.out
}
