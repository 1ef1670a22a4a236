package main

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/unit/unittest"
)

func open(t *testing.T) bench {
	t.Helper()
	unittest.SharedData(t, "gas-turbine-inlet-filter/gt_2011.csv")
	root := unittest.Root(t)
	return bench{data: root + "/../shared/data", mappings: root + "/feed/testdata"}
}

// The notes give rows by eye; a renewal found within a day of running is the same one.
func TestInletRenewalsAreTheFourNoted(t *testing.T) {
	in, err := open(t).readInlet(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if len(in.places) != len(inletNotes) {
		t.Fatalf("renewals at %v, noted %v", in.places, inletNotes)
	}
	for i, p := range in.places {
		if p.year != inletNotes[i].year || abs(p.row-inletNotes[i].row) > 24 {
			t.Errorf("renewal %d at %v, noted at %v", i+1, p, inletNotes[i])
		}
	}
	if n := len(in.features.Lives); n != 5 {
		t.Errorf("%d lives, want 5: before the first renewal, between them, after the last", n)
	}
}

func TestReservoirRechargesAreTheFiveNoted(t *testing.T) {
	found, err := open(t).readReservoir(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != len(reservoirNotes) {
		t.Fatalf("%d recharges, noted %d", len(found), len(reservoirNotes))
	}
	for i, r := range found {
		if got := r.Since().Format(time.TimeOnly); got != reservoirNotes[i] {
			t.Errorf("recharge %d starts %s, noted %s", i+1, got, reservoirNotes[i])
		}
		if d := float64(r.End-r.Start) * 1e-9; d < 98 || d > 101 {
			t.Errorf("recharge %d lasts %.0f s, noted 99 to 100 s", i+1, d)
		}
		if math.Abs(r.Low-8.07*bar) > 0.03*bar || math.Abs(r.High-10.09*bar) > 0.03*bar {
			t.Errorf("recharge %d from %.3f to %.3f bar, noted about 8.07 to 10.09", i+1, r.Low/bar, r.High/bar)
		}
	}
}

func TestPrintsBothParts(t *testing.T) {
	b := open(t)
	var out, errs bytes.Buffer
	if code := run(context.Background(), []string{"-data", b.data, "-forecasts=false"}, &out, &errs); code != 0 {
		t.Fatalf("exit %d: %s", code, errs.String())
	}
	for _, want := range []string{"4 found, 4 noted", "5 found, 5 noted"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("output lacks %q:\n%s", want, out.String())
		}
	}
}

func TestNoDataIsOneSentence(t *testing.T) {
	var out, errs bytes.Buffer
	if code := run(context.Background(), []string{"-data", t.TempDir()}, &out, &errs); code != 2 {
		t.Errorf("exit %d, want 2", code)
	}
	if errs.Len() == 0 {
		t.Error("nothing said")
	}
}
