package main

import (
	"context"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"dustwright/plant"
	"dustwright/sense"
	"dustwright/store"
)

// meter is a store that counts what is read back, and that knows no conclusion from before this run, so that a kept
// folder is judged from its readings.
type meter struct {
	*store.Store
	rows, readings atomic.Int64
	concluded      sync.Map // tags concluded in this run
}

func (m *meter) reset() {
	m.rows.Store(0)
	m.readings.Store(0)
}

// Replay counts rows and the values in them.
func (m *meter) Replay(ctx context.Context, tag string, from, to time.Time, use func(*sense.Series) error) error {
	return m.Store.Replay(ctx, tag, from, to, func(series *sense.Series) error {
		n := len(series.Pulses)
		for _, col := range series.Col {
			for _, v := range col {
				if !math.IsNaN(v) {
					n++
				}
			}
		}
		m.rows.Add(int64(series.Len()))
		m.readings.Add(int64(n))
		return use(series)
	})
}

func (m *meter) Conclusion(ctx context.Context, tag string) (plant.Conclusion, error) {
	if _, ok := m.concluded.Load(tag); !ok {
		return plant.Conclusion{}, nil
	}
	return m.Store.Conclusion(ctx, tag)
}

func (m *meter) PutConclusion(ctx context.Context, tag string, c plant.Conclusion) error {
	if err := m.Store.PutConclusion(ctx, tag, c); err != nil {
		return err
	}
	m.concluded.Store(tag, true)
	return nil
}
