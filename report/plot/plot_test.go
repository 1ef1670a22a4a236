package plot

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

func rehearsal(t *testing.T, length time.Duration, faults ...rehearse.Fault) Rehearsal {
	t.Helper()
	c, err := collector.Load(filepath.Join(unittest.Root(t), "rehearse", "testdata", "collector.toml"))
	if err != nil {
		t.Fatal(err)
	}
	o := rehearse.NewOptions(c)
	o.Length, o.Faults = length, faults
	o.Events = []rehearse.Event{{Kind: rehearse.LogGap, After: length / 4, Until: length / 2}, {Kind: rehearse.ChangeFilters, After: 3 * length / 4}}
	e := NewEnvelope(o.Start, o.Start.Add(o.Length), 200)
	o.Recorder = e
	r, err := rehearse.Run(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	return Rehearsal{Collector: c, Result: r, Envelope: e}
}

// elements counts the elements of a well-formed drawing by name and class.
func elements(t *testing.T, svg string) map[string]int {
	t.Helper()
	count := map[string]int{}
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return count
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		if s, ok := tok.(xml.StartElement); ok {
			name := s.Name.Local
			for _, a := range s.Attr {
				if a.Name.Local == "class" {
					name += "." + a.Value
				}
			}
			count[name]++
		}
	}
}

func TestRehearsalDrawing(t *testing.T) {
	const day = 24 * time.Hour
	r := rehearsal(t, 40*day, rehearse.Fault{Cause: rehearse.ValveDead, Number: 3, After: 30 * day, Severity: 1, Ramp: -1})
	for _, sys := range []unit.System{unit.US, unit.SI} {
		var b strings.Builder
		second := r
		second.Name = "header.set=70 psi & more"
		if err := Rehearsals(&b, sys, []Rehearsal{r, second}); err != nil {
			t.Fatal(err)
		}
		got := elements(t, b.String())
		if got["title"] != 1 || got["desc"] != 1 || got["path.ink"] != 2 || got["line.bad"] != 2 || got["rect.band"] < 100 || got["rect.bar"] < 40 {
			t.Errorf("elements %v", got)
		}
		for _, want := range []string{"valve-dead 3", "new filters", "header.set=70 psi &amp; more", "just after cleaning", "alarm", "a day"} {
			if !strings.Contains(b.String(), want) {
				t.Errorf("the drawing lacks %q", want)
			}
		}
		if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
			t.Error("the drawing holds NaN")
		}
	}
	// the gap stays open
	n := len(r.Envelope.low)
	for i := n/4 + 1; i < n/2-1; i++ {
		if !math.IsNaN(r.Envelope.low[i]) {
			t.Errorf("column %d of the gap is filled", i)
		}
	}
}

func TestMarksSuitTheSpan(t *testing.T) {
	from := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	for days, want := range map[int]string{1: "2 Mar 06:00", 30: "9 Mar", 120: "Apr 2026", 400: "May 2026", 2000: "2027"} {
		at, words := marks(from, from.AddDate(0, 0, days))
		if len(at) < 3 || len(at) > 14 {
			t.Errorf("%d days: %d marks", days, len(at))
		}
		found := false
		for _, w := range words {
			found = found || w == want
		}
		if !found {
			t.Errorf("%d days: %v, want one %q", days, words, want)
		}
	}
}
