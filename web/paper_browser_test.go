package web_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"dustwright/plant"
	"dustwright/report/paper"
	"dustwright/sense/trace/tracetest"
	"dustwright/store"
	"dustwright/web"
)

// papers are two of those the program prints: one of a collector, one of the plant.
func papers(s *store.Store, service *plant.Service) []web.Paper {
	setup := paper.Setup{Format: paper.A4, Zone: time.UTC, Made: season}
	return []web.Paper{
		{Name: "certificate.pdf", Title: "Commissioning certificate", Type: "application/pdf", Write: func(ctx context.Context, w io.Writer, r web.PaperRequest) error {
			_, c, err := service.Machine(ctx, r.Tag)
			if err != nil {
				return err
			}
			records, err := s.Records(ctx, plant.RecordQuery{Collector: r.Tag, Kinds: []plant.Kind{plant.KindCommissioning}})
			if err != nil {
				return err
			}
			return paper.Certificate(w, setup, c, records)
		}},
		{Name: "month.pdf", Title: "Pressure-drop log of a month", Type: "text/plain", Write: func(_ context.Context, w io.Writer, r web.PaperRequest) error {
			_, err := io.WriteString(w, r.Month.Format("2006-01"))
			return err
		}},
		{Name: "labels.pdf", Title: "QR labels", Type: "application/pdf", Whole: true, Write: func(ctx context.Context, w io.Writer, r web.PaperRequest) error {
			v, err := service.View(ctx)
			if err != nil {
				return err
			}
			var stops []paper.Stop
			for _, o := range v.Walk {
				stops = append(stops, paper.Stop{Collector: o.Collector, Address: r.Base + "/c/" + o.Machine.Tag})
			}
			return paper.Labels(w, setup, stops)
		}},
	}
}

// copying keeps the last sheet that a browser got.
type copying struct {
	next http.Handler
	mu   sync.Mutex
	kind string
	pdf  []byte
}

func (c *copying) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if !strings.HasSuffix(r.URL.Path, ".pdf") {
		c.next.ServeHTTP(w, r)
		return
	}
	r.Header.Del("Accept-Encoding")
	got := httptest.NewRecorder()
	c.next.ServeHTTP(got, r)
	maps.Copy(w.Header(), got.Header())
	w.WriteHeader(got.Code)
	_, _ = w.Write(got.Body.Bytes()) // a browser that left has no sheet, and the test says so
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kind, c.pdf = got.Header().Get("Content-Type"), got.Body.Bytes()
}

// follow follows a link to a sheet, as a person does, and returns the sheet the browser was given and opened.
func (c *copying) follow(t *testing.T, ctx context.Context, sel string) []byte {
	t.Helper()
	want := eval[string](t, ctx, `document.querySelector(`+strconv.Quote(sel)+`).href`)
	do(t, ctx, press(sel))
	waitFor(t, func() bool {
		where, err := chromedp.Run(ctx, chromedp.Location())
		return err == nil && where == want
	})
	if kind := eval[string](t, ctx, "document.contentType"); kind != "application/pdf" {
		t.Errorf("the browser takes %s for %s", want, kind)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.kind != "application/pdf" || !bytes.HasPrefix(c.pdf, []byte("%PDF-")) {
		t.Errorf("%s is %s: %.20q", want, c.kind, c.pdf)
	}
	return c.pdf
}

// textOf is what an independent reader of PDF takes out of a sheet.
func textOf(t *testing.T, pdf []byte) string {
	t.Helper()
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext (poppler-utils) is absent: what a reader takes out of the sheet is not checked")
	}
	cmd := exec.CommandContext(t.Context(), reader, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	text, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The labels of the round are printed from the page of records; a label before the camera leads to its stop.
func TestLabelsArePrintedAndScanned(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	s.enrol("DC-1", "Router hall")
	s.enrol("DC-2", "Weld bay")
	phone := tab(t, 390, 844, "light")
	h := &copying{next: s.web}
	l := connect(t, h)
	do(t, phone, chromedp.Navigate(l.url("/records")), chromedp.WaitVisible(chromedp.CSS(".links")))
	text := textOf(t, h.follow(t, phone, `.links a[href="/paper/labels.pdf"]`))
	for _, want := range []string{"DC-1", "Router hall", "DC-2", "Weld bay"} {
		if !strings.Contains(text, want) {
			t.Errorf("the labels lack %q:\n%s", want, text)
		}
	}
	// The camera is the browser's invented one, and reading a label out of its picture is the browser's work, which
	// the one of the tests does not do: both stand in.
	do(t, phone, chromedp.Navigate(l.url("/round")), chromedp.WaitVisible(chromedp.CSS("#stops")))
	eval[bool](t, phone, `(() => {
		window.BarcodeDetector = class { async detect(video) { return video.videoWidth ? [{ rawValue: "`+l.url("/c/DC-2")+`" }] : []; } };
		scan();
		return true;
	})()`)
	do(t, phone, chromedp.WaitVisible(chromedp.CSS("#pad")))
	if where := eval[string](t, phone, "location.pathname"); where != "/c/DC-2/round" {
		t.Errorf("the label leads to %s", where)
	}
}

// deadTrace is a header trace of six valves in which one is dead, with the file of its collector.
func deadTrace(t *testing.T) (file, path string, dead int) {
	t.Helper()
	for seed := uint64(1); seed < 2000; seed++ {
		c := tracetest.Generate(seed, tracetest.Options{SNR: 25, Family: "tank", Valves: 6})
		bad := 0
		for i, state := range c.Truth {
			if state != tracetest.OK {
				bad++
				dead = i + 1
			}
		}
		tags := strings.Join(c.Tags, " ")
		if bad != 1 || c.Truth[dead-1] != tracetest.Dead || !strings.Contains(tags, "supply-good") || !strings.Contains(tags, "marks-commanded") {
			continue
		}
		path = filepath.Join(t.TempDir(), "header.csv")
		if err := os.WriteFile(path, []byte(c.CSV()), 0o600); err != nil {
			t.Fatal(err)
		}
		file = strings.NewReplacer(`volume = "20 L"`, fmt.Sprintf(`volume = "%.1f L"`, 1000*c.Volume), `set = "60 psi"`, fmt.Sprintf(`set = "%.1f psi"`, c.Set/6894.757),
			`on_time = "150 ms"`, fmt.Sprintf(`on_time = "%.0f ms"`, 1000*c.OnTime), `interval = "10 s"`, fmt.Sprintf(`interval = "%g s"`, c.Interval),
			"valve_flow = \"18 Cv\"\n", "", "supply_flow = \"20 scfm\"\n", "").Replace(machineFile("DC-1", "Router hall"))
		return file, path, dead
	}
	t.Fatal("no such trace")
	return "", "", 0
}

// A header-pressure trace is uploaded where recordings are, and the dead valve found.
func TestATraceShowsTheDeadValve(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	file, path, dead := deadTrace(t)
	if _, err := s.service.Enrol(t.Context(), []byte(file), "a person", plant.NewID()); err != nil {
		t.Fatal(err)
	}
	phone := tab(t, 390, 844, "light")
	l := connect(t, s.web)
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/valves")), chromedp.SetUploadFiles(chromedp.CSS("[name=recording]"), []string{path}),
		chromedp.SetValue(chromedp.CSS("main form [name=by]"), "J. Roe"), press("main form > button"), chromedp.WaitVisible(chromedp.CSS(".strip")))
	shot(t, phone, "strip")
	if bad := eval[string](t, phone, `[...document.querySelectorAll(".strip .needs-hands b")].map(b => b.textContent).join()`); bad != fmt.Sprint("Valve ", dead) {
		t.Errorf("found bad: %q, want valve %d\n%s", bad, dead, eval[string](t, phone, `document.querySelector("main").innerText`))
	}
	if list := s.records("DC-1", plant.KindValveCheck); len(list) != 1 || !strings.Contains(string(list[0].Body), `"by":"trace"`) {
		t.Errorf("on record: %v", list)
	}
}

// The page records through the microphone, hands a WAV over as if it had been chosen, and sends it.
func TestThePageRecords(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	s.enrol("DC-1", "Router hall")
	phone := tab(t, 390, 844, "light")
	l := connect(t, s.web)
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/valves")), chromedp.WaitVisible(chromedp.CSS("#record")))
	eval[bool](t, phone, `(document.querySelector("#record").dataset.seconds = "2", true)`) // the length of a cycle would only take longer
	do(t, phone, press("#record"))
	until(t, phone, `document.querySelector("[name=recording]").files.length === 1`)
	shot(t, phone, "recorded")
	got := eval[string](t, phone, `document.querySelector("[name=recording]").files[0].arrayBuffer().then(b => {
		const v = new DataView(b), text = (at) => String.fromCharCode(...new Uint8Array(b, at, 4));
		let loud = 0;
		for (let i = 44; i + 1 < b.byteLength; i += 2) loud = Math.max(loud, Math.abs(v.getInt16(i, true)));
		return [text(0), text(8), v.getUint16(22, true), v.getUint16(34, true), (b.byteLength - 44) / 2 / v.getUint32(24, true) > 1.5, loud > 1000].join();
	})`)
	if got != "RIFF,WAVE,1,16,true,true" {
		t.Errorf("what is handed over is %s, want one channel of 16 bits, two seconds, not silent", got)
	}
	do(t, phone, chromedp.SetValue(chromedp.CSS("main form [name=by]"), "J. Roe"), press("main form > button"), chromedp.WaitVisible(chromedp.CSS(".question, .strip")))
	shot(t, phone, "answered")
	if told := eval[string](t, phone, `document.querySelector("main").innerText`); !strings.Contains(told, "record at least one whole cleaning cycle") {
		t.Errorf("two seconds of it are answered with\n%s", told)
	}
}
