package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// A check that was answered wrongly is answered again: the page leads there, and only the last answer stands.
func TestAnAnswerIsTakenBack(t *testing.T) {
	s := byHand(t)
	answer := func(found string) string {
		form := url.Values{"by": {"a person"}, "caution": {"yes"}, "check": {"header-drain"}, "number": {"0"}, "found": {found}}
		s.post("/c/DC-1/check", form.Encode(), http.StatusSeeOther)
		return s.get("/c/DC-1", http.StatusOK)
	}
	page := answer("yes")
	if !strings.Contains(page, "Looked for: water or oil comes out. <b>Yes</b>") {
		t.Error("the collector's page does not say what was found")
	}
	const again = "/c/DC-1/check?check=header-drain"
	if !strings.Contains(page, again) {
		t.Error("the collector's page does not lead to another answer")
	}
	if page := s.get(again, http.StatusOK); !strings.Contains(page, "Answered before: Yes") {
		t.Error("the check's page does not say that it was answered")
	}
	if page := answer("no"); strings.Contains(page, "<b>Yes</b>") || strings.Count(page, "water or oil comes out. <b>No</b>") != 1 {
		t.Error("the answer that was taken back stands beside the new one")
	}
	form := url.Values{"by": {"a person"}, "caution": {"yes"}, "to": {"50"}, "level": {"60"}}
	s.post("/c/DC-1/bin", form.Encode(), http.StatusSeeOther)
	if page := s.get("/c/DC-1", http.StatusOK); !strings.Contains(page, "water or oil comes out") {
		t.Error("the bin was emptied, and what was found of the header's drain no longer counts")
	}
	s.post("/c/DC-1/trim", form.Encode(), http.StatusSeeOther)
	if page := s.get("/c/DC-1", http.StatusOK); strings.Contains(page, "water or oil comes out") {
		t.Error("work was done since, and an answer that counts no more stands there as if it did")
	}
}

// Where no check is proposed the page says so, and any other can be done all the same.
func TestAnyCheckCanBeDone(t *testing.T) {
	s := empty(t)
	s.enrol("DC-1", "Weld bay")
	page := s.get("/c/DC-1/check", http.StatusOK)
	if !strings.Contains(page, "No check would tell more") || !strings.Contains(page, `<option value="header-drain">`) {
		t.Errorf("%.600s", page[strings.Index(page, "<main"):])
	}
	if strings.Contains(page, `name="found"`) {
		t.Error("there is no check, and it asks what was found")
	}
}
