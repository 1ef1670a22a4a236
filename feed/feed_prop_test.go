package feed

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dustwright/sense"
	"dustwright/unit"
)

// drawSeries makes a series with some channels, gaps and firings, all readings within limits.
func drawSeries(t *rapid.T) *sense.Series {
	n := rapid.IntRange(1, 40).Draw(t, "rows")
	s := &sense.Series{Zone: time.FixedZone("", rapid.IntRange(-12, 14).Draw(t, "zone")*3600)}
	at := rapid.Int64Range(time.Date(1991, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano(), time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC).UnixNano()).Draw(t, "start")
	for range n {
		s.Time = append(s.Time, at)
		at += rapid.Int64Range(1, 3*day).Draw(t, "step")
	}
	for c := range sense.NumChannels {
		if c != sense.DP && !rapid.Bool().Draw(t, "has "+c.String()) {
			continue
		}
		r := rules[c]
		s.Col[c] = make([]float64, n)
		for i := range n {
			low, high := max(r.low, -1e6), min(r.high, 1e6)
			margin := 1e-8 * (math.Abs(low) + math.Abs(high))
			v := rapid.Float64Range(low+margin, high-margin).Draw(t, "value")
			if r.content == state {
				v = float64(rapid.IntRange(0, 1).Draw(t, "state"))
			}
			if c == sense.Pulse {
				v = 0
				for range rapid.IntRange(0, 3).Draw(t, "fired") {
					s.Pulses = append(s.Pulses, sense.Firing{Row: int32(i), Valve: uint8(rapid.IntRange(1, 255).Draw(t, "valve"))})
					v++
				}
			}
			if rapid.IntRange(0, 9).Draw(t, "gap") == 0 && (c != sense.Pulse || v == 0) {
				v = math.NaN()
			}
			s.Col[c][i] = v
		}
	}
	return s
}

// TestWriteRead: a written log gives its series back, in either system of units; written again it is
// the same file.
func TestWriteRead(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		want := drawSeries(t)
		sys := rapid.SampledFrom([]unit.System{unit.US, unit.SI}).Draw(t, "system")
		var first, second bytes.Buffer
		if err := WriteCSV(&first, want, sys); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, "log.csv")
		if err := os.WriteFile(path, first.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		got, report, err := Read(context.Background(), []string{path}, Options{})
		if err != nil || report.FaultCount > 0 {
			t.Fatalf("%v, %v in\n%s", err, report.Sentences(9), first.String())
		}
		if !slices.Equal(got.Time, want.Time) || !slices.Equal(got.Pulses, want.Pulses) {
			t.Fatalf("times or firings differ in\n%s", first.String())
		}
		for c := range sense.NumChannels {
			for i := range want.Col[c] {
				g, w := got.At(c, i), want.Col[c][i]
				if math.IsNaN(g) != math.IsNaN(w) || math.Abs(g-w) > 1e-8*math.Abs(w)+1e-6 {
					t.Fatalf("%s in row %d: got %v, want %v", c, i, g, w)
				}
			}
		}
		if err := WriteCSV(&second, got, sys); err != nil {
			t.Fatal(err)
		}
		if got.Zone.String() == want.Zone.String() && !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatalf("written again it is another file:\n%s\n%s", first.String(), second.String())
		}
	})
}

// TestBlocks: where the blocks of a file happen to end and how many goroutines parse them changes
// nothing, not even the line numbers of faults.
func TestBlocks(t *testing.T) {
	text := contractText(t)
	text += "2026-06-12T10:31:00-06:00,1,1,\"4\n03\",\"59,6\",33.8,\"1 2 3\",15.3,-3.38,52,79.0,55\r\n# note\n\n" + text
	text += "2026-06-12T10:35:00-06:00,x,1,4.0\n2026-06-12T10:36:00-06:00,1,1,4.0"
	path := write(t, "log.csv", text)
	want, wantReport, err := Read(context.Background(), []string{path}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for size := 200; size < len(text)+10; size += 7 {
		got, report, err := Read(context.Background(), []string{path}, Options{MaxLine: size, Workers: 1 + size%3})
		if err != nil {
			t.Fatalf("blocks of %d: %v", size, err)
		}
		sameRows(t, got, want, 0)
		if !slices.Equal(report.Faults, wantReport.Faults) {
			t.Fatalf("blocks of %d: faults %v, want %v", size, report.Faults, wantReport.Faults)
		}
	}
}

// TestPlainNumber: the fast reading of a number is the exact one wherever it gives one.
func TestPlainNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`-?[0-9]{0,12}(\.[0-9]{0,12})?`).Draw(t, "number")
		got, next := plainNumber([]byte(text+","), 0, ',', '.')
		want, err := strconv.ParseFloat(text, 64)
		if next < 0 {
			return // the slow way takes it
		}
		if err != nil || got != want || next != len(text) {
			t.Fatalf("%q: got %v at %d, want %v (%v)", text, got, next, want, err)
		}
	})
}

func TestSlowNumber(t *testing.T) {
	cases := []struct {
		cell  string
		point byte
		want  float64
		ok    bool
	}{
		{"1,234.5", '.', 1234.5, true}, {"1.234,5", ',', 1234.5, true}, {"1 234,5", ',', 1234.5, true}, {"12,345,678", '.', 12345678, true},
		{"1,5", '.', 0, false}, {"0,123", '.', 0, false}, {"0.123", ',', 0.123, true}, {"1.5", ',', 1.5, true}, {"1'234.5", '.', 1234.5, true},
		{"1e3", '.', 1000, true}, {"1,2e3", ',', 1200, true}, {"+0.5", '.', 0.5, true}, {"\u22120.5", '.', -0.5, true}, {".5", '.', 0.5, true}, {"5.", '.', 5, true},
		{"12345678901234567890123", '.', 12345678901234567890123, true}, {"0.1234567890123456789", '.', 0.1234567890123456789, true},
		{"inf", '.', 0, false}, {"0x10", '.', 0, false}, {"1_000", '.', 0, false}, {"1e999", '.', 0, false}, {"--1", '.', 0, false}, {"1-2", '.', 0, false}, {"e", '.', 0, false},
	}
	for _, c := range cases {
		if got, ok := slowNumber([]byte(c.cell), c.point); got != c.want && c.ok || ok != c.ok {
			t.Errorf("%q with %c: got %v %v, want %v %v", c.cell, c.point, got, ok, c.want, c.ok)
		}
	}
}

// TestTimeOrder: rows are sorted by time and rows of the same time keep their order.
func TestTimeOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOf(rapid.Int64Range(0, 30)).Draw(t, "times")
		for range rapid.IntRange(0, 3).Draw(t, "runs") { // stretches in order, as overlapping files have them
			times = append(times, slices.Sorted(slices.Values(rapid.SliceOf(rapid.Int64Range(0, 99)).Draw(t, "run")))...)
		}
		order := timeOrder(times)
		for k := 1; k < len(order); k++ {
			a, b := order[k-1], order[k]
			if times[a] > times[b] || times[a] == times[b] && a >= b {
				t.Fatalf("%v sorted as %v", times, order)
			}
		}
		if len(order) != len(times) {
			t.Fatalf("%d of %d rows", len(order), len(times))
		}
	})
}
