package web_test

import (
	"net/http"
	"strings"
	"testing"
)

// The month that is printed is the last one in which the collector was read, and the one before is a link away: whoever prints on the
// first of a month wants no empty one.
func TestTheMonthPrintedIsTheLastOneRead(t *testing.T) {
	s := byHand(t)
	s.clock.set(season.AddDate(0, 1, 0)) // nothing was read in July
	if got := s.get("/c/DC-1/paper/month.pdf", http.StatusOK); got != "2026-06" {
		t.Errorf("the month printed is %s", got)
	}
	const before = "/c/DC-1/paper/month.pdf?month=2026-05"
	if !strings.Contains(s.get("/c/DC-1", http.StatusOK), before) {
		t.Error("the page does not lead to the month before")
	}
	if got := s.get(before, http.StatusOK); got != "2026-05" {
		t.Errorf("the month before is %s", got)
	}
}
