package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/rehearse"
)

// What was measured goes on record once, counts from then on, and is shown with its date.
func TestMeasuredAirIsUsedAgain(t *testing.T) {
	s := byHand(t)
	form := url.Values{"by": {"J. Roe"}, "caution": {"yes"}, "id": {"once"}, "decayFrom": {"60"}, "decayTo": {"45"}, "decayTime": {"15"}, "dewPoint": {"38"}, "coldest": {"50"}, "note": {"drain pot dry"}}
	for range 3 {
		s.post("/c/DC-1/air", form.Encode(), http.StatusSeeOther)
	}
	list := s.records("DC-1", plant.KindAirCheck)
	if len(list) != 1 {
		t.Fatalf("sent three times under one ID, kept %d times", len(list))
	}
	s.clock.set(season.Add(40 * 24 * time.Hour))
	page := s.get("/c/DC-1/air", http.StatusOK)
	for _, want := range []string{"leak test of 16 June", "dew point of 16 June", "gauge at the end 45.0 psi, time between 15.0 s (16 June).", "The header leaks"} {
		if !strings.Contains(page, want) {
			t.Errorf("forty days on the page does not say %q", want)
		}
	}
	// A meter's leak is newer: the gauge's counts no longer, the dew point still does.
	s.post("/c/DC-1/air", "by=J&caution=yes&leak=1.5", http.StatusSeeOther)
	page = s.get("/c/DC-1/air", http.StatusOK)
	if strings.Contains(page, "leak test of") || !strings.Contains(page, "leak by a meter of 26 July") || !strings.Contains(page, "dew point of 16 June") {
		t.Errorf("the newer leak does not do away with the older one, or did with more: %.900s", page[strings.Index(page, `class="lead"`):])
	}
	if page := s.get("/records?tag=DC-1&kind=air-check", http.StatusOK); !strings.Contains(page, "header at the end of the leak test 45.0 psi") || !strings.Contains(page, "Drain pot dry.") {
		t.Error("the records do not say what was measured")
	}
}

// Asking keeps nothing, and shows the answer beside what was typed.
func TestAskingOfTheAirKeepsNothing(t *testing.T) {
	s := byHand(t)
	before := len(s.records(""))
	page := s.get("/c/DC-1/air?backFrom=60&backLow=38&backTime=9&note=x", http.StatusOK)
	for _, want := range []string{`name="backTime" inputmode="decimal" autocomplete="off" value="9"`, "recovery as entered now", "Supply by the pulse watched", "The header came back in 9.0 s"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if n := len(s.records("")); n != before {
		t.Error("a question went on record")
	}
}

// What can't be is told in a sentence, and what was typed stays, whether it was asked or sent.
func TestRefusedAirKeepsWhatWasTyped(t *testing.T) {
	s := byHand(t)
	for _, c := range []struct{ form, want string }{
		{"decayFrom=45&decayTo=60&decayTime=90", "rose from 45.0 psi to 60.0 psi"},
		{"decayFrom=60&decayTo=45", "three figures"},
		{"dewPoint=NaN", "Water, pressure dew point"},
		{"dewPoint=1e999", "Water, pressure dew point"},
		{"dewPoint=5000", "cannot be"},
		{"leak=-3", "can&#39;t be negative"},
		{"coldest=cold&leak=much", "Leak by a meter, flow to the header"},
		{"linePressure=90+psia", "absolute"},
	} {
		typed := "&by=J.+Roe&note=mine&" + c.form
		value, _, _ := strings.Cut(c.form[strings.Index(c.form, "=")+1:], "&")
		value, _ = url.QueryUnescape(value)
		for what, page := range map[string]string{
			"sent":  s.post("/c/DC-1/air", "caution=yes"+typed, http.StatusUnprocessableEntity),
			"asked": s.get("/c/DC-1/air?x=y"+typed, http.StatusOK),
		} {
			if !strings.Contains(page, c.want) || !strings.Contains(page, `role="alert"`) {
				t.Errorf("%s, %s: it does not say %q", c.form, what, c.want)
			}
			if !strings.Contains(page, `value="`+value+`"`) || !strings.Contains(page, `value="mine"`) || !strings.Contains(page, `value="J. Roe"`) {
				t.Errorf("%s, %s: what was typed is lost", c.form, what)
			}
		}
		if body := s.post("/c/DC-1/air", "caution=yes"+typed, http.StatusUnprocessableEntity, "Accept", "application/json"); !strings.Contains(body, `"error"`) {
			t.Errorf("%s: the outbox is told %.100s", c.form, body)
		}
	}
	if n := len(s.records("DC-1", plant.KindAirCheck)); n != 0 {
		t.Errorf("%d refused checks went on record", n)
	}
	if page := s.post("/c/DC-1/air", "caution=yes&by=J", http.StatusUnprocessableEntity); !strings.Contains(page, "at least one figure") {
		t.Error("an empty form is taken")
	}
}

// Where the record says that the supply cannot hold the header, the collector's page leads to what tells leak from supply.
func TestALowHeaderLeadsToItsAir(t *testing.T) {
	s := empty(t)
	s.run(s.enrol("DC-1", "Router hall"), 21, 5*time.Minute, rehearse.Fault{Cause: rehearse.HeaderPressureLow, After: 16 * 24 * time.Hour, Severity: 1})
	if page := s.get("/c/DC-1", http.StatusOK); !strings.Contains(page, "Leak or supply? Measure it at the header") {
		t.Errorf("it leads nowhere: %.900s", page[strings.Index(page, `class="say"`):])
	}
}

// A file that says too little of the header says what it lacks, and a collector's page leads here.
func TestAirOfALittleKnownCollector(t *testing.T) {
	s := byHand(t)
	s.post("/add", url.Values{"by": {"J"}, "tag": {"DC-7"}, "duty.flow": {"4200 cfm"}, "filters.rows": {"4"}, "filters.per_row": {"1"}, "filters.area_each": {"215 ft2"}}.Encode(), http.StatusSeeOther)
	if page := s.get("/c/DC-7/air", http.StatusOK); !strings.Contains(page, "volume = &#34;20 L&#34;") || strings.Contains(page, "<form") {
		t.Error("the page does not say what the file lacks")
	}
	if !strings.Contains(s.get("/c/DC-1", http.StatusOK), `href="/c/DC-1/air"`) {
		t.Error("no way leads from the collector to its air")
	}
	s.get("/c/none/air", http.StatusNotFound)
}

// What cannot be is said in the reader's units, and at its field.
func TestAirThatCannotBe(t *testing.T) {
	s := byHand(t)
	for form, want := range map[string]string{
		"decayFrom=400&decayTo=500&decayTime=10": "from 400 kPa to 500 kPa with its supply shut",
		"linePressure=0":                         "cannot be; it has to be more than zero and at most",
		"pipeBore=20":                            "go together: give both, or neither",
	} {
		got := s.post("/c/DC-1/air?units=si", "by=J&caution=yes&"+form, http.StatusUnprocessableEntity)
		if !strings.Contains(got, want) || !strings.Contains(got, `href="#fault-1"`) || !strings.Contains(got, `class="fault" id="fault-1"`) {
			t.Errorf("%s: want %q, and at its field: %s", form, want, got[strings.Index(got, "<main"):strings.Index(got, "<main")+400])
		}
	}
}
