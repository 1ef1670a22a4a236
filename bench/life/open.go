package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/life"
	"dustwright/sense"
	"dustwright/unit"
)

// week is an operating week [h].
const week = 168

// openRecord is the inlet filter's record as sense and life see it.
type openRecord struct {
	in      life.Input
	weekly  [][]float64 // median of each operating week of each life [Pa]
	history *sense.History
	c       *collector.Collector
}

// readOpen reads the three years through their mapping.
func readOpen(ctx context.Context, data, mappings string) (*openRecord, error) {
	m, err := feed.LoadMapping(filepath.Join(mappings, "gas-turbine-inlet-filter.toml"))
	if err != nil {
		return nil, err
	}
	var paths []string
	for _, year := range []int{2011, 2012, 2013} {
		paths = append(paths, filepath.Join(data, "gas-turbine-inlet-filter", fmt.Sprintf("gt_%d.csv", year)))
	}
	s, _, err := feed.Read(ctx, paths, feed.Options{Mapping: m})
	if err != nil {
		return nil, err
	}
	c := collector.New()
	c.Tag = "inlet filter"
	c.Duty.Flow = 1 // the log's flow index has no unit
	c.Duty.RunPerWeek = week * 3600
	c.Filters.Rows, c.Filters.PerRow, c.Filters.AreaEach = 1, 1, 1
	c.Cleaning.Mode = collector.None
	r := sense.NewReducer(c)
	r.Add(s)
	o := &openRecord{history: r.History(), c: c}
	o.in = life.FromSense(o.history, sense.At(o.history, c, time.Time{}), c)
	for _, l := range o.in.Lives {
		o.weekly = append(o.weekly, weeks(l))
	}
	return o, nil
}

// weeks is the median dP of each operating week of a life.
func weeks(r life.Record) []float64 {
	var out []float64
	for k := 1; ; k++ {
		var v []float64
		for _, p := range r.Points {
			if p.Hours > float64(k-1)*week && p.Hours <= float64(k)*week {
				v = append(v, float64(p.DP))
			}
		}
		if len(v) < 4 {
			return out
		}
		out = append(out, quantile(v, 0.5))
	}
}

// others is which lives a forecast may learn from besides the present one.
type others int

const (
	allOthers others = iota
	earlierOnly
	none
)

func (o others) String() string {
	return [...]string{"all other lives known", "earlier lives known", "no other life known"}[o]
}

// as is the record as it stands after some hours of life k, with the chosen other lives.
func (r *openRecord) as(k int, hours, limit float64, o others) life.Input {
	in := r.in
	in.Lives = nil
	in.MaxDP = unit.Pressure(limit)
	in.Pulsed = false
	in.At = time.Time{}
	for j, l := range r.in.Lives {
		if j != k && (o == allOthers || o == earlierOnly && j < k) {
			l.Ended = true
			l.Points = before(l.Points, r.in.Lives[k].Points[0].At)
			in.Lives = append(in.Lives, l)
		}
	}
	now := r.in.Lives[k]
	now.Ended = false
	at := slices.IndexFunc(now.Points, func(p life.Point) bool { return p.Hours > hours })
	if at < 0 {
		at = len(now.Points)
	}
	now.Points = now.Points[:at]
	in.Lives = append(in.Lives, now)
	if at > 0 {
		last := now.Points[at-1]
		in.At = last.At.Add(time.Duration((hours - last.Hours) * float64(time.Hour)))
	}
	return in
}

// before moves the points of a life to before a time, so that leave-one-out may use later lives.
func before(ps []life.Point, t time.Time) []life.Point {
	out := slices.Clone(ps)
	for i := range out {
		if out[i].At.After(t) {
			out[i].At = t
		}
	}
	return out
}

// printOpen prints the tables of the open record.
func printOpen(ctx context.Context, w io.Writer, data, mappings string) error {
	r, err := readOpen(ctx, data, mappings)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Open record of a static inlet filter: %d lives of", len(r.weekly))
	for _, v := range r.weekly {
		fmt.Fprintf(w, " %d", len(v))
	}
	fmt.Fprintln(w, " operating weeks")
	r.printAhead(w)
	r.printRemaining(w)
	return nil
}

// printAhead prints the forecasts 4 and 8 operating weeks ahead from every week of every life from
// its fourth on; the truth is the median of the week that ends there.
func (r *openRecord) printAhead(w io.Writer) {
	fmt.Fprintln(w, "Reduced dP ahead; error relative to the week's median, mean and median over all forecasts, and the mean over lives of each life's mean")
	type key struct {
		name  string
		weeks int
	}
	errs := map[key][][]float64{}
	var names []string
	add := func(name string, h, k int, e float64) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		q := key{name, h}
		if errs[q] == nil {
			errs[q] = make([][]float64, len(r.weekly))
		}
		errs[q][k] = append(errs[q][k], math.Abs(e))
	}
	inside := map[key]int{}
	for _, h := range []int{4, 8} {
		for k, v := range r.weekly {
			for now := 4; now+h <= len(v); now++ {
				truth := v[now+h-1]
				add("the last week stays", h, k, v[now-1]/truth-1)
				add("line through 4 weeks", h, k, extend(v[now-4:now], h)/truth-1)
				add("line through 8 weeks", h, k, extend(v[max(0, now-8):now], h)/truth-1)
				for _, o := range []others{allOthers, earlierOnly, none} {
					dp, sigma := life.Ahead(r.as(k, float64(now*week), math.NaN(), o), (float64(h)-0.5)*week)
					add("life, "+o.String(), h, k, float64(dp)/truth-1)
					if math.Abs(float64(dp)-truth) < 1.2816*float64(sigma) {
						inside[key{"life, " + o.String(), h}]++
					}
				}
			}
		}
	}
	fmt.Fprintln(w, "                                 4 weeks: mean   median   by life   in 80 %     8 weeks: mean   median   by life   in 80 %")
	for _, name := range names {
		fmt.Fprintf(w, "  %-28s", name)
		for _, h := range []int{4, 8} {
			var all, each []float64
			for _, v := range errs[key{name, h}] {
				all = append(all, v...)
				if len(v) > 0 {
					each = append(each, mean(v))
				}
			}
			cover := "      -"
			if n, ok := inside[key{name, h}]; ok {
				cover = fmt.Sprintf("%5.0f %%", 100*float64(n)/float64(len(all)))
			}
			fmt.Fprintf(w, "   %11.2f %%  %5.2f %%   %5.2f %%   %s  ", 100*mean(all), 100*quantile(all, 0.5), 100*mean(each), cover)
		}
		fmt.Fprintln(w)
	}
}

// extend carries the line through evenly spaced values on by some steps.
func extend(y []float64, ahead int) float64 {
	x := make([]float64, len(y))
	for i := range x {
		x[i] = float64(i)
	}
	a, b := fit(x, y)
	return a + b*float64(len(y)-1+ahead)
}
