package chalk

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/sense"
)

// gauge is one instrument, in the unit of its channel.
type gauge struct {
	zero, span float64 // errors: an offset, a share
	noise      float64 // standard deviation
	grain      float64 // smallest step of the display
	lag        float64 // [s]
	low, high  float64 // ends of the scale
	spikes     float64 // share of the readings
	lost       float64 // share of the readings
	stuck      float64 // how often a day the reading stands still
	every      int     // reads only each so-manieth row
}

// kit draws the instruments of a plant. Those of one plant are alike: somebody cares for them, or nobody does.
func kit(r *rand.Rand, d *design) [sense.NumChannels]gauge {
	mess, inf := spread(r, 0.15, 1.6), math.Inf(1)
	g := func(noise, zero, low, high float64, grains ...float64) gauge {
		sd := func(x float64) float64 { return x * mess * clamp(r.NormFloat64(), -2, 2) }
		g := gauge{noise: noise * mess * between(r, 0.3, 1.2), zero: sd(zero), span: sd(0.015), grain: pick(r, grains...), low: low, high: high, every: 1}
		g.lost, g.spikes, g.stuck = mess*some(r, 0.006), mess*some(r, 0.0015), mess*some(r, 0.08)
		return g
	}
	load := amps(d.fan.power / d.efficiency)
	k := [sense.NumChannels]gauge{
		sense.DP:            g(8, 12, pick(r, -25.0, -125, -2500), pick(r, 2500.0, 2500, 5000), 1, 2.5, 5, 10, 25),
		sense.AfterfilterDP: g(5, 6, -25, 2500, 1, 2, 5, 10),
		sense.InletSP:       g(9, 12, -5000, 100, 1, 5, 10, 25),
		sense.Flow:          g(0.025*d.flow, 0, 0, inf, digits(0.001*d.flow), digits(0.01*d.flow)),
		sense.FlowIndex:     g(0.02*d.flow, 0, 0, inf, 1e-4*d.flow),
		sense.FanCurrent:    g(0.01*load, 0, 0, 3*load, 0.1, 0.1, 0.5),
		sense.FanPower:      g(0.012*d.fan.power, 0, 0, 3*d.fan.power, 10, 100),
		sense.Damper:        g(0.004, 0.01, 0, 1, 0.01, 0.001),
		sense.Header:        g(2500, 3000, 0, 1e6, 1000, 5000, 10000),
		sense.Temperature:   g(0.3, 1, 200, 400, 0.1, 0.5, 1),
		sense.Humidity:      g(0.012, 0.06, 0.05, pick(r, 0.9, 0.95, 1), 0.01, 0.001, 0.05),
		sense.Barometer:     g(30, 100, 5e4, 1.1e5, 10, 100),
		sense.Emission:      g(0.12, 0, 0, pick(r, 10.0, 20, 50), 0.01, 0.05, 0.1),
		sense.BinLevel:      g(0.015, 0.02, 0, 1, 0.01, 0.05, 0.1),
		sense.BinMass:       g(0, 0, 0, inf, 1),
	}
	k[sense.HeaderLow] = k[sense.Header]
	if chance(r, 0.35) { // the header's gauge is read now and then
		k[sense.Header].every = 1 + int(spread(r, 600, 8*hour)/d.every)
	}
	k[sense.DP].lag, k[sense.Flow].lag, k[sense.Humidity].lag = spread(r, 1, 60), spread(r, 2, 90), spread(r, 60, 3000)
	k[sense.Temperature].span, k[sense.Barometer].span = 0, 0 // of a scale that does not begin at zero
	k[sense.BinLevel].stuck = 0.4 * mess
	return k
}

// reads turns what is there into what is written.
func (g gauge) reads(col []float64, every float64, r *rand.Rand) []float64 {
	out := make([]float64, len(col))
	follow := 1 - math.Exp(-every/g.lag)
	state, stands, last := col[0], 0, math.NaN()
	for i, v := range col {
		state += follow * (v - state)
		if g.lag == 0 {
			state = v // also where there is nothing to read now or was before
		}
		y := state*(1+g.span) + g.zero + g.noise*r.NormFloat64()
		if g.spikes > 0 && chance(r, g.spikes) {
			y *= 1 + 3*r.NormFloat64()
		}
		y = clamp(math.Round(y/g.grain)*g.grain, g.low, g.high)
		if g.stuck > 0 && stands == 0 && chance(r, min(0.01, g.stuck*every/day)) {
			stands = 1 + int(spread(r, 600, 12*hour)/every)
		}
		if stands > 0 && !math.IsNaN(last) {
			y = last
			stands--
		}
		last = y
		if i%g.every != 0 || g.lost > 0 && chance(r, g.lost) {
			y = math.NaN()
		}
		out[i] = y
	}
	return out
}

// written is the log as the plant has it, and the time of its last row.
func (rec *record) written(d *design, r *rand.Rand) (*sense.Series, time.Time) {
	full := rec.col
	for ch, g := range kit(r, d) {
		if g.grain > 0 {
			full[ch] = g.reads(rec.col[ch], d.every, r)
		}
	}
	scale, index := spread(r, 0.05, 300), spread(r, 5, 2000)/d.flow // units of their own
	for i := range rec.time {
		full[sense.Emission][i] *= scale
		full[sense.FlowIndex][i] *= index
	}
	late := 0 // rows by which the flags lag
	if d.every <= 120 {
		late = pick(r, 0, 0, 0, 1, 2)
	}
	full[sense.Running] = flags(rec.col[sense.Running], 0.5, late)
	full[sense.Cleaning] = flags(rec.col[sense.Cleaning], pick(r, 0, 0, 0.5), late)
	out := &sense.Series{Zone: time.UTC, Source: "chalk"}
	var kept []bool
	out.Time, kept = rec.clock(r)
	full[sense.Pulse], out.Pulses = rec.pulses(kept, r)
	for ch, col := range full {
		for i, v := range col {
			if kept[i] {
				out.Col[ch] = append(out.Col[ch], v)
			}
		}
	}
	return out, out.When(out.Len() - 1)
}

// flags are 1 where a share of the row's time is above a limit, some rows late.
func flags(col []float64, limit float64, late int) []float64 {
	out := make([]float64, len(col))
	for i := range col {
		if col[max(0, i-late)] > limit {
			out[i] = 1
		}
	}
	return out
}

// pulses counts those of each row and says which valves fired. Some get lost, some come into the next row, and most of those of
// a lost row are lost with it. One plant in eight counts them and does not know the valves.
func (rec *record) pulses(kept []bool, r *rand.Rand) (counts []float64, named []sense.Firing) {
	place := make([]int32, len(kept)+1) // of each row, or where it is lost of the next, among the kept
	for i, k := range kept {
		place[i+1] = place[i]
		if k {
			place[i+1]++
		}
	}
	counts = make([]float64, len(kept))
	lost, late := some(r, 0.03), some(r, 0.1)
	unnamed, last := chance(r, 0.125), int32(0)
	for _, s := range rec.shots {
		if s.row == len(kept) || chance(r, lost) || !kept[s.row] && chance(r, 0.7) { // behind the last row, or lost
			continue
		}
		row := s.row
		if chance(r, late) {
			row++
		}
		for row < len(kept) && !kept[row] {
			row++
		}
		if row >= len(kept) {
			continue
		}
		counts[row]++
		last = max(last, place[row]) // in the order in which they fired
		if !unnamed {
			named = append(named, sense.Firing{Row: last, Valve: uint8(s.valve)})
		}
	}
	return counts, named
}

// clock gives the rows their times by the logger's clock, which may jump, and drops those that it lost or that would go back.
func (rec *record) clock(r *rand.Rand) (times []int64, kept []bool) {
	kept = make([]bool, len(rec.time))
	end := rec.time[len(rec.time)-1]
	lost, jitter := some(r, 0.015), some(r, 0.1*rec.d.every)
	jumps := [2]float64{end * between(r, 0, 6), end * between(r, 0, 6)} // most lie behind the end
	by := [2]float64{hour * pick(r, -1.0, 1), spread(r, 5, 900) * pick(r, -1.0, 1)}
	outage := end * between(r, 0, 3)
	back := outage + spread(r, 0.5, 40)*hour
	if back > 0.9*end { // the log's end is kept
		outage = end
	}
	last := begin.UnixNano() - 1
	for i, t := range rec.time {
		at := t + jitter*r.Float64()
		for j := range jumps {
			if t > jumps[j] {
				at += by[j]
			}
		}
		ns := begin.UnixNano() + int64(math.Round(at))*1e9
		if rec.blank[i] || t > outage && t < back || chance(r, lost) || ns <= last {
			continue
		}
		kept[i], last = true, ns
		times = append(times, ns)
	}
	return times, kept
}
