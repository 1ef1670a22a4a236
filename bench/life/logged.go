package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/bench/life/wear"
	"dustwright/bench/machines"
	"dustwright/collector"
	"dustwright/life"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/unit"
)

// logged is a whole life of filters as the log of a plant shows it, with its true end.
type logged struct {
	c          *collector.Collector
	series     *sense.Series
	noted      []time.Time // changes of filters that somebody wrote down
	start, end time.Time   // of the last set of filters
	limit      life.Limit  // that bound first
}

// shown is a life as one plant's instruments show it.
type shown struct {
	name string
	of   func(*logged) *sense.Series
}

// plants are how a rehearsed machine is watched.
var plants = []shown{
	{"all channels", func(l *logged) *sense.Series { return l.series }},
	{"dP only", func(l *logged) *sense.Series {
		out := &sense.Series{Time: l.series.Time, Zone: l.series.Zone, Source: l.series.Source}
		out.Col[sense.DP] = l.series.Col[sense.DP]
		return out
	}},
	{"one hand reading a day", func(l *logged) *sense.Series { return machines.ByHand(l.series) }},
}

// longestLife is how long a rehearsed machine runs at most until a limit binds, and shortestLife what is too short to be watched.
const longestLife, shortestLife = 6 * 366 * 24 * time.Hour, 20 * 24 * time.Hour

// errEndless says that no limit bound.
var errEndless = errors.New("no limit bound in time")

// rehearsed runs a machine of package rehearse from new filters to its first limit. Half of the machines have their damper
// looked at once in four weeks, half never; two in three have no after-filter.
func rehearsed(ctx context.Context, seed uint64) (*logged, error) {
	r := rand.New(rand.NewPCG(seed, 77))
	c, err := machines.Draw(r)
	if err != nil {
		return nil, err
	}
	o := rehearse.NewOptions(c)
	o.Seed, o.Spread, o.Sample, o.Length, o.Horizon = seed, 1, 0, 0, longestLife
	o.Instruments, o.Channels = machines.Instruments(r, c), rehearse.AllChannels()
	sample := []time.Duration{time.Minute, 2 * time.Minute, 5 * time.Minute, 10 * time.Minute, 15 * time.Minute}[r.IntN(5)]
	if r.IntN(2) == 0 {
		o.TrimEvery = 0
	}
	if nan := unit.Pressure(math.NaN()); r.IntN(3) > 0 {
		c.AfterFilter = collector.AfterFilter{CleanDP: nan, MaxDP: nan}
	}
	whole, err := rehearse.Run(ctx, c, o)
	if err != nil {
		return nil, err
	}
	if math.IsNaN(float64(whole.Summary.LifeDays)) {
		return nil, errEndless
	}
	lasts := time.Duration(float64(whole.Summary.LifeDays) * 24 * float64(time.Hour))
	if lasts < shortestLife {
		return nil, errEndless
	}
	if lasts > 500*24*time.Hour {
		sample = max(sample, 5*time.Minute)
	}
	o.Length, o.Horizon, o.Sample, o.Keep = lasts, 0, sample, true
	seen, err := rehearse.Run(ctx, c, o)
	if err != nil {
		return nil, err
	}
	return &logged{c: c, series: machines.Series(&seen.Series), start: o.Start, end: o.Start.Add(lasts), limit: life.Limit(whole.Summary.Limit)}, nil
}

// worn is a life by laws that the package under test shares nothing with.
func worn(_ context.Context, seed uint64) (*logged, error) {
	h, err := wear.Draw(seed)
	if err != nil {
		return nil, err
	}
	return &logged{c: h.Collector, series: h.Series, noted: h.Noted, start: h.Start, end: h.End, limit: life.Limit(h.Limit)}, nil
}

// named is a forecast against the truth, with the limit that bound.
type named struct {
	hit
	limit life.Limit
	right bool // the limit named is the one that bound
}

// foretold forecasts one life, as it is shown, at every phase.
func (l *logged) foretold(s *sense.Series) []named {
	red := sense.NewReducer(l.c)
	red.Add(s)
	h := red.History()
	for _, at := range l.noted {
		h.Note(sense.Change{At: at, From: at, To: at, Kind: sense.FilterChange, Confidence: 1, Logged: true})
	}
	out := make([]named, len(phases))
	for k, share := range phases {
		lasts := l.end.Sub(l.start)
		at := l.start.Add(time.Duration(share * float64(lasts)))
		in := life.FromSense(h, sense.At(h, l.c, at), l.c)
		r := life.Forecast(in)
		out[k].limit = l.limit
		if !r.Known {
			out[k].off = math.NaN()
			continue
		}
		left := (1 - share) * float64(lasts)
		until := func(t time.Time) float64 { // beyond three years counts as three years
			if t.IsZero() {
				return 3 * 365.25 * 24 * float64(time.Hour)
			}
			return math.Max(float64(t.Sub(at)), float64(time.Hour))
		}
		p10, p50, p90 := until(r.P10), until(r.P50), until(r.P90)
		ps := in.Lives[len(in.Lives)-1].Points
		out[k].hit = hit{off: p50/left - 1, early: left < p10, late: left > p90 && !r.P90.IsZero(), width: p90 / p10, line: math.NaN()}
		if n := len(ps); n > 3 {
			perHour := float64(at.Sub(l.start)) / ps[n-1].Hours
			out[k].line = lineLeft(ps, float64(in.MaxDP), ps[n-1].Hours)*perHour/left - 1
		}
		out[k].right = r.Limit == l.limit
	}
	return out
}

// printLogged prints how well whole lives are foretold from their logs.
func printLogged(ctx context.Context, w io.Writer, n int, seed uint64) {
	fmt.Fprintf(w, "Whole lives as plants log them, from new filters to the first limit, %d of each from seed %d: through the log's reduction, as a judgement foretells\n", n, seed)
	fmt.Fprintln(w, hitsHead)
	for i, hits := range foretoldAll(ctx, n, seed, rehearsed, plants) {
		printFamily(w, "rehearsed machines, "+plants[i].name, hits)
	}
	logs := []shown{{"whatever the plant has", func(l *logged) *sense.Series { return l.series }}}
	for i, hits := range foretoldAll(ctx, n, seed, worn, logs) {
		printFamily(w, "filters worn by other laws, "+logs[i].name, hits)
	}
	fmt.Fprintln(w)
}

// foretoldAll draws lives and foretells each as every plant shows it; a log is let go before the next comes. Lives of no use are
// left out.
func foretoldAll(ctx context.Context, n int, seed uint64, draw func(context.Context, uint64) (*logged, error), by []shown) [][][]named {
	out := make([][][]named, len(by))
	for i := range out {
		out[i] = make([][]named, n)
	}
	each(n, func(k int) {
		l, err := draw(ctx, seed+uint64(k))
		for i := range by {
			if err == nil {
				out[i][k] = l.foretold(by[i].of(l))
			}
		}
	})
	for i := range out {
		out[i] = slices.DeleteFunc(out[i], func(h []named) bool { return h == nil })
	}
	return out
}

// printFamily prints a row for each phase, and one for each limit that bound, over all phases.
func printFamily(w io.Writer, name string, hits [][]named) {
	fmt.Fprintln(w, name)
	byLimit, right := map[life.Limit][]hit{}, 0
	for k := range phases {
		var at []hit
		for _, h := range hits {
			if math.IsNaN(h[k].off) {
				continue
			}
			at = append(at, h[k].hit)
			byLimit[h[k].limit] = append(byLimit[h[k].limit], h[k].hit)
			if h[k].right {
				right++
			}
		}
		printHits(w, fmt.Sprintf("%.0f %%", 100*phases[k]), at)
	}
	var all int
	for _, limit := range []life.Limit{life.ByDP, life.ByFlow, life.ByAfterfilter, life.ByAir} {
		if at := byLimit[limit]; len(at) > 0 {
			printHits(w, "by "+string(limit), at)
			all += len(at)
		}
	}
	fmt.Fprintf(w, "  the limit that bound was named first in %.0f %%\n", 100*float64(right)/float64(all))
}
