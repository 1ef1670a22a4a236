package store

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"dustwright/plant"
)

// A plant opened for reading, at rest or beside a writer, gives what is kept and takes nothing; what the writer keeps
// shows at once.
func TestOpenReadOnlyReadsAndKeepsNothing(t *testing.T) {
	ctx := context.Background()
	for _, inUse := range []bool{false, true} {
		dir := t.TempDir()
		w, err := Open(ctx, dir)
		if err != nil {
			t.Fatal(err)
		}
		put(t, w, "DC-1")
		if _, err := w.AddSeries(ctx, "DC-1", minuteLog(time.Unix(0, 0), 100)); err != nil {
			t.Fatal(err)
		}
		if !inUse {
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
		}
		r, err := OpenReadOnly(ctx, dir)
		if err != nil {
			t.Fatal(err)
		}
		m, err := r.Collector(ctx, "DC-1")
		if err != nil || m.Tag != "DC-1" {
			t.Errorf("in use %v: %+v %v", inUse, m, err)
		}
		if s, err := r.Series(ctx, "DC-1", time.Time{}, time.Time{}); err != nil || s.Len() != 100 {
			t.Errorf("in use %v: %v", inUse, err)
		}
		if err := r.PutCollector(ctx, plant.Machine{Tag: "DC-2"}); !errors.Is(err, errReadOnly) {
			t.Errorf("in use %v: a collector was put: %v", inUse, err)
		}
		if _, err := r.PutBlob(ctx, strings.NewReader("a photo")); !errors.Is(err, errReadOnly) {
			t.Errorf("in use %v: a photo was put: %v", inUse, err)
		}
		if inUse {
			put(t, w, "DC-1", "DC-2")
			if _, err := r.Collector(ctx, "DC-2"); err != nil {
				t.Error(err)
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
		}
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	}
}

// A plant that nobody had open when it was opened for reading, and that was written to before it was closed, is told.
func TestOpenReadOnlyTellsWhatWasWrittenMeanwhile(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	w, err := Open(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := OpenReadOnly(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	w, err = Open(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	put(t, w, "DC-2", "DC-3")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err == nil || !strings.Contains(err.Error(), "run the same command again") {
		t.Errorf("closed with %v", err)
	}
	if _, err := OpenReadOnly(ctx, t.TempDir()); err == nil || !strings.Contains(err.Error(), "there is no plant in") {
		t.Errorf("an empty folder opens with %v", err)
	}
}
