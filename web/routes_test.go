package web

import (
	"net/http"
	"regexp"
	"strings"
	"testing"
)

func all() []route { return append(routes(), apiRoutes()...) }

func TestTheTableHolds(t *testing.T) {
	if err := checkRoutes(all()); err != nil {
		t.Fatal(err)
	}
}

// Work on the machine is known by its words: a page whose address speaks of it must be marked, so that it can't be
// registered without a caution.
func TestPagesOfHandsOnWorkAreMarked(t *testing.T) {
	work := regexp.MustCompile(`/(round|check|valves|bench|repair|traverse|hoods|trim|air|filters|bin|inspect|commission)\b`)
	for _, rt := range all() {
		if strings.HasPrefix(rt.path, "/api/") {
			continue
		}
		if work.MatchString(rt.path) != rt.hands {
			t.Errorf("%s %s: leads to hands on the machine: %v by its address, %v in the table", rt.method, rt.path, !rt.hands, rt.hands)
		}
	}
}

func TestATableThatWouldLetSomebodyNearUncautionedIsRefused(t *testing.T) {
	ok := func(s *Server, w http.ResponseWriter, r *http.Request) error { return nil }
	for name, c := range map[string]struct {
		rt   route
		want string
	}{
		"hands":   {route{method: "GET", path: "/x", says: "x", hands: true, handle: ok}, "has no caution"},
		"tick":    {route{method: "GET", path: "/x", says: "x", tick: true, handle: ok}, "no caution beside it"},
		"words":   {route{method: "GET", path: "/x", handle: ok}, "no words"},
		"api":     {route{method: "GET", path: "/api/x", says: "x", handle: ok}, "not described"},
		"handler": {route{method: "GET", path: "/x", says: "x"}, "no handler"},
	} {
		if err := checkRoutes([]route{c.rt}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
	twice := route{method: "GET", path: "/x", says: "x", handle: ok}
	if err := checkRoutes([]route{twice, twice}); err == nil {
		t.Error("a row that stands twice passes")
	}
}

// The document says what the table says: each row of the API is in it, and nothing else.
func TestTheDocumentIsTheTable(t *testing.T) {
	doc := openAPI(apiRoutes())
	paths := doc["paths"].(map[string]any)
	n := 0
	for _, rt := range all() {
		if rt.api == nil {
			continue
		}
		n++
		item, ok := paths[rt.path].(map[string]any)
		if !ok || item[strings.ToLower(rt.method)] == nil {
			t.Errorf("%s %s is not in the document", rt.method, rt.path)
		}
	}
	for _, item := range paths {
		n -= len(item.(map[string]any))
	}
	if n != 0 {
		t.Errorf("the document holds %d operations more than the table", -n)
	}
}
