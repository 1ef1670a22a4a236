package main

import (
	"context"
	"fmt"

	"dustwright/bench/causes/rough"
	"dustwright/bench/causes/sketch"
)

// sources are the simulators a trial can be drawn from.
var sources = map[string]func(context.Context, uint64) (*trial, error){"rehearse": draw, "pairs": drawPair, "sketch": sketched, "rough": roughed}

// sketched draws a trial from the simulator that shares nothing with rehearse.
func sketched(_ context.Context, seed uint64) (*trial, error) {
	s, err := sketch.Draw(seed)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	return &trial{seed: seed, collector: s.Collector, truth: s.Truth, number: s.Number, severity: s.Severity,
		old: s.Old, story: s.Story, series: s.Series, at: s.At}, nil
}

// roughed draws a trial from the simulator that shares nothing with the other two.
func roughed(_ context.Context, seed uint64) (*trial, error) {
	s, err := rough.Draw(seed)
	if err != nil {
		return nil, fmt.Errorf("seed %d: %w", seed, err)
	}
	return &trial{seed: seed, collector: s.Collector, truth: s.Truth, number: s.Number, severity: s.Severity,
		old: s.Old, story: s.Story, series: s.Series, at: s.At}, nil
}
