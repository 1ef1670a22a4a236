package chalk

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
)

const (
	maxRows  = 14
	maxGates = 4
	maxLines = 200000 // of a log
	maxShots = 120000 // pulses of a log, so that a trial is soon made
)

// design is a machine as it was built and set, and how its record is kept.
type design struct {
	days, every      float64 // length of the log [days], from row to row [s]
	begins, works    float64 // shifts [h of the day], [h]
	weekends         bool
	altitude, warmth float64 // of the place [m], of the air there [degrees C]

	rows           int
	flow, area     float64 // [m3/s], of one row [m2]
	loading        float64 // [kg/m3]
	capacity       float64 // dust that plugs all pores of a row [kg]
	media          float64 // conductance of one new row [m3/s/Pa]
	dead           float64 // share of pores lost at the first row of the log
	plateau, creep float64 // share lost by seasoning, share of plugged pores lost for good after it
	back           float64 // share of the dust pulsed off that comes back while the fan runs

	gates                  []float64 // conductance of each branch, open
	fan                    fan
	efficiency             float64 // of the motor
	damperOpen, damperBite float64 // resistance fully open [Pa s2/m6], logarithm of the resistance shut over open
	trim                   float64 // damper's position
	after                  float64 // resistance of the after-filter, new [Pa s/m3]

	mode           collector.Mode
	low, high      float64 // [Pa]
	interval, pace float64 // from pulse to pulse as set, and as the controller's cheap timer has it [s]
	cycles         int     // after the fan stops
	order          []int   // from 0

	set, onTime float64 // of the regulator, gauge [Pa]; of a pulse [s]
	decay       float64 // logarithm of the fall of the header's absolute pressure in one pulse
	volume      float64 // [m3]
	nozzle      float64 // ISO 6358 conductance of a valve [m3/s/Pa]
	fill, droop float64 // how fast a wide-open regulator raises the pressure [Pa/s]; it closes over this much [Pa]
	bulk, bin   float64 // density of the dust in the bin [kg/m3], dust that fills the bin [kg]
	peaks       bool    // the leak detector's highest reading since the last row is logged, not the one of the moment
}

func newDesign(r *rand.Rand) *design {
	d := &design{rows: 2 + r.IntN(maxRows-1), flow: spread(r, 0.5, 8), altitude: between(r, 0, 900), warmth: between(r, 6, 28),
		loading: spread(r, 8e-5, 9e-4), plateau: between(r, 0.12, 0.3), creep: spread(r, 1e-4, 1.2e-3), back: between(r, 0.15, 0.4),
		efficiency: between(r, 0.87, 0.94), decay: between(r, 0.1, 0.6), onTime: pick(r, 0.08, 0.1, 0.1, 0.15, 0.2),
		set: pick(r, 4e5, 4.5e5, 5e5, 5e5, 5.5e5, 6e5), bulk: between(r, 350, 1300)}
	d.area = d.flow / between(r, 0.006, 0.014) / float64(d.rows)
	d.works, d.begins = pick(r, 8.0, 9, 10, 15, 16, 24), pick(r, 5.0, 6, 7)
	d.weekends = chance(r, 0.2)
	if d.works == 24 {
		d.begins, d.weekends = 0, chance(r, 0.6)
	}
	d.low = between(r, 400, 750)
	d.high = d.low + between(r, 200, 550)
	full := spread(r, 3, 25) * hour // until an uncleaned machine is plugged
	d.mode, d.interval, d.cycles = collector.OnDemand, pick(r, 8.0, 10, 10, 12, 15, 20), pick(r, 0, 0, 1, 2, 4)
	switch u := r.Float64(); {
	case u < 0.15:
		d.mode, d.interval, full = collector.Timed, pick(r, 30.0, 45, 60, 90, 120), spread(r, 1.5, 8)*hour
	case u < 0.22:
		d.mode, d.interval, full = collector.Continuous, pick(r, 20.0, 30, 40), spread(r, 0.8, 4)*hour
	case u < 0.34 && d.works < 24: // cleaned in the evening; the set points are there for a bad day
		d.high, d.cycles, full = d.low+between(r, 500, 750), 3+r.IntN(7), spread(r, 15, 45)*hour
	}
	d.pace = d.interval * between(r, 0.985, 1.015)
	d.capacity = d.loading * d.flow / float64(d.rows) * full
	d.dead = d.plateau*between(r, 0.85, 1) + between(r, 0, 0.15)
	if chance(r, 0.25) {
		d.dead = 0 // commissioned on the first day
	}
	clean := 0.7 * (1 - d.plateau) // conductance after cleaning over that of new filters
	d.media = d.flow / (d.low * between(r, 0.5, 0.8) * clean * float64(d.rows))
	for i := range d.rows {
		d.order = append(d.order, i)
	}
	if chance(r, 0.2) {
		r.Shuffle(d.rows, func(i, j int) { d.order[i], d.order[j] = d.order[j], d.order[i] })
	}
	d.wind(r)
	d.air(r)
	d.record(r)
	return d
}

// wind chooses ducts, fan and damper so that the design flow is had with filters half way up.
func (d *design) wind(r *rand.Rand) {
	q := d.flow
	inlet, after, reserve := between(r, 450, 1100), between(r, 150, 320), 0.55*(d.high-d.low)+between(r, 150, 900)
	n := 1 + r.IntN(maxGates)
	for range n {
		d.gates = append(d.gates, q/math.Sqrt(inlet)/float64(n)) // branches are balanced at the design flow
	}
	d.after = after / q
	total := inlet + 0.45*(d.low+d.high) + after + reserve
	d.fan = fan{shutoff: total * between(r, 1.15, 1.35), design: q, power: q * total / between(r, 0.55, 0.72)}
	peak := between(r, 0.2, 0.38) // of the design flow, where the pressure is highest
	d.fan.fall = (d.fan.shutoff - total) / (q * q * (1 - 2*peak))
	d.fan.rise = 2 * d.fan.fall * peak * q
	open := reserve * between(r, 0.15, 0.35)
	d.damperOpen, d.damperBite = open/(q*q), between(r, 3, 5)
	d.trim = 1 - math.Log(reserve/open)/d.damperBite
}

// air chooses the header so that it recovers in a part of the interval.
func (d *design) air(r *rand.Rand) {
	d.nozzle = 3.5e-8 * d.area * between(r, 0.7, 1.4)
	d.volume = polytropic * d.nozzle * atmosphere * d.onTime / d.decay
	lost := (d.set + atmosphere) * (1 - math.Exp(-d.decay))
	d.fill = lost / (min(d.interval, 30) * between(r, 0.3, 0.8))
	d.droop = d.set * between(r, 0.02, 0.06)
}

// record chooses how often a row is written, for how long, and the bin.
func (d *design) record(r *rand.Rand) {
	d.every = pick(r, 10.0, 15, 20, 30, 60, 60, 60, 60, 120, 300, 300, 600, 900)
	d.days = between(r, 20, 120)
	d.peaks = chance(r, 0.35)
	daily := d.works * hour
	if !d.weekends {
		daily *= 5.0 / 7
	}
	d.days = min(d.days, maxLines*d.every/day)
	if d.mode != collector.OnDemand {
		d.days = max(20, min(d.days, maxShots*d.interval/daily))
	}
	d.bin = d.loading * d.flow * daily * spread(r, 5, 30)
}

// damper is its resistance at a position.
func (d *design) damper(open float64) float64 {
	return d.damperOpen * math.Exp(d.damperBite*(1-clamp(open, 0, 1)))
}

var allOpen = [maxGates]float64{1, 1, 1, 1}

// ducts is the conductance of all branches, each with its gate open by a share.
func (d *design) ducts(open [maxGates]float64) float64 {
	var sum float64
	for i, g := range d.gates {
		sum += g * open[i]
	}
	return sum
}

// asBuilt is the air's way with new filters.
func (d *design) asBuilt(damper float64) way {
	return way{ducts: d.ducts(allOpen), filters: float64(d.rows) * d.media, after: d.after,
		damper: d.damper(damper), speed: 1, density: 1}
}
