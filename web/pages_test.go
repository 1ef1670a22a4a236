package web_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"flag"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"dustwright/judge"
	"dustwright/plant"
)

var update = flag.Bool("update", false, "write what the pages are into testdata")

// golden compares a page's main part with what is kept of it.
func golden(t *testing.T, name, page string) {
	t.Helper()
	_, page, _ = strings.Cut(page, `<header>`)
	page, _, _ = strings.Cut(page, `</main>`)
	page = regexp.MustCompile(`name="id" value="[0-9a-f]{32}"`).ReplaceAllString(page, `name="id" value="ID"`)
	page = regexp.MustCompile(`(?s)<svg.*?</svg>`).ReplaceAllStringFunc(page, func(svg string) string {
		return "[" + regexp.MustCompile(`aria-label="[^"]*"|aria-hidden`).FindString(svg) + "]"
	})
	page = regexp.MustCompile(`\n\s*\n+`).ReplaceAllString(page, "\n")
	path := filepath.Join("testdata", name+".golden")
	if *update {
		if err := os.WriteFile(path, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if page != string(want) {
		t.Errorf("the page %s is not what is kept of it; look, and run with -update if it is right\n%s", name, page)
	}
}

// byHand is a plant read by hand: few numbers, and none of them the simulation's.
func byHand(t *testing.T) *site {
	t.Helper()
	s := empty(t)
	s.enrol("DC-1", "Plasma cutting table, bay 3")
	s.hand("DC-1", 2.1, 2.2, 2.3, 2.2, 2.4, 2.5)
	return s
}

func TestSnapshots(t *testing.T) {
	s := byHand(t)
	for name, path := range map[string]string{"round": "/round", "stop": "/c/DC-1/round", "filters": "/c/DC-1/filters", "bench": "/c/DC-1/bench?valve=4",
		"verdict": "/c/DC-1/bench?valve=4&puff=no&opens=yes&closes=no", "trim": "/c/DC-1/trim?new=1", "hoods": "/c/DC-1/hoods", "air": "/c/DC-1/air", "air_typed": "/c/DC-1/air?units=si&decayFrom=414&decayTo=310&decayTime=20&dewPoint=5", "bin": "/c/DC-1/bin", "commission": "/c/DC-1/commission",
		"step": "/c/DC-1/commission/arrival", "traverse": "/c/DC-1/traverse?shape=round&diameter=16&rule=log-tchebycheff&before=200&after=60", "check": "/c/DC-1/check?check=pilot-exhaust&number=4"} {
		t.Run(name, func(t *testing.T) { golden(t, name, s.get(path, http.StatusOK)) })
	}
	golden(t, "welcome", empty(t).get("/", http.StatusOK))
}

// A page of hands-on work opens with its caution: nothing but the head of the page stands before it.
func TestCautionsOpenTheirPages(t *testing.T) {
	s := byHand(t)
	for path, id := range map[string]string{"/round": "live", "/c/DC-1/round": "live", "/c/DC-1/check?check=cake": "open-collector", "/c/DC-1/valves": "live", "/c/DC-1/bench": "compressed-air",
		"/c/DC-1/traverse": "traverse", "/c/DC-1/hoods": "live", "/c/DC-1/trim": "live", "/c/DC-1/air": "compressed-air", "/c/DC-1/filters": "open-collector", "/c/DC-1/bin": "bin", "/c/DC-1/inspect": "open-collector", "/c/DC-1/commission": "open-collector",
		"/c/DC-1/commission/arrival": "open-collector"} {
		_, main, _ := strings.Cut(s.get(path, http.StatusOK), `<main id="main">`)
		box := strings.Index(main, `class="caution"`)
		text := strings.Index(strings.ToLower(strings.NewReplacer("&#39;", "'").Replace(main)), strings.ToLower(judge.Caution(id).String()[:30]))
		if first := strings.Index(main, "<form"); box < 0 || text < box || first >= 0 && first < box || box > 60 {
			t.Errorf("%s does not open with the caution %s", path, id)
		}
		if !strings.Contains(main, "licensed practice come first") {
			t.Errorf("%s does not say what comes first", path)
		}
	}
}

func TestWorkWithoutTheCautionReadIsNotTaken(t *testing.T) {
	s := byHand(t)
	for path, form := range map[string]string{"/c/DC-1/filters": "row1=yes", "/c/DC-1/bin": "mass=40", "/c/DC-1/hoods": "sp.table,+zone+1=1.2", "/c/DC-1/trim": "to=50", "/c/DC-1/air": "dewPoint=38", "/c/DC-1/bench": "valve=4&puff=no&opens=yes&closes=yes",
		"/c/DC-1/repair": "valve=4&part=pilot", "/c/DC-1/inspect": "look0=ok", "/round": "", "/c/DC-1/commission/arrival": "order=ok&damage=ok", "/c/DC-1/check": "check=cake&found=yes"} {
		before := len(s.records(""))
		if body := s.post(path, "by=J.+Roe&"+form, http.StatusUnprocessableEntity); !strings.Contains(body, "Read the caution") {
			t.Errorf("%s says %.200s", path, body)
		}
		if n := len(s.records("")); n != before {
			t.Errorf("%s took a record all the same", path)
		}
		s.post(path, "by=J.+Roe&caution=yes&"+form, http.StatusSeeOther)
		if n := len(s.records("")); n <= before {
			t.Errorf("%s with the caution read took nothing", path)
		}
	}
}

// Without a script the same page asks, and takes the value once the box is ticked; the same form sent twice counts once.
func TestAnImpossibleValueIsQuestionedNeverRefused(t *testing.T) {
	s := byHand(t)
	form := url.Values{"by": {"J. Roe"}, "id": {"once"}, "dp": {"26"}}
	if page := s.post("/c/DC-1/round", form.Encode(), http.StatusOK); !strings.Contains(page, `name="sure"`) || !strings.Contains(page, `value="26"`) {
		t.Errorf("the page does not ask: %s", page)
	}
	form.Set("sure", "yes")
	before := len(s.records("DC-1", plant.KindReading))
	for range 3 {
		s.post("/c/DC-1/round", form.Encode(), http.StatusSeeOther)
	}
	if n := len(s.records("DC-1", plant.KindReading)); n != before+1 {
		t.Errorf("sent three times under one ID, kept %d times", n-before)
	}
}

func TestWrongInputIsToldInASentence(t *testing.T) {
	s := byHand(t)
	for form, want := range map[string]string{"by=J&dp=two": "two", "dp=2.5": "Say who you are", "by=J&dp=2.5+psia": "psia", "by=J&dp=2&at=noon": "can't be read"} {
		if body := s.post("/c/DC-1/round", form, http.StatusUnprocessableEntity, "Accept", "application/json"); !strings.Contains(body, want) {
			t.Errorf("%s: %s, want %q", form, body, want)
		}
	}
	s.post("/add", "by=J&tag=DC-7&duty.flow=4200", http.StatusUnprocessableEntity)
	s.post("/add", url.Values{"by": {"J"}, "tag": {"DC-7"}, "duty.flow": {"4200 cfm"}, "filters.rows": {"4"}, "filters.per_row": {"1"}, "filters.area_each": {"215 ft2"}}.Encode(), http.StatusSeeOther)
	s.get("/c/DC-7", http.StatusOK)
}

// A first visit stays below 200 kB compressed and a later one below 30 kB; what did not change is not sent again.
func TestVisitsAreSmall(t *testing.T) {
	s := plantOfThree(t)
	fetch := func(path, etag string) (*httptest.ResponseRecorder, int) {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.Header.Set("Accept-Encoding", "gzip")
		if etag != "" {
			r.Header.Set("If-None-Match", etag)
		}
		w := httptest.NewRecorder()
		s.web.ServeHTTP(w, r)
		return w, w.Body.Len()
	}
	var first, later int
	page, n := fetch("/c/DC-1", "")
	first += n
	z, err := gzip.NewReader(bytes.NewReader(page.Body.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	if _, err := text.ReadFrom(z); err != nil {
		t.Fatal(err)
	}
	for _, a := range regexp.MustCompile(`/assets/[^"]+`).FindAllString(text.String(), -1) {
		w, n := fetch(a, "")
		if first += n; !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s is not kept by the browser", a)
		}
	}
	for _, path := range []string{"/", "/c/DC-2"} {
		_, n := fetch(path, "")
		later += n
	}
	if again, n := fetch("/c/DC-1", page.Header().Get("ETag")); again.Code != http.StatusNotModified || n != 0 {
		t.Errorf("an unchanged page is sent again: %d, %d bytes", again.Code, n)
	}
	t.Logf("first visit %d bytes, two more pages %d bytes", first, later)
	if first > 200<<10 || later > 30<<10 {
		t.Errorf("first visit %d bytes, two more pages %d bytes", first, later)
	}
}

// What the API answers has the fields its document says, and takes what it says.
func TestTheAPIKeepsItsDocument(t *testing.T) {
	s := byHand(t)
	var doc struct {
		Paths map[string]map[string]struct {
			Responses map[string]struct {
				Content map[string]struct{ Schema map[string]any }
			}
		}
	}
	if err := json.Unmarshal([]byte(s.get("/api/openapi.json", http.StatusOK)), &doc); err != nil {
		t.Fatal(err)
	}
	for path, ops := range doc.Paths {
		get, ok := ops["get"]
		if !ok {
			continue
		}
		var got any
		if err := json.Unmarshal([]byte(s.get(strings.Replace(path, "{tag}", "DC-1", 1), http.StatusOK)), &got); err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		fits(t, path, got, get.Responses["200"].Content["application/json"].Schema)
	}
	record := `{"id":"logger-1","kind":"reading","collector":"DC-1","by":"logger","at":"2026-06-16T09:10:00Z","body":{"values":{"dp":622.7}}}`
	for range 2 {
		s.post("/api/records", record, http.StatusOK, "Content-Type", "application/json")
	}
	if n := strings.Count(s.get("/api/records?kind=reading&tag=DC-1", http.StatusOK), "logger-1"); n != 1 {
		t.Errorf("the record sent twice is kept %d times", n)
	}
	s.post("/api/collectors?by=J.+Roe", machineFile("DC-5", "Bag dump"), http.StatusOK)
	s.get("/api/collectors/DC-5", http.StatusOK)
	if body := s.post("/api/records", `{"kind":"readng"}`, http.StatusUnprocessableEntity); !strings.Contains(body, "error") {
		t.Error(body)
	}
	s.get("/api/collectors/none", http.StatusNotFound)
}

// fits checks an answer against the part of JSON schema that the document uses.
func fits(t *testing.T, where string, got any, schema map[string]any) {
	t.Helper()
	switch v := got.(type) {
	case []any:
		items, _ := schema["items"].(map[string]any)
		for _, x := range v {
			fits(t, where+"[]", x, items)
		}
	case map[string]any:
		if some, ok := schema["anyOf"].([]any); ok {
			schema = some[0].(map[string]any)
		}
		props, known := schema["properties"].(map[string]any)
		required, _ := schema["required"].([]any)
		for _, name := range required {
			if _, ok := v[name.(string)]; !ok {
				t.Errorf("%s has no %s", where, name)
			}
		}
		for name, x := range v {
			if p, ok := props[name].(map[string]any); ok {
				fits(t, where+"."+name, x, p)
			} else if known {
				t.Errorf("%s.%s is not in the document", where, name)
			}
		}
	}
}
