package web_test

import (
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"dustwright/plant"
)

// formFields are the fields of a page's form to an address, in order; "" of several forms the last.
func formFields(t testing.TB, page, action string) (form *html.Node, fields []*html.Node) {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	for n := range doc.Descendants() {
		if n.DataAtom == atom.Form && of(n, "action") == action && of(n, "method") == "post" {
			form = n
		}
	}
	if form == nil {
		t.Fatalf("no form to %s in %.2000s", action, page)
	}
	for n := range form.Descendants() {
		if (n.DataAtom == atom.Input || n.DataAtom == atom.Textarea || n.DataAtom == atom.Select) && of(n, "name") != "" {
			fields = append(fields, n)
		}
	}
	return form, fields
}

// of is an attribute; "-" where there is none.
func of(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return "-"
}

// numeric reports a field for a number.
func numeric(n *html.Node) bool {
	return of(n, "inputmode") == "decimal" || of(n, "inputmode") == "numeric"
}

// fillIn is a form as somebody fills it in who types into every field: each text another one, each number 7, every box ticked.
func fillIn(fields []*html.Node) url.Values {
	v := url.Values{}
	for i, n := range fields {
		name := of(n, "name")
		switch kind := of(n, "type"); {
		case kind == "hidden":
			v.Set(name, strings.TrimPrefix(of(n, "value"), "-"))
		case kind == "file":
		case kind == "checkbox":
			v.Set(name, of(n, "value"))
		case kind == "radio":
			if !v.Has(name) {
				v.Set(name, of(n, "value"))
			}
		case n.DataAtom == atom.Select:
			for o := range n.Descendants() {
				if o.DataAtom == atom.Option {
					v.Set(name, o.FirstChild.Data) // the last
				}
			}
		case numeric(n) && of(n, "value") == "-":
			v.Set(name, "7")
		case numeric(n):
			v.Set(name, of(n, "value"))
		default:
			v.Set(name, fmt.Sprintf("typed <%d> & kept", i))
		}
	}
	return v
}

// held is what a form holds, as a browser would send it again.
func held(fields []*html.Node) url.Values {
	v := url.Values{}
	for _, n := range fields {
		name := of(n, "name")
		switch kind := of(n, "type"); {
		case kind == "file" || (kind == "checkbox" || kind == "radio") && of(n, "checked") == "-":
		case n.DataAtom == atom.Textarea:
			if n.FirstChild != nil {
				v.Set(name, n.FirstChild.Data)
			}
		case n.DataAtom == atom.Select:
			for o := range n.Descendants() {
				if o.DataAtom == atom.Option && of(o, "selected") != "-" {
					v.Set(name, o.FirstChild.Data)
				}
			}
		default:
			v.Set(name, strings.TrimPrefix(of(n, "value"), "-"))
		}
	}
	return v
}

// refused sends a form with one field wrong and looks at what comes back: everything that was typed, the field marked and described.
func (s *site) refused(action string, sent url.Values, field string) {
	s.t.Helper()
	page := s.post(action, sent.Encode(), http.StatusUnprocessableEntity)
	form, fields := formFields(s.t, page, action)
	got := held(fields)
	for name := range sent {
		if name != "back" && name != "found" && got.Get(name) != sent.Get(name) {
			s.t.Errorf("%s, %s wrong: %s came back as %q, sent %q", action, field, name, got.Get(name), sent.Get(name))
		}
	}
	_, main, _ := strings.Cut(page, `<main id="main">`)
	told, caution := strings.Index(main, `<div class="question" role="alert">`), strings.Index(main, `class="caution"`)
	if first := strings.Index(main, "<form"); !strings.Contains(page, "<title>Not taken: ") || told < caution || told < 0 || told > first {
		s.t.Errorf("%s, %s wrong: the page does not say so at its head", action, field)
	}
	for _, n := range fields {
		if of(n, "name") != field || of(n, "type") == "hidden" {
			continue
		}
		told := ""
		for d := range form.Descendants() {
			if of(d, "id") != "-" && slices.Contains(strings.Fields(of(n, "aria-describedby")), of(d, "id")) {
				told = d.FirstChild.Data
			}
		}
		if of(n, "aria-invalid") != "true" || len(told) < 10 {
			s.t.Errorf("%s: %s is wrong, and is described by %q", action, field, told)
		}
		return
	}
	s.t.Errorf("%s: no field %s to mark", action, field)
}

// Without a script too, a form that is refused comes back as it was filled in, with the field at fault marked and described: for
// every form of the pages, a name left out, the caution not ticked, and nonsense in each field for a number.
func TestARefusedFormKeepsWhatWasTyped(t *testing.T) {
	s := byHand(t)
	nonsense := 0
	look := func(path, action string) url.Values {
		_, fields := formFields(t, s.get(path, http.StatusOK), action)
		good := fillIn(fields)
		with := func(name, value string) url.Values {
			v := url.Values{}
			for n := range good {
				v.Set(n, good.Get(n))
			}
			if v.Set(name, value); value == "" {
				v.Del(name)
			}
			return v
		}
		s.refused(action, with("by", ""), "by")
		if good.Has("caution") {
			s.refused(action, with("caution", ""), "caution")
		}
		for _, n := range fields {
			if numeric(n) {
				s.refused(action, with(of(n, "name"), `12 "bananas"`), of(n, "name"))
				nonsense++
			}
		}
		return good
	}
	for path, action := range map[string]string{"/c/DC-1/round": "/c/DC-1/round", "/c/DC-1/bin": "/c/DC-1/bin", "/c/DC-1/trim": "/c/DC-1/trim", "/c/DC-1/filters": "/c/DC-1/filters",
		"/c/DC-1/inspect": "/c/DC-1/inspect", "/c/DC-1/bench?valve=3": "/c/DC-1/bench", "/c/DC-1/bench?valve=3&puff=no&opens=yes&closes=yes": "/c/DC-1/repair",
		"/c/DC-1/traverse?shape=round&diameter=12&before=100&after=40&rule=log-tchebycheff": "/c/DC-1/traverse", "/c/DC-1/check?check=pilot-exhaust&number=2": "/c/DC-1/check", "/round": "/round",
		"/add": "/add", "/c/DC-1/file": "/add", "/c/DC-1/valves": "/c/DC-1/valves"} {
		look(path, action)
	}
	for _, step := range []string{"arrival", "setting", "electrical", "air", "ducts", "rotation", "header", "pulse", "setpoints", "covers", "airflow", "interlock"} {
		action := "/c/DC-1/commission/" + step
		good := look(action, action)
		for name, v := range map[string]string{"current": "10", "pressure": "60", "before": "60", "low": "2", "high": "4", "flow": "4300", "dp": "1"} {
			if good.Has(name) {
				good.Set(name, v)
			}
		}
		s.post(action, good.Encode(), http.StatusSeeOther)
	}
	if list := s.records("DC-1", plant.KindArrival); len(list) != 1 || !strings.Contains(string(list[0].Body), `kept"`) {
		t.Errorf("the damage to claim is not on record: %s", list[0].Body)
	}
	if nonsense < 40 {
		t.Errorf("only %d numbers were tried", nonsense)
	}
}

// What can't be is refused where it was typed, and of a form for a collector's file every fault is told at its field.
func TestEveryFaultIsToldAtItsField(t *testing.T) {
	s := byHand(t)
	who := "by=J.+Roe&caution=yes&back=%2Fnowhere&"
	for form, want := range map[string][2]string{"/c/DC-1/trim?to=140": {"to", "between 0 % and 100 %"}, "/c/DC-1/bin?level=400": {"level", "between 0 % and 100 %"}, "/c/DC-1/bin?mass=-3": {"mass", "be negative"},
		"/c/DC-1/filters?note=x": {"row1", "at least one row"}, "/c/DC-1/valves?x=": {"recording", "Choose a recording"}} {
		path, q, _ := strings.Cut(form, "?")
		page := s.post(path, who+q, http.StatusUnprocessableEntity)
		_, fields := formFields(t, page, path)
		marked := ""
		for _, n := range fields {
			if of(n, "aria-invalid") == "true" {
				marked += of(n, "name")
			}
		}
		if marked != want[0] || !strings.Contains(page, want[1]) {
			t.Errorf("%s: %q is marked, want %q told with %q", form, marked, want[0], want[1])
		}
	}
	page := s.post("/add", "by=J&tag=DC-9&duty.flow=much&filters.rows=six", http.StatusUnprocessableEntity)
	if strings.Count(page, `aria-invalid="true"`) != 2 || strings.Count(page, `class="fault"`) != 2 || strings.Count(page, `href="#fault-`) != 2 {
		t.Errorf("two faults: %.3000s", page)
	}
}

// A page can't fill in a file again: it says so, and keeps the rest. Where the form is nowhere any more, what was typed is shown.
func TestWhatAPageCantFillInIsSaid(t *testing.T) {
	s := byHand(t)
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, v := range map[string]string{"by": "J. Roe", "dp": "two", "note": "line one\nline two"} {
		if err := m.WriteField(name, v); err != nil {
			t.Fatal(err)
		}
	}
	f, err := m.CreateFormFile("photo", "gauge.jpg")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(f, "a photo"); err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, "/c/DC-1/round", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	page := s.answer(r, http.StatusUnprocessableEntity)
	_, fields := formFields(t, page, "/c/DC-1/round")
	if v := held(fields); v.Get("note") != "line one\nline two" || v.Get("dp") != "two" || !strings.Contains(page, "Choose the file gauge.jpg again") || !strings.Contains(page, "<details open") {
		t.Errorf("note %q, dp %q: %.3000s", v.Get("note"), v.Get("dp"), page)
	}
	if page := s.post("/c/DC-1/note", "by=&text=the+belt+squeals", http.StatusUnprocessableEntity); !strings.Contains(page, "the belt squeals") || !strings.Contains(page, "Say who you are") {
		t.Errorf("a form that stands nowhere: %s", page)
	}
	for _, back := range []string{"//elsewhere/c/DC-1/round", "/api/collectors", "http://elsewhere/", "/units?to=si", "not a path"} {
		if page := s.post("/c/DC-1/bin", url.Values{"by": {"J"}, "caution": {"yes"}, "mass": {"much"}, "back": {back}}.Encode(), http.StatusUnprocessableEntity); !strings.Contains(page, "much") {
			t.Errorf("said to stand on %s, what was typed is lost", back)
		}
	}
}

// The form that lays a traverse out asks with its address, and keeps what was typed as well.
func TestALaidOutTraverseThatCantBeKeepsWhatWasTyped(t *testing.T) {
	s := byHand(t)
	for ask, marked := range map[string]string{"shape=rect&width=20&height=wide&rule=method-1": "height", "shape=round&diameter=2&before=50&rule=method-1": "diameter"} {
		page := s.get("/c/DC-1/traverse?"+ask, http.StatusOK)
		q, err := url.ParseQuery(ask)
		if err != nil {
			t.Fatal(err)
		}
		for name := range q {
			if name != "rule" && name != "shape" && !strings.Contains(page, `name="`+name+`" inputmode="decimal"`) || !strings.Contains(page, `value="`+q.Get(name)+`"`) && name != "rule" {
				t.Errorf("%s: %s is lost", ask, name)
			}
		}
		if i := strings.Index(page, `aria-invalid="true"`); i < 0 || !strings.Contains(page[max(0, i-200):i], `name="`+marked+`"`) {
			t.Errorf("%s: %s is not marked", ask, marked)
		}
	}
}
