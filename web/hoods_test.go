package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"dustwright/plant"
)

// typed is a form of hood readings.
func typed(pairs ...string) string {
	form := url.Values{"by": {"J. Roe"}, "caution": {"yes"}}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return form.Encode()
}

// Readings behind the hoods go on record as suction, with a minus or without, and the page says what they tell.
func TestHoodsAreReadAndTold(t *testing.T) {
	s := byHand(t)
	const page = "/c/DC-1/hoods"
	if body := s.get(page, http.StatusOK); !strings.Contains(body, `name="sp.table, zone 1"`) || !strings.Contains(body, "should show -1.35 in. w.g. at 2100 cfm") || strings.Contains(body, "<table") {
		t.Errorf("the empty page: %s", body)
	}
	s.post(page, typed("sp.table, zone 1", "0.6", "sp.table, zone 2", "-1.4 in.w.g."), http.StatusSeeOther)
	list := s.records("DC-1", plant.KindHoodReading)
	if len(list) != 1 {
		t.Fatalf("%d records", len(list))
	}
	body, err := plant.Open(list[0])
	if err != nil {
		t.Fatal(err)
	}
	b := body.(*plant.HoodReading)
	if len(b.Hoods) != 2 || b.Hoods[0].Branch != "table, zone 1" || !(b.Hoods[0].SP < 0 && b.Hoods[1].SP < b.Hoods[0].SP && b.Hoods[0].Flow > 0.6 && b.Hoods[0].Flow < 0.7) {
		t.Errorf("on record: %+v", b)
	}
	told := s.get(page+"?did=hoods", http.StatusOK)
	for _, want := range []string{"The hoods are on record.", "is short while others have their flow", "short of air", "has its air", "J. Roe", "67 %", `<a href="/c/DC-1/trim">Where the damper goes</a>`} {
		if !strings.Contains(told, want) {
			t.Errorf("the page does not say %q: %s", want, told[strings.Index(told, "<main"):])
		}
	}
	if text := s.get("/records?tag=DC-1", http.StatusOK); !strings.Contains(text, "2 hoods read.") {
		t.Error("the records do not tell of the hoods")
	}
}

// While they are typed the readings are only worked out; nothing goes on record, and what is wrong is a sentence.
func TestHoodsWhileTyped(t *testing.T) {
	s := byHand(t)
	before := len(s.records("DC-1"))
	if got := s.post("/c/DC-1/hoods", "dry=1&sp.table,+zone+1=1.35", http.StatusOK); !strings.Contains(got, "no hood that was read is short") && !strings.Contains(got, "No hood that was read is short") || !strings.Contains(got, "100 % of design") {
		t.Errorf("while typed: %s", got)
	}
	for form, want := range map[string]string{
		"":                                        "at least one hood",
		"sp.table,+zone+1=far+too+much":           "far too much",
		"sp.table,+zone+7=1.2":                    "no hood &#34;table, zone 7&#34; any more",
		"sp.table,+zone+1=1.2&temperature=-900":   "",
		"sp.table,+zone+1=99999":                  "more suction than a fan makes; look at its unit and at the decimal point. <a href=\"#fault-1\">",
		"sp.table,+zone+1=1.2&temperature=warmth": "Air in the ducts",
	} {
		if got := s.post("/c/DC-1/hoods", "by=J&caution=yes&"+form, http.StatusUnprocessableEntity); !strings.Contains(got, want) {
			t.Errorf("%q: want %q in %s", form, want, got[strings.Index(got, "<main"):])
		}
	}
	if n := len(s.records("DC-1")); n != before {
		t.Errorf("%d records came of what was typed or refused", n-before)
	}
}

// A collector without branches says what its file lacks.
func TestNoHoodsWithoutBranches(t *testing.T) {
	s := empty(t)
	text, _, _ := strings.Cut(machineFile("DC-7", "Bay 7"), "[[branch]]")
	s.post("/add", "by=J&toml="+url.QueryEscape(text), http.StatusSeeOther)
	if body := s.get("/c/DC-7/hoods", http.StatusOK); !strings.Contains(body, "add a [[branch]] for each") || strings.Contains(body, "<form") {
		t.Errorf("without branches: %s", body[strings.Index(body, "<main"):])
	}
	if got := s.post("/c/DC-7/hoods", "by=J&caution=yes&sp.x=1", http.StatusUnprocessableEntity); !strings.Contains(got, "[[branch]]") {
		t.Errorf("a reading without branches: %s", got)
	}
}

// The collector's page says how the ducts do.
func TestDuctsOnThePage(t *testing.T) {
	s := empty(t)
	s.enrol("DC-1", "Bay 3")
	s.hand("DC-1", 2.1, 2.2, 2.3, 2.2, 2.4, 2.5)
	page := s.get("/c/DC-1", http.StatusOK)
	if !strings.Contains(page, "<h2>Ducts</h2>") || !strings.Contains(page, "at the end of the filters&#39; life") || !strings.Contains(page, `<a href="/c/DC-1/hoods">Read the hoods</a>`) {
		t.Errorf("the page tells nothing of ducts: %s", page[strings.Index(page, "<main"):])
	}
}

// A program's readings are held against the collector as a person's are: what can't be is refused, and the page goes on showing what
// is known. What was read later counts, also where it came first, as a phone without signal sends it.
func TestHoodsOfAProgram(t *testing.T) {
	s := byHand(t)
	send := func(id, at, body string, want int) string {
		return s.post("/api/records", `{"id":"`+id+`","kind":"hood-reading","collector":"DC-1","by":"logger","at":"`+at+`","body":`+body+`}`, want, "Content-Type", "application/json")
	}
	const noon, before = "2026-06-16T12:00:00Z", "2026-06-16T06:00:00Z"
	for body, want := range map[string]string{
		`{"hoods":[{"branch":"zone 9","sp":-300}]}`:                                 "zone 9",
		`{"hoods":[{"branch":"table, zone 1","sp":-1e300}]}`:                        "more suction than a fan makes",
		`{"hoods":[{"branch":"table, zone 1"}]}`:                                    "leaves out its static pressure",
		`{"hoods":[{"branch":"table, zone 1","sp":-300}],"temperature":1000000000}`: "there is no air of",
	} {
		if got := send("x", noon, body, http.StatusUnprocessableEntity); !strings.Contains(got, want) {
			t.Errorf("%s: %s, want %q", body, got, want)
		}
	}
	send("later", noon, `{"hoods":[{"branch":"table, zone 1","sp":-336}]}`, http.StatusOK)
	send("earlier", before, `{"hoods":[{"branch":"table, zone 1","sp":-100}]}`, http.StatusOK)
	if page := s.get("/c/DC-1/hoods", http.StatusOK); !strings.Contains(page, "<td>-1.35 in. w.g.</td>") || strings.Contains(page, "short of air") {
		t.Errorf("what was read last is not what is shown: %s", page[strings.Index(page, "<main"):])
	}
}

// Of a hood of which nothing is known the last reading is held against the same range that the form asks with.
func TestAHoodOfWhichNothingIsKnown(t *testing.T) {
	s := empty(t)
	text, _, _ := strings.Cut(machineFile("DC-7", "Bay 7"), "[[branch]]")
	s.post("/add", "by=J&toml="+url.QueryEscape(text+"[[branch]]\nname = \"saw\"\ndiameter = \"7 in\"\nflow = \"1200 cfm\"\n"), http.StatusSeeOther)
	s.post("/c/DC-7/hoods", typed("sp.saw", "2"), http.StatusSeeOther)
	page := s.get("/c/DC-7/hoods", http.StatusOK)
	_, asks, _ := strings.Cut(page, "should show ")
	should, _, _ := strings.Cut(asks, " at ")
	if !strings.Contains(should, " to ") || !strings.Contains(page, "<td>"+should+"</td>") {
		t.Errorf("the form asks for %q, the table says otherwise: %s", should, page[strings.Index(page, "<main"):])
	}
	s.post("/c/DC-7/hoods", typed("sp.saw", "1"), http.StatusSeeOther) // about 3300 ft/min, give or take a fifth
	if told := s.get("/c/DC-7/hoods", http.StatusOK); !strings.Contains(told, "which this reading can&#39;t rule out") || strings.Contains(told, "it drops out there") {
		t.Errorf("what can't be told is told as sure: %s", told[strings.Index(told, "<main"):])
	}
	if !strings.Contains(page, "a safe stand at the port") {
		t.Error("the caution says nothing of the port")
	}
}

// A set point of a branch reads on record as the file has it.
func TestASetPointOfABranchOnRecord(t *testing.T) {
	s := byHand(t)
	s.post("/api/records", `{"id":"x","kind":"setpoint-change","collector":"DC-1","by":"J","at":"2026-06-16T12:00:00Z","body":{"keys":{"setpoints.high":"3.9 in.w.g.","branch.1.hood_sp":"-1.4 in.w.g."}}}`, http.StatusOK, "Content-Type", "application/json")
	if page := s.get("/records?tag=DC-1&q=setpoint", http.StatusOK); !strings.Contains(page, "Set branch.1.hood_sp to -1.4 in.w.g., setpoints.high to 3.9 in.w.g.") {
		t.Errorf("the records: %s", page[strings.Index(page, "<table"):])
	}
	if got := s.post("/c/DC-1/hoods", "dry=1&sp.table,+zone+1=1.35", http.StatusOK); !strings.Contains(got, `"\"table, zone 1\": `) {
		t.Errorf("while typed a hood is not called by its name: %s", got)
	}
}
