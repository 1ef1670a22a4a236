package fold

import (
	"fmt"
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// How a trouble comes.
const (
	sudden = iota
	creeping
	fitful // comes and goes
)

// way is one physical way to a trouble.
type way struct {
	cause, name string
	comes       int
	leastOld    float64 // days it takes at least
	leastSevere float64 // where it has no mild form
	demand      bool    // only where cleaning goes by the pressure difference
	manual      bool    // only where nothing holds the airflow by itself
	bin         bool    // the bin itself is what is full
	turn        func(s *sim, f *fault, x, t float64)
}

// fault is the trouble of one machine.
type fault struct {
	way       *way
	number    int
	severity  float64
	onset     float64 // [s]
	fromStart bool
	end       float64
	seed      uint64
	bend      float64 // how a creeping one grows
	twist     float64 // 0 to 1: what else differs from one case to the next
	goTo      float64 // damper position it ends at
}

// drawFault draws a way to a trouble, how severe it is, and since when.
func drawFault(g *rand.Rand, r *run, o order) (*fault, error) {
	f := &fault{severity: between(g, leastSevere, 1), end: r.cal.end, seed: g.Uint64(), bend: between(g, 0.6, 1.6), twist: g.Float64()}
	if o.severity > 0 {
		f.severity = o.severity
	}
	f.fromStart = happens(g, shareFromStart)
	least := leastOld
	if o.cause == string(judge.FiltersBlinded) {
		least = 4
	}
	most := math.Min(mostOld, 0.8*r.days)
	old := scaled(g, least, most)
	var can []*way
	for i := range ways {
		w := &ways[i]
		if w.cause == o.cause && f.severity >= w.leastSevere && (!w.demand || r.m.timer.mode == "on-demand") && (!w.manual || r.m.holds == byHand) {
			can = append(can, w)
		}
	}
	if len(can) == 0 {
		return nil, fmt.Errorf("no way to %s on this machine", o.cause)
	}
	f.way = can[g.IntN(len(can))]
	if old < f.way.leastOld {
		old = scaled(g, f.way.leastOld, math.Max(most, 1.2*f.way.leastOld))
	}
	f.onset = r.cal.end - old*day
	if f.fromStart {
		f.onset = 0
	} else if r.cal.running(f.onset, r.cal.end) < leastHoursAfterOnset {
		return nil, fmt.Errorf("it hardly runs after the onset")
	}
	if numbered(o.cause) {
		f.number = 1 + g.IntN(r.m.rows)
	}
	if f.way.bin { // the bin has to get full in the time there is
		if most := 0.45 * (r.cal.end - f.onset) / day; r.m.bin.days > most {
			r.m.bin.days = most * between(g, 0.5, 1)
			r.m.fitBin(g, r.cal.meanLoad)
		}
	}
	switch o.cause {
	case string(judge.AirflowHigh):
		f.goTo = r.m.openFor(1.03 + 0.28*f.severity)
	case string(judge.AirflowLow):
		f.goTo = r.m.openFor(0.97 - 0.41*f.severity)
	}
	return f, nil
}

// openFor is the damper position for a share of design flow at usual filters.
func (m *mill) openFor(share float64) float64 {
	return m.opening(m.flow*share, share*m.usual())
}

// now is how strong the trouble is at a time, 0 to its severity.
func (f *fault) now(t float64) float64 {
	if f.fromStart {
		if f.way.comes == creeping {
			return f.severity * math.Min(1, 0.7+0.3*t/f.end)
		}
	} else if t < f.onset {
		return 0
	}
	switch f.way.comes {
	case creeping:
		return f.severity * (0.1 + 0.9*math.Pow(clamp((t-f.onset)/(f.end-f.onset), 0, 1), f.bend))
	case fitful:
		block := 1200 + 9000*f.twist
		if dice(f.seed, 81, int64(math.Floor(t/block))) > 0.45+0.5*f.severity && f.end-t > block {
			return 0
		}
	}
	return f.severity
}

// turn lets the trouble work on a machine.
func (f *fault) turn(s *sim, t float64) {
	if x := f.now(t); x > 0 {
		f.way.turn(s, f, x, t)
	}
}

// row is the row or valve meant, from 0.
func (f *fault) row() int { return f.number - 1 }
