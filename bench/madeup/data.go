package madeup

import (
	"context"
	"errors"
	"os"
	"runtime/pprof"

	"dustwright/store"
)

// Data opens a data folder to keep and use again, or a temporary one where dir is empty. done closes it and removes a
// temporary one.
func Data(ctx context.Context, dir string) (s *store.Store, done func() error, err error) {
	temporary := dir == ""
	if temporary {
		if dir, err = os.MkdirTemp("", "madeup"); err != nil {
			return nil, nil, err
		}
	}
	clear := func() {
		if temporary {
			_ = os.RemoveAll(dir) // a leftover temporary folder hurts nobody
		}
	}
	if s, err = store.Open(ctx, dir); err != nil {
		clear()
		return nil, nil, err
	}
	return s, func() error { defer clear(); return s.Close() }, nil
}

// Profile writes a profile of the processor's time to a file until stop is called; an empty path writes none.
func Profile(path string) (stop func(), err error) {
	if path == "" {
		return func() {}, nil
	}
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	if err := pprof.StartCPUProfile(f); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return func() { pprof.StopCPUProfile(); _ = f.Close() }, nil // a profile cut short shows when it is read
}
