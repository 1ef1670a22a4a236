package web_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"dustwright/plant"
)

// lossy is a server whose answers to entries can be lost: the entry arrives, the phone never hears of it.
type lossy struct {
	next http.Handler
	lose atomic.Bool
	lost atomic.Int32
}

func (l *lossy) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method == http.MethodPost && l.lose.Load() {
		l.next.ServeHTTP(httptest.NewRecorder(), r)
		l.lost.Add(1)
		panic(http.ErrAbortHandler)
	}
	l.next.ServeHTTP(w, r)
}

func picture(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "gauge.png")
	// the smallest PNG: one pixel
	png := "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x06\x00\x00\x00\x1f\x15\xc4\x89\x00\x00\x00\rIDATx\x9cc\xf8\xff\xff?\x00\x05\xfe\x02\xfe\xa75\x81\x84\x00\x00\x00\x00IEND\xaeB`\x82"
	if err := os.WriteFile(path, []byte(png), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A whole round on a phone: started with signal, done without, with a photo; then the answer to the first
// send is lost and the page is closed; in the end the server has each entry exactly once.
func TestARoundWithoutSignalIsSentExactlyOnce(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now()) // the phone's clock can't be turned
	s.enrol("DC-1", "Plasma cutting table, bay 3")
	s.enrol("DC-2", "Weld bay")
	s.hand("DC-1", 2.1, 2.2, 2.3)
	h := &lossy{next: s.web}
	l := connect(t, h)
	phone := tab(t, 390, 844, "light")

	do(t, phone, chromedp.Navigate(l.url("/round")), chromedp.WaitVisible("#stops"))
	until(t, phone, `document.documentElement.dataset.kept === "4"`)
	do(t, phone, chromedp.SetValue(chromedp.CSS("input[name=by]"), "J. Roe"), chromedp.Click(chromedp.CSS("input[name=caution]")),
		chromedp.Click(chromedp.CSS("form button")), chromedp.WaitVisible("#pad"))
	if n := len(s.records("", plant.KindCaution)); n != 1 {
		t.Fatalf("the caution read at the start stands %d times on record, want once", n)
	}

	l.cut()
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/round")), chromedp.WaitVisible("#pad"))
	for _, key := range []string{"2", ".", "4"} {
		eval[bool](t, phone, `(() => { [...document.querySelectorAll("#pad button")].find(b => b.textContent === "`+key+`").click(); return true })()`)
	}
	eval[bool](t, phone, `(() => { [...document.querySelectorAll("#pad button")].find(b => b.textContent === "+0.05").click(); return true })()`)
	if got := eval[string](t, phone, `document.querySelector("#dp").value`); got != "2.45" {
		t.Errorf("the pad wrote %q, want 2.45", got)
	}
	do(t, phone, chromedp.Click(chromedp.CSS("details summary")), chromedp.SetUploadFiles(chromedp.CSS("input[name=photo]"), []string{picture(t)}),
		chromedp.SetValue(chromedp.CSS("textarea[name=note]"), "gauge glass cracked"))
	shot(t, phone, "stop")
	do(t, phone, chromedp.Click(chromedp.CSS(".go button")), chromedp.WaitVisible(".kept"))
	until(t, phone, `!document.querySelector("#waiting").hidden && document.querySelector("#waiting").textContent.includes("1 entry waits")`)
	shot(t, phone, "kept")

	// the second stop, still without signal, with a value that can't be
	do(t, phone, chromedp.Click(chromedp.CSS(".go a")), chromedp.WaitVisible("#pad"))
	do(t, phone, chromedp.SetValue(chromedp.CSS("#dp"), "26"), chromedp.Click(chromedp.CSS(".go button")), chromedp.WaitVisible(".question"))
	shot(t, phone, "question")
	do(t, phone, chromedp.Click(chromedp.CSS(".go button")), chromedp.WaitVisible(".kept"))
	until(t, phone, `document.querySelector("#waiting").textContent.includes("2 entries wait")`)

	// signal again, but the answer to the first send is lost and the page is closed
	h.lose.Store(true)
	l.mend()
	eval[bool](t, phone, `(window.dispatchEvent(new Event("online")), true)`)
	until(t, phone, `true`)
	waitFor(t, func() bool { return h.lost.Load() > 0 })
	do(t, phone, chromedp.Navigate("about:blank"))
	h.lose.Store(false)
	do(t, phone, chromedp.Navigate(l.url("/")), chromedp.WaitVisible("article"))
	until(t, phone, `document.querySelector("#waiting").hidden`)
	waitFor(t, func() bool { return len(s.records("", plant.KindReading)) == 3+2 })

	one := s.records("DC-1", plant.KindReading)
	body, err := plant.Open(one[len(one)-1])
	if err != nil {
		t.Fatal(err)
	}
	r := body.(*plant.Reading)
	if !near(r.Values["dp"], 2.45*249.08891, 1e-9) || r.Note != "gauge glass cracked" || r.Photo == "" || one[len(one)-1].By != "J. Roe" {
		t.Errorf("the record is %+v by %s", r, one[len(one)-1].By)
	}
	if b, err := s.store.Blob(r.Photo); err != nil {
		t.Errorf("the photo: %v", err)
	} else if err := b.Close(); err != nil {
		t.Error(err)
	}
	if two := s.records("DC-2", plant.KindReading); len(two) != 1 || !strings.Contains(string(two[0].Body), "6476") {
		t.Errorf("DC-2 has %d readings: %+v", len(two), two)
	}
	if n, _, err := s.store.Verify(t.Context()); err != nil || n == 0 {
		t.Errorf("the chain of %d records: %v", n, err)
	}
}
