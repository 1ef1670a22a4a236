package sense

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// rig is a plain saw-tooth machine with known truth: laminar filters, a cake that grows with the
// dust passed, valves that each take off a share of their row's cake, a fan that gives less flow
// against more resistance. It is not the project's simulator on purpose.
type rig struct {
	rows      int
	design    float64 // [m3/s]
	area      float64 // [m2]
	clean     float64 // residual drag [Pa s/m]
	creep     float64 // growth of the residual drag [1/h]
	feed      float64 // growth of the cake's drag at design flow [Pa s/m per h]
	low, high float64 // set points [Pa]
	interval  float64 // [s]
	off       float64 // share of a row's cake that a pulse takes
	set, drop float64 // header [Pa]
	dead      int     // valve that never opens; 0 none
	stiff     float64 // how far the flow falls when the dP doubles; 0 constant flow
	shift     float64 // hours a day the fan runs; 24 always
	noise     float64 // of dP [Pa]
	seed      uint64
}

// usual is a healthy machine of the trade's size.
func usual() rig {
	return rig{rows: 6, design: 1.98, area: 120, clean: 12000, creep: 2e-5, feed: 30000, low: 500, high: 1000,
		interval: 10, off: 0.7, set: 414000, drop: 180000, stiff: 0.1, shift: 24, noise: 4, seed: 1}
}

// file is the collector file that belongs to the rig.
func (g rig) file() *collector.Collector {
	c := collector.New()
	c.Tag = "rig"
	c.Duty.Flow = unit.Flow(g.design)
	c.Filters.Rows, c.Filters.PerRow = g.rows, 1
	c.Filters.AreaEach = unit.Area(g.area / float64(g.rows))
	c.Filters.CleanDP = unit.Pressure(g.clean * g.design / g.area)
	c.Filters.MaxDP = 1500
	c.SetPoints.Low, c.SetPoints.High = unit.Pressure(g.low), unit.Pressure(g.high)
	c.Header.Interval, c.Header.Set = unit.Seconds(g.interval), unit.Pressure(g.set)
	c.Cleaning.Mode = collector.OnDemand
	return c
}

// truth is what really happened.
type truth struct {
	starts  []int64   // cleaning cycles
	after   []float64 // dP at design flow just after each [Pa]
	trigger []float64 // dP when each began [Pa]
	stop    []float64 // dP when each ended [Pa]
	pulses  int
	running float64 // [h]
}

// start is when every rig's record begins.
var start = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

// run runs the rig for hours and reads its instruments every step seconds: dP, flow, header, lowest
// header, pulses, cleaning, running.
func (g rig) run(hours, step float64) (*Series, truth) {
	rnd := rand.New(rand.NewPCG(g.seed, 7))
	tick := min(step, 2.0)
	s := &Series{Source: "rig"}
	for _, c := range []Channel{DP, Flow, Header, HeaderLow, Cleaning, Running, Pulse} {
		s.Col[c] = []float64{}
	}
	cake := make([]float64, g.rows)
	var tr truth
	var cleaning bool
	var next int
	var fireAt, nextRow float64
	head, low := g.set, g.set
	var fired []uint8
	flow := g.design
	for t := 0.0; t < hours*3600; t += tick {
		on := math.Mod(t/3600, 24) < g.shift
		res := g.clean * (1 + g.creep*t/3600)
		conduct := 0.0
		for _, c := range cake {
			conduct += g.area / float64(g.rows) / (res + c)
		}
		dp := 0.0
		if on {
			tr.running += tick / 3600
			for range 3 {
				dp = flow / conduct
				flow = g.design * (1 - g.stiff*(dp-600)/600)
			}
			for i := range cake {
				v := dp / (res + cake[i]) * g.area / g.design
				cake[i] += g.feed * v * tick / 3600
			}
		}
		head += (g.set - head) * (1 - math.Exp(-tick/2.5))
		if on && !cleaning && dp >= g.high {
			cleaning, fireAt = true, t
			tr.starts = append(tr.starts, start.UnixNano()+int64(t*1e9))
			tr.trigger = append(tr.trigger, dp)
		}
		if cleaning && on && t >= fireAt {
			if dp <= g.low {
				cleaning = false
				tr.after, tr.stop = append(tr.after, dp*g.design/flow), append(tr.stop, dp)
			} else {
				if next+1 != g.dead {
					cake[next] *= 1 - g.off
					low = min(low, head-g.drop)
					head -= g.drop
				}
				fired = append(fired, uint8(next+1))
				tr.pulses++
				next = (next + 1) % g.rows
				fireAt = t + g.interval
			}
		}
		low = min(low, head)
		if t >= nextRow {
			nextRow += step
			row := int32(len(s.Time))
			s.Time = append(s.Time, start.UnixNano()+int64(t*1e9))
			put := func(c Channel, x float64) { s.Col[c] = append(s.Col[c], x) }
			put(DP, dp+g.noise*rnd.NormFloat64())
			put(Flow, b2f(on)*flow*(1+0.01*rnd.NormFloat64()))
			put(Header, head+700*rnd.NormFloat64())
			put(HeaderLow, low+700*rnd.NormFloat64())
			put(Cleaning, b2f(cleaning))
			put(Running, b2f(on))
			put(Pulse, float64(len(fired)))
			for _, v := range fired {
				s.Pulses = append(s.Pulses, Firing{Row: row, Valve: v})
			}
			fired, low = fired[:0], head
		}
	}
	return s, tr
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// only returns the series with just the channels named.
func (s *Series) only(keep ...Channel) *Series {
	out := &Series{Time: s.Time, Zone: s.Zone, Source: s.Source}
	for _, c := range keep {
		out.Col[c] = s.Col[c]
		if c == Pulse {
			out.Pulses = s.Pulses
		}
	}
	return out
}

// slice returns rows from..to as a series of its own.
func (s *Series) slice(from, to int) *Series {
	var fire []Firing
	for _, f := range s.Pulses {
		if int(f.Row) >= from && int(f.Row) < to {
			fire = append(fire, f)
		}
	}
	var r Rows
	r.extend(s.Time, &s.Col, span{from, to}, fire)
	return &Series{Time: r.Time, Col: r.Col, Pulses: r.Pulses, Zone: s.Zone, Source: s.Source}
}
