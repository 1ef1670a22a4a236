package web_test

import (
	"net/http"
	"strings"
	"testing"
)

// Where the judgement gives no trim because the gauge is doubted, the page of the trim gives none by that gauge either.
func TestNoTrimIsGivenByADoubtedGauge(t *testing.T) {
	s := empty(t)
	s.enrol("DC-3", "Weld bay")
	s.hand("DC-3", 0.05, 0.04, 0.05, 0.04)
	page := s.get("/c/DC-3/trim", http.StatusOK)
	if strings.Contains(page, "With the filters as they are") || !strings.Contains(page, "No trim can be given") {
		t.Errorf("the gauge reads nothing, and the page says: %.400s", page[strings.Index(page, "<main"):])
	}
	if page := s.get("/c/DC-3/trim?new=1", http.StatusOK); !strings.Contains(page, "With new filters: damper") {
		t.Error("new filters went in, and the page does not say where the damper goes")
	}
}
