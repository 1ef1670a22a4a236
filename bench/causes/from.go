package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"dustwright/bench/causes/carve"
	"dustwright/bench/causes/chalk"
	"dustwright/bench/causes/draft"
	"dustwright/bench/causes/etch"
	"dustwright/bench/causes/fold"
	"dustwright/bench/causes/ink"
	"dustwright/bench/causes/made"
	"dustwright/bench/causes/outline"
	"dustwright/bench/causes/pastel"
	"dustwright/bench/causes/quill"
	"dustwright/bench/causes/rough"
	"dustwright/bench/causes/sketch"
	"dustwright/bench/causes/slate"
	"dustwright/bench/causes/stencil"
	"dustwright/bench/causes/tint"
	"dustwright/bench/causes/wash"
)

// sources are the simulators a trial can be drawn from.
var sources = map[string]func(context.Context, uint64) (*trial, error){
	"rehearse": draw, "pairs": drawPair, "sketch": simulated(sketch.Draw), "rough": simulated(rough.Draw),
	"outline": simulated(outline.Draw), "fold": simulated(fold.Draw), "draft": simulated(draft.Draw), "stencil": simulated(stencil.Draw),
	"carve": simulated(carve.Draw), "etch": simulated(etch.Draw), "chalk": simulated(chalk.Draw), "slate": simulated(slate.Draw), "quill": simulated(quill.Draw),
	"pastel": simulated(pastel.Draw), "tint": simulated(tint.Draw), "ink": simulated(ink.Draw), "wash": simulated(wash.Draw)}

// simulators lists the names of sources.
func simulators() string { return strings.Join(slices.Sorted(maps.Keys(sources)), ", ") }

// simulated takes trials from a simulator that shares nothing with rehearse.
func simulated(draw func(seed uint64) (*made.Trial, error)) func(context.Context, uint64) (*trial, error) {
	return func(_ context.Context, seed uint64) (*trial, error) {
		s, err := draw(seed)
		if err != nil {
			return nil, fmt.Errorf("seed %d: %w", seed, err)
		}
		return &trial{seed: seed, collector: s.Collector, truth: s.Truth, number: s.Number, severity: s.Severity,
			old: s.Old, story: s.Story, series: s.Series, at: s.At}, nil
	}
}
