package web_test

import (
	"bytes"
	"errors"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"dustwright/judge"
	"dustwright/rehearse"
	"dustwright/sense/trace/tracetest"
	"dustwright/unit/unittest"
)

// worked is a plant with a bit of everything on record, entered by a reader in US units: logged and with trouble, read by hand, a
// start-up that stopped, work of each kind.
func worked(t *testing.T) *site {
	t.Helper()
	s := empty(t)
	s.run(s.enrol("DC-1", "Router hall"), 14, 10*time.Minute, rehearse.Fault{Cause: rehearse.GaugeLineBlocked, After: 10 * 24 * time.Hour, Severity: 1})
	s.enrol("DC-2", "Weld bay")
	s.hand("DC-2", 2.1, 2.2, 2.3, 2.2, 2.4, 5.5, 6.2)
	const who = "by=J&caution=yes&"
	for _, step := range []string{"arrival", "setting", "electrical", "air", "ducts", "rotation"} {
		action := "/c/DC-2/commission/" + step
		_, fields := formFields(t, s.get(action, http.StatusOK), action)
		v := fillIn(fields)
		s.post(action, v.Encode(), http.StatusSeeOther)
	}
	for _, sent := range [][2]string{{"/c/DC-2/commission/header", who + "pressure=40"}, {"/c/DC-2/round", who + "dp=3.1&header=58&sure=yes"}, {"/c/DC-2/bin", who + "mass=40&level=60"},
		{"/c/DC-2/filters", who + "row1=yes&before=6&after=0.8"}, {"/c/DC-2/trim", who + "to=54&flow=4150"}, {"/c/DC-2/check", who + "check=blow-lines&found=no"}} {
		s.post(sent[0], sent[1], http.StatusSeeOther)
	}
	s.upload("/c/DC-2/valves", "header.csv", []byte(tracetest.Generate(3, tracetest.Options{SNR: 25, Family: "tank", Valves: 6}).CSV()))
	return s
}

// upload sends a file with the form of the valves.
func (s *site) upload(path, name string, data []byte) {
	s.t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	f, err := m.CreateFormFile("recording", name)
	if err != nil {
		s.t.Fatal(err)
	}
	if _, err := f.Write(data); err != nil {
		s.t.Fatal(err)
	}
	if err := errors.Join(m.WriteField("by", "J. Roe"), m.WriteField("id", "heard"), m.Close()); err != nil {
		s.t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	s.answer(r, http.StatusSeeOther)
}

// asTyped are the places in which the units are the person's own, and the reason.
var asTyped = map[string]string{
	"toml": "the collector file stands as it was written",
	"note": "a person's note", "text": "a person's note", "claim": "a person's own words", "by": "a name", "reason": "a person's own words",
}

// said takes what a reader sees or hears of a page: its text, and what attributes show or have read out.
func said(t *testing.T, page string) string {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.DataAtom == atom.Script || n.DataAtom == atom.Style || asTyped[of(n, "name")] != "" {
			return
		}
		if n.Type == html.TextNode {
			b.WriteString(n.Data + " ")
		}
		for _, a := range n.Attr {
			switch a.Key {
			case "placeholder", "title", "alt", "aria-label", "value", "data-ask", "data-label", "data-outbox":
				b.WriteString(" " + a.Val + " ")
			}
		}
		for c := range n.ChildNodes() {
			walk(c)
		}
		if n.Type == html.ElementNode {
			b.WriteString("\n")
		}
	}
	walk(doc)
	return b.String()
}

// pagesFrom walks every page that a reader can come to, and those with something asked of them.
func pagesFrom(s *site, units string) map[string]string {
	todo := []string{"/", "/add", "/c/DC-2/done?did=reading", "/c/DC-1/rehearse?run=1&filters=new&header.interval=5",
		"/c/DC-1/traverse?shape=round&rule=log-tchebycheff&diameter=" + map[string]string{"us": "10", "si": "250"}[units], "/c/DC-1/traverse?shape=round&rule=method-1&diameter=20",
		"/c/DC-2/bench?valve=4&puff=no&opens=yes&closes=yes", "/c/DC-2/valves/heard", "/api/tasks", "/api/collectors"}
	for _, c := range judge.Checks() {
		todo = append(todo, "/c/DC-1/check?check="+url.QueryEscape(c.ID))
	}
	seen := map[string]string{}
	for len(todo) > 0 {
		path := todo[0]
		todo = todo[1:]
		if _, was := seen[path]; was || strings.HasPrefix(path, "/units") || strings.HasPrefix(path, "/assets") || strings.Contains(path, ".pdf") || strings.Contains(path, "?download") ||
			strings.Contains(path, "readings.") || strings.Contains(path, "manifest") || strings.HasPrefix(path, "/paper/") {
			continue
		}
		page := s.get(path, http.StatusOK, "Cookie", "units="+units)
		seen[path] = page
		doc, err := html.Parse(strings.NewReader(page))
		if err != nil {
			s.t.Fatal(err)
		}
		for n := range doc.Descendants() {
			if href := of(n, "href"); n.DataAtom == atom.A && strings.HasPrefix(href, "/") {
				path, _, _ := strings.Cut(href, "#")
				todo = append(todo, path)
			}
		}
	}
	return seen
}

// A reader sees one system of units: no sentence, figure, label, drawing or example of any page speaks the other's, whoever entered or
// judged what it tells.
func TestPagesSpeakOneSystem(t *testing.T) {
	s := worked(t)
	for units, other := range map[string]string{"us": "si", "si": "us"} {
		pages := pagesFrom(s, units)
		if trace := unittest.Foreign(other, said(t, pages["/c/DC-2/valves/heard"])); len(trace) == 0 {
			t.Error("the trace tells no quantity")
		}
		if len(pages) < 60 {
			t.Errorf("only %d pages were walked", len(pages))
		}
		own := 0
		for path, page := range pages {
			text := page
			if strings.HasPrefix(strings.TrimSpace(page), "<!doctype") {
				text = said(t, page)
			}
			if strings.HasPrefix(path, "/api/collectors") || strings.HasPrefix(path, "/c/") && strings.HasSuffix(path, "chart.svg") {
				text = sentencesOf(text) // figures in JSON are in SI, with their units beside them
			}
			for _, what := range unittest.Foreign(units, text) {
				t.Errorf("%s, %s: %s", path, units, what)
			}
			own += len(unittest.Foreign(other, text))
		}
		if own < 100 {
			t.Errorf("%s: quantities are told only %d times", units, own)
		}
	}
}

// sentencesOf leaves the units that stand beside figures in JSON out.
func sentencesOf(text string) string {
	for _, u := range []string{"Pa", "m/s", "m3/s", "Pa.s/m"} {
		text = strings.ReplaceAll(text, `nit":"`+u+`"`, "")
	}
	return text
}
