package plant_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

const sisterFile = `tag = "TAG"
[duty]
flow = "4200 cfm"
dust = "Weld fume"
[filters]
rows = 6
per_row = 1
area_each = "215 ft2"
clean_dp = "0.7 in.w.g."
max_dp = "6 in.w.g."
[cleaning]
mode = "timed"
`

// How long the filters of a collector's sisters lasted narrows what is said of new ones; other dust, or another dP at which filters go,
// makes no sister.
func TestSistersTellOfNewFilters(t *testing.T) {
	s, _, c := begin(t)
	day := func(d int) time.Time { return time.Date(2026, 1, 1+d, 0, 0, 0, 0, time.UTC) }
	enrol := func(tag, from, to string) {
		text := strings.Replace(strings.Replace(sisterFile, "TAG", tag, 1), from, to, 1)
		if _, err := s.Enrol(t.Context(), []byte(text), "a person", "file-"+tag); err != nil {
			t.Fatal(err)
		}
	}
	log := func(tag string, from, to int, dp func(d float64) float64) {
		x := &sense.Series{Zone: time.UTC}
		for h := 24 * from; h < 24*to; h++ {
			x.Time = append(x.Time, day(0).Add(time.Duration(h)*time.Hour).UnixNano())
			x.Col[sense.DP] = append(x.Col[sense.DP], dp(float64(h)/24)*unit.InchWater*(1+0.01*math.Sin(2.4*float64(h))))
		}
		if _, _, err := s.Import(t.Context(), tag, func(take func(*sense.Series) error) error { return take(x) }); err != nil {
			t.Fatal(err)
		}
	}
	worn := func(d float64) float64 { return 1 + 5*math.Mod(d, 100)/100 } // 6 in. w.g. after a hundred days
	judged := func(tag string) *plant.Judgement {
		j, err := s.Judge(t.Context(), tag)
		if err != nil {
			t.Fatal(err)
		}
		if j.Life == nil {
			t.Fatalf("%s: no life, %v", tag, j.Missing)
		}
		return j
	}
	c.t = day(250)
	enrol("OLD", "", "")
	log("OLD", 0, 220, worn)
	for i, at := range []int{100, 200} {
		r, err := plant.NewRecord(plant.FilterChange{Rows: []plant.RowChange{{Row: 1}, {Row: 2}, {Row: 3}, {Row: 4}, {Row: 5}, {Row: 6}}}, "OLD", "a person")
		if err != nil {
			t.Fatal(err)
		}
		r.ID, r.At = "change"+string(rune('a'+i)), day(at)
		if _, err := s.Accept(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
	for _, x := range []struct{ tag, from, to string }{{"NEW", "", ""}, {"OTHER", "Weld fume", "Flour"}, {"SMALL", "6 in.w.g.", "4 in.w.g."}} {
		enrol(x.tag, x.from, x.to)
		log(x.tag, 205, 220, func(d float64) float64 { return worn(d - 205) })
	}
	j := judged("NEW")
	if !strings.Contains(j.Life.Basis, "2 earlier lives, of collectors of the same kind") {
		t.Errorf("the basis is %q", j.Life.Basis)
	}
	if end := day(305); j.Life.P10.After(end) || j.Life.P90.Before(end) || j.Life.P90.Sub(j.Life.P10.Time) > 120*24*time.Hour {
		t.Errorf("the filters end between %v and %v, want about %v", j.Life.P10, j.Life.P90, end)
	}
	for _, tag := range []string{"OTHER", "SMALL"} {
		if j := judged(tag); !strings.Contains(j.Life.Basis, "No earlier life") {
			t.Errorf("%s has a sister: %q", tag, j.Life.Basis)
		}
	}
	enrol("EARLY", "", "")
	log("EARLY", 150, 165, func(d float64) float64 { return worn(d - 150) })
	early, err := s.Assess(t.Context(), "EARLY", day(164))
	if err != nil || early.Life == nil || !strings.Contains(early.Life.Basis, "One earlier life, of collectors of the same kind") {
		t.Errorf("what had not ended by then counts: %v, %+v", err, early.Life)
	}
	if j := judged("OLD"); strings.Contains(j.Life.Basis, "of collectors of the same kind") {
		t.Errorf("a life of its own is taken for a sister's: %q", j.Life.Basis)
	}
	// another file makes another kind, at once
	if _, err := s.Enrol(t.Context(), []byte(strings.Replace(sisterFile, "TAG", "OTHER", 1)), "a person", "file-OTHER-2"); err != nil {
		t.Fatal(err)
	}
	if j := judged("OTHER"); !strings.Contains(j.Life.Basis, "of collectors of the same kind") {
		t.Errorf("a new file is not looked at: %q", j.Life.Basis)
	}
}
