package export

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

func series() *sense.Series {
	s := &sense.Series{Time: []int64{0, 60e9, 120e9}}
	s.Col[sense.DP] = []float64{500, math.NaN(), 520}
	s.Col[sense.Damper] = []float64{0.5, 0.5, math.NaN()}
	s.Pulses = []sense.Firing{{Row: 1, Valve: 3}, {Row: 1, Valve: 4}}
	return s
}

func TestXLSXReadsBack(t *testing.T) {
	for units, c := range map[string]struct {
		symbol [2]string // of dP and damper
		want   [][]string
	}{
		"si": {[2]string{"Pa", "%"}, [][]string{{"time", "dp[Pa]", "damper[%]", "pulse"}, {"1970-01-01T00:00:00Z", "500", "50"}, {"1970-01-01T00:01:00Z", "", "50", "3 4"}, {"1970-01-01T00:02:00Z", "520"}}},
		"us": {[2]string{"in.w.g.", "%"}, [][]string{{"time", "dp[in.w.g.]", "damper[%]", "pulse"}, {"1970-01-01T00:00:00Z", "2.007315", "50"}, {"1970-01-01T00:01:00Z", "", "50", "3 4"}, {"1970-01-01T00:02:00Z", "2.087608"}}},
	} {
		column := func(ch sense.Channel) (string, unit.Unit, error) {
			kind, symbol := unit.KindPressure, c.symbol[0]
			switch ch {
			case sense.Damper:
				kind, symbol = unit.KindShare, c.symbol[1]
			case sense.Pulse:
				return "pulse", unit.Unit{Factor: 1}, nil
			}
			u, err := unit.Lookup(kind, symbol)
			return ch.String() + "[" + symbol + "]", u, err
		}
		var b bytes.Buffer
		if err := XLSX(&b, series(), time.UTC, column); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&b)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows("Sheet1")
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.want {
			if strings.Join(rows[i], "|") != strings.Join(c.want[i], "|") {
				t.Errorf("%s: row %d is %q, want %q", units, i, rows[i], c.want[i])
			}
		}
	}
}

func TestParquetReadsBack(t *testing.T) {
	var b bytes.Buffer
	if err := Parquet(&b, series()); err != nil {
		t.Fatal(err)
	}
	rows, err := parquet.Read[Reading](bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 6 || rows[0].Channel != "dp" || rows[0].Value != 500 || rows[3].Channel != "pulse" || rows[3].Value != 3 || rows[5].Value != 520 {
		t.Errorf("read back %+v", rows)
	}
}

// The events of a feed speak the units that their tasks were made to be in.
func TestCalendarSpeaksOneSystem(t *testing.T) {
	tasks := []plant.Task{{ID: "DC-1/check-blow-lines", Collector: "DC-1", What: judge.Checks()[0].Do(4), Why: collector.Say("the dP stands at %s", unit.Pressure(1500)), Caution: judge.Caution("sensing-line")}}
	for _, c := range judge.Checks() {
		tasks = append(tasks, plant.Task{ID: "DC-1/" + c.ID, Collector: "DC-1", What: c.Do(4), Why: c.Finds(4), Tools: c.Tools, Caution: judge.Caution(c.Caution)})
	}
	for units, sys := range map[string]unit.System{"us": unit.US, "si": unit.SI} {
		var b bytes.Buffer
		if err := Calendar(&b, plant.TasksIn(tasks, sys), "", time.UTC, time.Unix(0, 0)); err != nil {
			t.Fatal(err)
		}
		text := strings.NewReplacer("\r\n ", "", `\n`, "\n").Replace(b.String())
		for _, what := range unittest.Foreign(units, text) {
			t.Errorf("%s: %s", units, what)
		}
		if own := unittest.Foreign(map[string]string{"us": "si", "si": "us"}[units], text); len(own) < 4 {
			t.Errorf("%s: only %q tells a quantity", units, own)
		}
	}
}

// A reader joins folded lines again and takes the escapes out; what it gets is what was put in.
func TestCalendarKeepsItsLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		what := rapid.String().Draw(t, "what")
		task := plant.Task{ID: "DC-1/x", Collector: "DC-1", What: collector.Plain(what), Due: time.Date(2026, 6, 1, 5, 0, 0, 0, time.UTC)}
		var b bytes.Buffer
		if err := Calendar(&b, []plant.Task{task}, "http://x", time.FixedZone("", -6*3600), time.Unix(0, 0)); err != nil {
			t.Fatal(err)
		}
		for _, l := range strings.Split(b.String(), "\r\n") {
			if len(l) > 75 {
				t.Fatalf("a line of %d octets", len(l))
			}
		}
		joined := strings.ReplaceAll(b.String(), "\r\n ", "")
		if !strings.Contains(joined, "DTSTART;VALUE=DATE:20260531\r\n") {
			t.Fatal("the day is the site's own")
		}
		_, rest, _ := strings.Cut(joined, "SUMMARY:")
		got, _, _ := strings.Cut(rest, "\r\nDESCRIPTION")
		plain := strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace("DC-1: " + what)
		if back := strings.NewReplacer(`\\`, `\`, `\;`, ";", `\,`, ",", `\n`, "\n").Replace(got); back != plain {
			t.Fatalf("read back %q, want %q", back, plain)
		}
	})
}
