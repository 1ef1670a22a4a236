package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/sense"
	"dustwright/unit"
)

// reservoirNotes are the starts of the recharges that the data's README lists. Source: the README of
// metropt3-excerpt, "Use"; each lasts 99 to 100 s, from about 8.07 to 10.09 bar.
var reservoirNotes = []string{"00:23:17", "00:57:19", "01:30:41", "02:04:23", "02:37:54"}

const bar = 1e5 // [Pa], exact

// readReservoir finds the recharges of the compressor's reservoir.
func (b bench) readReservoir(ctx context.Context) ([]sense.Recharge, error) {
	m, err := feed.LoadMapping(filepath.Join(b.mappings, "metropt3-excerpt.toml"))
	if err != nil {
		return nil, err
	}
	path := filepath.Join(b.data, "metropt3-excerpt", "metropt3_air_compressor_excerpt.csv")
	s, _, err := feed.Read(ctx, []string{path}, feed.Options{Mapping: m})
	if err != nil {
		return nil, err
	}
	c := collector.New()
	c.Tag, c.Duty.Flow = "reservoir", unit.Flow(1)
	r := sense.NewReducer(c)
	r.Add(s)
	return sense.At(r.History(), c, time.Time{}).Recharges, nil
}

// printReservoir prints the recharges beside those noted.
func (b bench) printReservoir(ctx context.Context, w io.Writer) error {
	found, err := b.readReservoir(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintln(w, "Compressor reservoir: recharges")
	fmt.Fprintln(w, "  start      noted      lasts    from        to          fall before it")
	for i, r := range found {
		noted := "not noted"
		if i < len(reservoirNotes) {
			noted = reservoirNotes[i]
		}
		fmt.Fprintf(w, "  %s   %-9s  %3.0f s   %6.3f bar  %6.3f bar  %.3f bar/min over %.0f min\n", r.Since().Format(time.TimeOnly), noted,
			float64(r.End-r.Start)*1e-9, r.Low/bar, r.High/bar, r.Fall*60/bar, r.FallTime/60)
	}
	fmt.Fprintf(w, "  %d found, %d noted\n", len(found), len(reservoirNotes))
	return nil
}
