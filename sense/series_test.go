package sense

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/unit"
)

func TestChannelsReadBack(t *testing.T) {
	for i, name := range ChannelNames() {
		c, ok := ParseChannel(name)
		if !ok || c != Channel(i) || c.String() != name {
			t.Errorf("%q reads back as %v", name, c)
		}
	}
	if _, ok := ParseChannel("dP"); ok {
		t.Error("spelling counts")
	}
	if got := NumChannels.String(); !strings.HasPrefix(got, "channel ") {
		t.Errorf("no channel is called %q", got)
	}
	if DP.Kind() != unit.KindPressure || Barometer.Kind() != unit.KindAbsPressure || Emission.Kind() != unit.KindNumber {
		t.Error("kinds of dp, barometer, emission")
	}
}

func TestQuantitiesAreNamed(t *testing.T) {
	seen := map[string]bool{}
	for q := range NumQuantities {
		if name := q.String(); name == "" || seen[name] {
			t.Errorf("quantity %d is called %q", q, name)
		} else {
			seen[name] = true
		}
	}
}

func TestSeries(t *testing.T) {
	zone := time.FixedZone("", -6*3600)
	s := &Series{Time: []int64{start.UnixNano()}, Col: [NumChannels][]float64{DP: {7}}, Zone: zone}
	if s.At(DP, 0) != 7 || !math.IsNaN(s.At(Flow, 0)) || s.Has(Flow) || !s.Has(DP) || s.Has(NumChannels) {
		t.Error("readings")
	}
	if got := s.When(0).Format(time.RFC3339); got != "2026-03-01T18:00:00-06:00" {
		t.Errorf("time %s", got)
	}
	s.Pulses = []Firing{{0, 3}}
	if !s.Has(Pulse) {
		t.Error("a firing is a pulse channel")
	}
}

// A day begins by the log's own clock.
func TestDaysByTheLogsClock(t *testing.T) {
	g := usual()
	s, _ := g.run(48, 60)
	s.Zone = time.FixedZone("", 5*3600+1800)
	f := At(reduced(t, s, g), g.file(), time.Time{})
	if len(f.Days) != 3 {
		t.Fatalf("%d days", len(f.Days))
	}
	for _, d := range f.Days {
		if h, m, _ := d.Start.Clock(); h != 0 || m != 0 {
			t.Errorf("a day begins at %v", d.Start)
		}
	}
}

func TestHistoryOfAnotherLayout(t *testing.T) {
	var b bytes.Buffer
	if err := (&History{Version: 99}).Write(&b); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadHistory(&b); err == nil || !strings.Contains(err.Error(), "build it again") {
		t.Errorf("error %v", err)
	}
	if _, err := ReadHistory(strings.NewReader("nonsense")); err == nil {
		t.Error("nonsense was read")
	}
}

// Rows that come again or late are counted and left; nothing is counted twice.
func TestOverlap(t *testing.T) {
	g := usual()
	s, _ := g.run(20, 60)
	r := NewReducer(g.file())
	r.Add(s.slice(0, 700))
	r.Add(s.slice(500, s.Len()))
	r.Add(s.slice(100, 200))
	h := r.History()
	if h.Rows != int64(s.Len()) || h.Late != 200+100 {
		t.Errorf("%d rows, %d late", h.Rows, h.Late)
	}
	want := reduced(t, s, g)
	if len(h.Cycles) != len(want.Cycles) || len(h.Hours) != len(want.Hours) {
		t.Errorf("%d cycles, want %d", len(h.Cycles), len(want.Cycles))
	}
}
