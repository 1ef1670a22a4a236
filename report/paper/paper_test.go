package paper

import (
	"bytes"
	"encoding/json"
	"flag"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

var update = flag.Bool("update", false, "rewrite the golden files")

var zone = time.FixedZone("site", -6*3600)

func setup(f Format) Setup {
	return Setup{Format: f, Units: unit.US, Zone: zone, Made: time.Date(2026, 6, 16, 8, 0, 0, 0, zone), Plant: "Demo plant", Chain: "0123456789abcdef0123"}
}

func machine(t testing.TB) *collector.Collector {
	t.Helper()
	c, err := collector.Load("../../collector/testdata/dc1.toml")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func record(t testing.TB, seq int64, day int, body plant.Body) plant.Record {
	t.Helper()
	data, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	r := plant.Record{ID: "r", Kind: body.Kind(), Collector: "DC-1", By: "a technician", Body: data,
		At: time.Date(2026, 6, day, 9, 30, 0, 0, zone), Entered: time.Date(2026, 6, day, 15, 31, 0, 0, time.UTC)}
	if err := r.Seal(&plant.Record{Seq: seq - 1, Hash: "before"}); err != nil {
		t.Fatal(err)
	}
	return r
}

// month is an invented June with a gap.
func month() (hourly, daily []plant.Bucket) {
	at := func(h int) int64 {
		return time.Date(2026, 6, 1, 0, 0, 0, 0, zone).Add(time.Duration(h) * time.Hour).UnixNano()
	}
	for h := range 30 * 24 {
		if h/24 == 13 || h%24 < 6 || h%24 > 21 {
			continue
		}
		mid := 700 + 150*math.Sin(float64(h)/9) + 0.3*float64(h)
		hourly = append(hourly, plant.Bucket{From: at(h), To: at(h) + 3500e9, N: 60, Min: mid - 180, Max: mid + 180, Sum: 60 * mid})
	}
	for d := range 30 {
		if d == 13 {
			continue
		}
		mid := 700 + 7*float64(d)
		daily = append(daily, plant.Bucket{From: at(24*d + 6), To: at(24*d + 22), N: 960, Min: mid - 250, Max: mid + 250, Sum: 960 * mid})
	}
	return hourly, daily
}

// photograph is an invented photo "a", a picture of a bent leg; there is no other.
func photograph(name string) (io.ReadCloser, error) {
	if name != "a" {
		return io.NopCloser(strings.NewReader("no picture")), nil
	}
	pic := image.NewRGBA(image.Rect(0, 0, 240, 180))
	for y := range 180 {
		for x := range 240 {
			pic.Set(x, y, color.RGBA{uint8(x), uint8(y), 160, 255})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, pic); err != nil {
		return nil, err
	}
	return io.NopCloser(&b), nil
}

// sheets is one of each kind.
func sheets(t testing.TB) map[string]func(io.Writer, Setup) error {
	c := machine(t)
	hourly, daily := month()
	change := record(t, 7, 9, plant.FilterChange{Reason: "dP at its limit", DPBefore: 1500, DPAfter: 180, Rows: []plant.RowChange{
		{Row: 1, OldLot: "A17", NewLot: "B03", OldState: "caked hard, pleats bridged"}, {Row: 2, OldLot: "A17", NewLot: "B03", OldState: "as row 1"}}})
	move := record(t, 8, 9, plant.DamperMove{From: 0.8, To: 0.38, Why: "trim for new filters", Flow: 1.98})
	steps := []plant.Record{
		record(t, 2, 2, plant.Commissioning{Step: "air", Accepted: true, Items: []plant.Item{
			{What: "line purged before it was connected", Result: "ok"}, {What: "header pressure", Result: "ok", Value: 413685, Unit: "Pa"}}}),
		record(t, 3, 2, plant.Commissioning{Step: "rotation", Accepted: false, Why: "the fan ran backwards; two phases swapped by a licensed person", Items: []plant.Item{
			{What: "fan turns with the arrow", Result: "not-ok", Note: "bump test"}}}),
		record(t, 4, 2, plant.Commissioning{Step: "rotation", Accepted: true, Items: []plant.Item{{What: "fan turns with the arrow", Result: "ok"}}}),
		record(t, 6, 3, plant.HoodReading{Hoods: []plant.HoodPressure{{Branch: "table, zone 1", SP: -340}, {Branch: "table, zone 2", SP: -250}}, Temperature: 300}),
		record(t, 5, 2, plant.Commissioning{Step: "airflow", Accepted: true, Items: []plant.Item{
			{What: "airflow by traverse", Result: "ok", Value: 1.99, Unit: "m3/s"}, {What: "damper", Result: "ok", Value: 0.44, Unit: "1"}}})}
	valves := record(t, 9, 12, plant.ValveCheck{By: "sound", Result: json.RawMessage(`{"valves":[{"number":1,"state":"ok","count":2,"expected":2,"why":"sounds like the others"},
		{"number":2,"state":"dead","count":0,"expected":2,"why":"no pulse was heard 2 times out of 2 when it was due"}]}`)})
	look := record(t, 10, 14, plant.Inspection{Task: "six-month", Items: []plant.Item{{What: "fan belts", Result: "ok", Note: "tension set"}, {What: "clean side", Result: "not-ok", Note: "a little dust below row 3"}}})
	arrival := record(t, 1, 1, plant.Arrival{Damage: "leg bent in transit, crate split at the corner", Photos: []string{"a", "b"}, Items: []plant.Item{{What: "count against the order", Result: "ok"}}})
	j := &plant.Judgement{Standing: judge.NeedsHands, Reading: &plant.Pressure{Value: 1140, Unit: "Pa", At: time.Date(2026, 6, 15, 9, 0, 0, 0, zone)},
		NextCheck: &judge.Check{Text: collector.Plain("Feel for the exhaust puff of pilot 4 while it fires")}}
	stops := []Stop{{c, j, "http://127.0.0.1:8470/c/DC-1"}, {c, nil, "http://127.0.0.1:8470/c/DC-2"}}
	return map[string]func(io.Writer, Setup) error{
		"certificate": func(w io.Writer, s Setup) error { return Certificate(w, s, c, steps) },
		"month": func(w io.Writer, s Setup) error {
			return MonthLog(w, s, Month{c, time.Date(2026, 6, 9, 0, 0, 0, 0, zone), hourly, daily, []plant.Record{change, move, valves}})
		},
		"round":       func(w io.Writer, s Setup) error { return RoundSheet(w, s, stops) },
		"labels":      func(w io.Writer, s Setup) error { return Labels(w, s, stops) },
		"change":      func(w io.Writer, s Setup) error { return FilterChange(w, s, c, change, []plant.Record{move}) },
		"valves":      func(w io.Writer, s Setup) error { return ValveCheck(w, s, c, valves) },
		"inspections": func(w io.Writer, s Setup) error { return Inspections(w, s, c, []plant.Record{arrival, look}) },
		"damage":      func(w io.Writer, s Setup) error { return Damage(w, s, c, arrival, photograph) },
	}
}

// The text of each sheet, as an independent reader of PDF (poppler's pdftotext) takes it out, is kept.
func TestSheetsReadBack(t *testing.T) {
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext (poppler-utils) is absent: what a reader takes out of the sheets is not checked")
	}
	for name, make := range sheets(t) {
		for _, f := range []Format{A4, Letter} {
			t.Run(name+" "+string(f), func(t *testing.T) {
				var b, again bytes.Buffer
				if err := make(&b, setup(f)); err != nil {
					t.Fatal(err)
				}
				if err := make(&again, setup(f)); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
					t.Errorf("the same input gives other bytes: %v", err)
				}
				if dir := os.Getenv("DUSTWRIGHT_SHEETS"); dir != "" { // to be looked at
					if err := os.WriteFile(filepath.Join(dir, name+"-"+string(f)+".pdf"), b.Bytes(), 0o644); err != nil {
						t.Fatal(err)
					}
				}
				cmd := exec.Command(reader, "-layout", "-", "-")
				cmd.Stdin = &b
				text, err := cmd.Output()
				if err != nil {
					t.Fatal(err)
				}
				golden(t, filepath.Join("testdata", name+"-"+string(f)+".golden"), text)
			})
		}
	}
}

// A sheet speaks one system of units, whichever the collector's file and what is on record were written in.
func TestSheetsSpeakOneSystem(t *testing.T) {
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext (poppler-utils) is absent: what a reader takes out of the sheets is not checked")
	}
	told := map[string]int{}
	for name, make := range sheets(t) {
		for units, sys := range map[string]unit.System{"us": unit.US, "si": unit.SI} {
			var b bytes.Buffer
			s := setup(A4)
			s.Units = sys
			if err := make(&b, s); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(reader, "-layout", "-", "-")
			cmd.Stdin = &b
			text, err := cmd.Output()
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range unittest.Foreign(units, string(text)) {
				t.Errorf("%s, %s: %s", name, units, what)
			}
			told[units] += len(unittest.Foreign(map[string]string{"us": "si", "si": "us"}[units], string(text)))
		}
	}
	if told["us"] < 20 || told["si"] < 20 {
		t.Errorf("quantities are told only %v times", told)
	}
}

func golden(t *testing.T, path string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run with -update to write it)", err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

func TestWrongPaper(t *testing.T) {
	if err := Labels(io.Discard, Setup{Format: "A5"}, nil); err == nil {
		t.Error("A5 was accepted")
	}
}
