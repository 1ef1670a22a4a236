package web_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A rehearsal starts from the filters as they are now, and from new ones when asked: those come back to a lower dP.
// How long they last is no measure of that here, since the after-filter goes first.
func TestARehearsalStartsFromTheFiltersAsTheyAre(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates seasons")
	}
	s := plantOfThree(t)
	after := regexp.MustCompile(`dP just after cleaning, last week</th><td>([\d.]+) in`)
	cleaned := func(path string) float64 {
		page := s.get(path, 200)
		m := after.FindStringSubmatch(page)
		if m == nil {
			t.Fatalf("%s says no dP after cleaning: %s", path, page)
		}
		x, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	now, fresh := cleaned("/c/DC-1/rehearse?run=1"), cleaned("/c/DC-1/rehearse?run=1&filters=new")
	if !(now > 1.2*fresh) {
		t.Errorf("the filters come back to %.1f in. w.g. as they are, new ones to %.1f", now, fresh)
	}
	if page := s.get("/c/DC-3/rehearse", 200); !strings.Contains(page, "It starts from new filters") {
		t.Errorf("DC-3's filters are not known, and the page does not say so: %s", page)
	}
}
