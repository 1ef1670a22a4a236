package made

import (
	"math"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// What can't be in a log is told, and a whole one passes.
func TestCheck(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*sense.Series)
		says  string
	}{
		"whole":         {func(*sense.Series) {}, ""},
		"not read":      {func(s *sense.Series) { s.Col[sense.DP][1] = math.NaN() }, ""},
		"short":         {func(s *sense.Series) { s.Col[sense.DP] = s.Col[sense.DP][:1] }, "1 rows of 2"},
		"out of bounds": {func(s *sense.Series) { s.Col[sense.DP][1] = 9000 }, "9000 in row 1"},
		"no valve":      {func(s *sense.Series) { s.Pulses[0].Valve = 0 }, "valve 0"},
		"too high":      {func(s *sense.Series) { s.Pulses[1].Valve = 5 }, "valve 5"},
		"no row":        {func(s *sense.Series) { s.Pulses[1].Row = 2 }, "in row 2"},
		"out of order":  {func(s *sense.Series) { s.Pulses[0].Row, s.Pulses[1].Row = 1, 0 }, "in row 0"},
	} {
		s := &sense.Series{Time: []int64{0, 60e9}, Pulses: []sense.Firing{{Row: 0, Valve: 1}, {Row: 1, Valve: 4}}}
		s.Col[sense.DP] = []float64{500, 510}
		c.spoil(s)
		tr := Trial{Collector: &collector.Collector{Filters: collector.Filters{Rows: 4}}, Series: s}
		err := tr.Check(map[sense.Channel][2]float64{sense.DP: {0, 4000}})
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

// A draw that follows from its seed passes; one that changes in anything is told, with what, and so is one that no seed changes.
func TestTwice(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Trial)
		says  string
	}{
		"the same": {func(*Trial) {}, ""},
		"truth":    {func(t *Trial) { t.Old = 3 }, "truth"},
		"file":     {func(t *Trial) { t.Collector.Filters.Rows = 5 }, "file"},
		"time":     {func(t *Trial) { t.Series.Time[1]++ }, "times"},
		"pulse":    {func(t *Trial) { t.Series.Pulses[0].Valve = 2 }, "valves"},
		"reading":  {func(t *Trial) { t.Series.Col[sense.DP][0] = 501 }, "dp reads"},
		"seed":     {func(*Trial) {}, "7 and 8"},
	} {
		drawn := 0
		draw := func(seed uint64) (*Trial, error) {
			drawn++
			s := &sense.Series{Time: []int64{0, 60e9}, Pulses: []sense.Firing{{Row: 0, Valve: 1}}}
			s.Col[sense.DP] = []float64{500, math.NaN()}
			tr := &Trial{Collector: &collector.Collector{Filters: collector.Filters{Rows: 4}}, Series: s}
			if name != "seed" {
				tr.Severity = float64(seed)
			}
			if drawn == 2 {
				c.spoil(tr)
			}
			return tr, nil
		}
		err := Twice(draw, 7)
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

// A flaw of the file, another truth than was drawn, a record too long and rows out of order are told, a whole trial is not.
func TestWhole(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*Trial)
		says  string
	}{
		"whole":     {func(*Trial) {}, ""},
		"file":      {func(t *Trial) { t.Collector.SetPoints.Low = 2 * t.Collector.SetPoints.High }, "setpoints.high"},
		"flaw":      {func(t *Trial) { t.Collector.Filters.CleanDP = t.Collector.SetPoints.Low }, "low-below-clean"},
		"truth":     {func(t *Trial) { t.Truth = string(judge.FanWeak) }, "fan-weak, valve 2"},
		"no number": {func(t *Trial) { t.Number = 0 }, "valve-dead, valve 0"},
		"too old":   {func(t *Trial) { t.Old = 121 }, "121 days"},
		"order":     {func(t *Trial) { t.Series.Time[0] = 120e9 }, "not in order"},
		"twice":     {func(t *Trial) { t.Series.Time[0] = t.Series.Time[1] }, "not in order"},
	} {
		file, err := collector.Load("../../../collector/testdata/dc1.toml")
		if err != nil {
			t.Fatal(err)
		}
		tr := Trial{Collector: file, Truth: string(judge.ValveDead), Number: 2, Old: 9, Series: &sense.Series{Time: []int64{0, 60e9}}}
		tr.Series.Col[sense.DP] = []float64{500, 510}
		c.spoil(&tr)
		e, _ := judge.CauseOf(judge.ValveDead)
		err = tr.Whole(e, nil)
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}
