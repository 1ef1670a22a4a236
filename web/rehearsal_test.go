package web_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A rehearsal starts from the filters as they are now, and from new ones when asked: those last longer.
func TestARehearsalStartsFromTheFiltersAsTheyAre(t *testing.T) {
	if testing.Short() {
		t.Skip("simulates seasons")
	}
	s := plantOfThree(t)
	life := regexp.MustCompile(`Life of the filters from today</th><td>(\d+) days`)
	days := func(path string) int {
		page := s.get(path, 200)
		m := life.FindStringSubmatch(page)
		if m == nil {
			if strings.Contains(page, "more than three years") {
				return 3 * 365
			}
			t.Fatalf("%s says no life: %s", path, page)
		}
		n, err := strconv.Atoi(m[1])
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	now, fresh := days("/c/DC-1/rehearse?run=1"), days("/c/DC-1/rehearse?run=1&filters=new")
	if now < 1 || now >= fresh {
		t.Errorf("the filters last %d days from now, new ones %d", now, fresh)
	}
	if page := s.get("/c/DC-3/rehearse", 200); !strings.Contains(page, "It starts from new filters") {
		t.Errorf("DC-3's filters are not known, and the page does not say so: %s", page)
	}
	t.Logf("as they are now %d days, new %d days", now, fresh)
}
