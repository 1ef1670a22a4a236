package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
)

// Whatever is typed into the pages' forms is taken or answered with a sentence: never a failure of ours, and the chain
// holds after it.
func FuzzForms(f *testing.F) {
	f.Add("/c/DC-1/round", "by=J&dp=2.45&header=60&note=x")
	f.Add("/c/DC-1/round", "by=J&dp=-1e999&at=2026-06-16T08:30:00-06:00&id=a")
	f.Add("/c/DC-1/filters", "by=J&caution=yes&row1=yes&new1=A7&before=3,9&look0=ok")
	f.Add("/c/DC-1/bin", "by=J&caution=yes&mass=40+lb&level=60")
	f.Add("/c/DC-1/trim", "by=J&caution=yes&to=NaN")
	f.Add("/c/DC-1/check", "by=J&caution=yes&check=pilot-exhaust&number=-4&found=yes")
	f.Add("/c/DC-1/bench", "by=J&caution=yes&valve=4&puff=no&opens=yes&closes=yes")
	f.Add("/c/DC-1/traverse", "dry=1&shape=round&diameter=16&rule=method-1&p0=0.5&p1=0.6&temperature=900")
	f.Add("/c/DC-1/traverse", "dry=1&shape=rect&width=1e-9&height=1e9&rule=log-tchebycheff")
	f.Add("/c/DC-1/air", "by=J&caution=yes&decayFrom=60&decayTo=45&decayTime=90&leak=NaN&dewPoint=-1e999")
	f.Add("/c/DC-1/air", "by=J&caution=yes&backFrom=60&backLow=38&backTime=4&compressorPower=1e300&compressorFlow=1e-300")
	f.Add("/c/DC-1/hoods", "by=J&caution=yes&sp.table,+zone+1=-1.2&sp.table,+zone+2=0&temperature=95")
	f.Add("/c/DC-1/hoods", "dry=1&sp.table,+zone+1=1e300&sp.x=NaN&temperature=-900")
	f.Add("/c/DC-1/commission/arrival", "by=J&caution=yes&order=ok&damage=not-ok")
	f.Add("/add", "by=J&toml=tag+%3D+%22DC-2%22")
	f.Add("/api/records", `[{"id":"x","kind":"reading","by":"J","collector":"DC-1","body":{"values":{"dp":1e308}}}]`)
	s := empty(f)
	s.enrol("DC-1", "Weld bay")
	f.Fuzz(func(t *testing.T, path, form string) {
		if !strings.HasPrefix(path, "/") || len(form) > 4096 {
			return
		}
		r := httptest.NewRequest(http.MethodPost, "/", strings.NewReader(form))
		r.URL = &url.URL{Path: path}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		s.web.ServeHTTP(w, r)
		if w.Code >= 500 {
			t.Fatalf("%s %q: %d %s", path, form, w.Code, w.Body)
		}
		if _, _, err := s.store.Verify(t.Context()); err != nil {
			t.Fatal(err)
		}
	})
}
