package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"sort"
	"sync"
	"time"

	"dustwright/cmd/dustwright/scenario"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/report/text"
	"dustwright/sense"
	"dustwright/unit"
)

// pages takes the plant into the data folder, says how it stands, and serves its pages.
func (d *demoCmd) pages(e *env) error {
	data := filepath.Join(d.Folder, "data")
	p, err := openPlant(e, data, d.system())
	if err != nil {
		return err
	}
	if err := d.settle(e, p); err != nil {
		return errors.Join(err, p.close())
	}
	return errors.Join(p.pages(e, data, &d.httpsFlags), p.close())
}

// settle brings the plant into the books, the collectors side by side. One that has readings already, from an earlier
// start, stays as it is.
func (d *demoCmd) settle(e *env, p *openedPlant) error {
	v, err := p.service.View(e.ctx)
	if err != nil {
		return err
	}
	machines, end := scenario.Plant(), seasonEnd(e.now())
	var missing []scenario.Machine
	for _, m := range machines {
		c, err := m.Collector()
		if err != nil {
			return err
		}
		if o, err := v.Of(c.Tag); err == nil && o.Judgement != nil {
			continue
		}
		if _, err := p.service.Enrol(e.ctx, []byte(m.TOML), demoBy, plant.NewID()); err != nil {
			return err
		}
		fmt.Fprintln(e.stderr, "simulating a season: "+m.Story)
		missing = append(missing, m)
	}
	if err := seasons(e, p, missing, end); err != nil {
		return err
	}
	return d.tell(e, p)
}

// demoBy stands on record for what the demo enters.
const demoBy = "demo"

// seasons simulates a season of each collector, side by side, into the books: what hands did on record, in order of time,
// then the readings, kept and judged.
func seasons(e *env, p *openedPlant, list []scenario.Machine, end time.Time) error {
	results, tags := make([]*rehearse.Result, len(list)), make([]string, len(list))
	var work []plant.Record
	var mu sync.Mutex
	err := each(list, func(i int, m scenario.Machine) error {
		c, err := m.Collector()
		if err != nil {
			return err
		}
		if results[i], err = m.Run(e.ctx, end, nil); err != nil {
			return err
		}
		done, err := workDone(c.Tag, c.Filters.Rows, results[i].Truth.Work)
		tags[i] = c.Tag
		mu.Lock()
		defer mu.Unlock()
		work = append(work, done...)
		return err
	})
	if err != nil {
		return err
	}
	sort.SliceStable(work, func(a, b int) bool { return work[a].At.Before(work[b].At) })
	if _, err := p.service.Accept(e.ctx, work...); err != nil {
		return err
	}
	return each(list, func(i int, _ scenario.Machine) error {
		_, _, err := p.service.Import(e.ctx, tags[i], func(take func(*sense.Series) error) error { return take(seriesOf(tags[i], &results[i].Series)) })
		return err
	})
}

// each works on all machines side by side.
func each(list []scenario.Machine, work func(int, scenario.Machine) error) error {
	errs := make([]error, len(list))
	var group sync.WaitGroup
	for i, m := range list {
		group.Go(func() { errs[i] = work(i, m) })
	}
	group.Wait()
	return errors.Join(errs...)
}

// seriesOf is a simulated log as readings.
func seriesOf(tag string, in *rehearse.Series) *sense.Series {
	out := &sense.Series{Time: in.Time, Zone: in.Zone, Col: in.Col, Source: tag}
	for _, f := range in.Pulses {
		out.Pulses = append(out.Pulses, sense.Firing(f))
	}
	return out
}

// workDone makes records of what hands did in a simulated season.
func workDone(tag string, rows int, list []rehearse.Work) ([]plant.Record, error) {
	var out []plant.Record
	damper := unit.Share(-1) // not known before it was first moved
	for _, w := range list {
		var body plant.Body
		switch w.What {
		case rehearse.EmptyBin:
			body = plant.BinEmptied{}
		case rehearse.ChangeFilters:
			change := plant.FilterChange{Reason: "end of life"}
			for row := range rows {
				change.Rows = append(change.Rows, plant.RowChange{Row: row + 1})
			}
			body = change
		case rehearse.MoveDamper:
			from := damper
			damper = w.Value
			if slices.ContainsFunc(list, func(o rehearse.Work) bool { return o.What == rehearse.ChangeFilters && o.At.Equal(w.At) }) {
				continue // the trim to new filters goes without saying
			}
			body = plant.DamperMove{From: from, To: w.Value, Why: "trimmed to design flow"}
		default:
			continue
		}
		r, err := plant.NewRecord(body, tag, demoBy)
		if err != nil {
			return nil, err
		}
		r.ID, r.At = fmt.Sprintf("demo-%s-%s-%d", tag, w.What, w.At.Unix()), w.At // the same at another start: kept once
		out = append(out, r)
	}
	return out, nil
}

// tell prints how the plant stands, worst first.
func (d *demoCmd) tell(e *env, p *openedPlant) error {
	v, err := p.service.View(e.ctx)
	if err != nil {
		return err
	}
	var list []*plant.Judgement
	for _, o := range v.List {
		if o.Judgement != nil {
			list = append(list, o.Judgement)
		}
	}
	return e.emit(d.output, list, func(w io.Writer, sys unit.System) error {
		if err := text.Plant(w, sys, list); err != nil {
			return err
		}
		_, err := fmt.Fprintf(w, "\nThe plant is invented and kept in %s; delete that folder and the next demo starts afresh.\n", filepath.Join(d.Folder, "data"))
		return err
	})
}
