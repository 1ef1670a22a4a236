package lifetest

import (
	"math"
	"time"

	"dustwright/life"
	"dustwright/unit"
)

// birth is when every invented life begins; the clock runs on while the machine does.
var birth = time.Date(2026, 1, 5, 6, 0, 0, 0, time.UTC)

// Input is the case as it stands when the given share of the present life has passed. The machine
// runs without a stop, so that hours and clock agree.
func (c Case) Input(share float64) life.Input {
	in := life.Input{
		At:      birth.Add(hours(share * c.Life.End)),
		Pulsed:  c.Pulsed,
		CleanDP: unit.Pressure(c.Life.Clean), MaxDP: unit.Pressure(c.Life.Limit), FlowLimit: unit.Pressure(math.NaN()),
		HoursPerWeek: 168,
		Air:          life.Gauge{Limit: math.NaN()}, Afterfilter: life.Gauge{Limit: math.NaN()},
	}
	for i, e := range c.Earlier {
		start := birth.Add(-hours(float64(len(c.Earlier)-i) * 1.5 * c.Life.End))
		in.Lives = append(in.Lives, e.record(start, math.Inf(1), true))
	}
	in.Lives = append(in.Lives, c.Life.record(birth, share*c.Life.End, false))
	return in
}

// Left is the true running hours to the limit when that share has passed.
func (c Case) Left(share float64) float64 { return (1 - share) * c.Life.End }

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// record is the life up to some running hours.
func (l Life) record(start time.Time, until float64, ended bool) life.Record {
	r := life.Record{StartKnown: true, Ended: ended}
	for _, p := range l.Points {
		if p.Hours > until {
			break
		}
		at := start.Add(hours(p.Hours))
		if ended && at.After(birth) {
			at = birth
		}
		r.Points = append(r.Points, life.Point{At: at, Hours: p.Hours, DP: unit.Pressure(p.DP), Sigma: unit.Pressure(math.NaN()), Dust: p.Dust})
	}
	return r
}
