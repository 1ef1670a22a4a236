package filter

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Stroke is one pulse as the row feels it.
type Stroke struct {
	Header   unit.Pressure // header gauge pressure as the valve opens [Pa], 0 or more
	Strength unit.Share    // of the normal pulse: 1 a sound valve, 0 a dead one
	Online   bool          // the row is filtering (the fan runs)
}

// Removal is what a pulse did; the masses are whole rows' masses.
type Removal struct {
	Share    unit.Share // of the row's cake that came off
	Off      unit.Mass  // that came off the row [kg]
	Returned unit.Mass  // of it, settled on other rows [kg]
	Fallen   unit.Mass  // of it, fell towards the bin [kg]; Off = Returned + Fallen
}

// RemovedShare returns the share of its cake that a row loses to one pulse.
//
//	s      the pulse
//	result 0 to RemoveMax: grows with the header's pressure times the valve's strength, first in
//	       proportion, then less and less; times Online while filtering. NaN in, NaN out
//
// Source: share removed proportional to the peak reverse pressure (Leith and Ellenbecker, Atmos. Environ.
// 1980, abstract); the saturating form and the factor for filtering are from memory.
func (l Law) RemovedShare(s Stroke) unit.Share {
	x := max(0, float64(s.Header)*float64(s.Strength)) / float64(l.RemovePressure)
	share := l.RemoveMax * unit.Share(-math.Expm1(-x))
	if s.Online {
		share *= l.Online
	}
	return share
}

// Pulse throws off a row's cake (row 0 is the top), lets its share return to the rows below and beside,
// and ages the row by the stroke.
//
//	row    0 to len(Rows)-1; else an error
//	s      the pulse; NaN in its fields is an error
//	result what came off, what returned, what fell: dust is conserved to rounding
//
// Nothing returns with the fan off. It allocates nothing unless it fails.
// Source: RemovedShare; redeposition and creep by pulses from memory.
func (b *Bank) Pulse(row int, s Stroke) (Removal, error) {
	if row < 0 || row >= len(b.Rows) {
		return Removal{}, fmt.Errorf("there is no filter row %d; rows are 1 to %d", row+1, len(b.Rows))
	}
	share := b.removedShare(s)
	if math.IsNaN(float64(share)) {
		return Removal{}, fmt.Errorf("row %d: a pulse needs a header pressure and a strength", row+1)
	}
	r := &b.Rows[row]
	off := float64(r.Area) * float64(r.Cake) * float64(share)
	r.Cake -= Areal(off / float64(r.Area))
	r.Pulses += float64(s.Strength)
	r.Creep += b.Law.CreepPulse * unit.Drag(s.Strength)
	back := 0.0
	if s.Online {
		back += b.settle(row+1, off*float64(b.Law.ReturnBelow+b.Law.ReturnBeside))
		back += b.settle(row-1, off*float64(b.Law.ReturnBeside))
	}
	return Removal{Share: share, Off: unit.Mass(off), Returned: unit.Mass(back), Fallen: unit.Mass(off - back)}, nil
}

// removedShare is the law's RemovedShare; a cleaning repeats the same stroke over and over, so the last answer is kept.
func (b *Bank) removedShare(s Stroke) unit.Share {
	key := struck{s, b.Law.RemoveMax, b.Law.RemovePressure, b.Law.Online}
	if key != b.last {
		b.last, b.lastShare = key, b.Law.RemovedShare(s)
	}
	return b.lastShare
}

// struck is what a removed share depends on.
type struck struct {
	stroke   Stroke
	most     unit.Share
	pressure unit.Pressure
	online   unit.Share
}

// settle lays dust [kg] on a row, if there is one, and returns what it took. Dust that was caught once
// does not season or age a second row: it lies on the cake.
func (b *Bank) settle(row int, m float64) float64 {
	if row < 0 || row >= len(b.Rows) {
		return 0
	}
	b.Rows[row].Cake += Areal(m / float64(b.Rows[row].Area))
	return m
}
