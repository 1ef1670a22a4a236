package web_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"dustwright/feed/sound"
	"dustwright/plant"
	"dustwright/sense/ear/eartest"
)

// press clicks the button of the main form.
func press(sel string) chromedp.Action[chromedp.Void] { return chromedp.Click(chromedp.CSS(sel)) }

// sign fills in who and ticks the caution.
func sign() chromedp.Action[chromedp.Void] {
	return chromedp.Steps(chromedp.SetValue(chromedp.CSS("main form [name=by]"), "J. Roe"), press("main form [name=caution]"))
}

// Filters are changed row by row; the trim for new filters follows, with a measured check.
func TestFiltersAreChangedAndTheDamperTrimmed(t *testing.T) {
	s := plantOfThree(t)
	s.clock.set(time.Now())
	phone := tab(t, 390, 844, "light")
	l := connect(t, s.web)
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/filters")), chromedp.WaitVisible(chromedp.CSS("form")))
	if !strings.Contains(eval[string](t, phone, `document.querySelector("main").firstElementChild.className`), "caution") {
		t.Error("the page does not open with its caution")
	}
	do(t, phone, sign(), chromedp.SetValue(chromedp.CSS("[name=new1]"), "A7"), chromedp.SetValue(chromedp.CSS("[name=old1]"), "Z1"), press("main form > button"),
		chromedp.WaitVisible(chromedp.CSS(".told")))
	if where := eval[string](t, phone, `location.pathname + location.search`); where != "/c/DC-1/trim?new=1" {
		t.Fatalf("after the change comes %s, want the trim for new filters", where)
	}
	shot(t, phone, "trim")
	open := eval[string](t, phone, `document.querySelector("[name=to]").value`)
	do(t, phone, sign(), chromedp.SetValue(chromedp.CSS("[name=flow]"), "4180"), press("main form > button"), chromedp.WaitVisible(chromedp.CSS("article")))
	change := s.records("DC-1", plant.KindFilterChange)
	move := s.records("DC-1", plant.KindDamperMove)
	if len(change) != 1 || len(move) != 1 || !strings.Contains(string(change[0].Body), `"newLot":"A7"`) {
		t.Fatalf("records: %v, %v", change, move)
	}
	body, err := plant.Open(move[0])
	if err != nil {
		t.Fatal(err)
	}
	if m := body.(*plant.DamperMove); !near(float64(m.Flow), 4180*0.00047194745, 1e-6) || open == "" || m.Why != "new filters" {
		t.Errorf("the move on record is %+v (page said %s %%)", m, open)
	}
	if n := len(s.records("DC-1", plant.KindCaution)); n != 2 {
		t.Errorf("%d cautions stand on record, want one for each job", n)
	}
}

// clip makes a recording of two cycles in which one valve is dead, as a file.
func clip(t *testing.T, dead int) string {
	t.Helper()
	sc := eartest.Scene{Seed: 5, Rate: 22050, Voice: 1, Valves: 6, Interval: 10, Nominal: 10, Due: 12, Lead: 3, Tail: 4, SNR: 25, Faults: make([]eartest.Fault, 6), Talk: math.Inf(-1)}
	sc.Faults[dead-1] = eartest.Dead
	samples, _ := sc.Make()
	path := filepath.Join(t.TempDir(), "cycle.wav")
	if err := os.WriteFile(path, sound.EncodeWAV(samples, sc.Rate), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// A recording is uploaded and the bad valve found; then comes the bench check, and the repair.
func TestARecordingShowsTheBadValve(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	s.enrol("DC-1", "Router hall")
	phone := tab(t, 390, 844, "light")
	l := connect(t, s.web)
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/valves")), chromedp.SetUploadFiles(chromedp.CSS("[name=recording]"), []string{clip(t, 4)}),
		chromedp.SetValue(chromedp.CSS("main form [name=by]"), "J. Roe"), press("main form > button"), chromedp.WaitVisible(chromedp.CSS(".strip")))
	shot(t, phone, "strip")
	if bad := eval[string](t, phone, `[...document.querySelectorAll(".strip .needs-hands b")].map(b => b.textContent).join()`); bad != "Valve 4" {
		t.Fatalf("found bad: %q, want valve 4\n%s", bad, eval[string](t, phone, `document.querySelector("main").innerText`))
	}
	do(t, phone, press(".go a"), chromedp.WaitVisible(chromedp.CSS("fieldset")), sign(), press("[name=puff][value=no]"), press("[name=opens][value=yes]"),
		press("[name=closes][value=yes]"), press("main form > button"), chromedp.WaitVisible(chromedp.CSS("[name=part]")))
	if part := eval[string](t, phone, `document.querySelector("[name=part]").value`); part != "pilot" {
		t.Errorf("the bench check blames %q, want the pilot", part)
	}
	do(t, phone, sign(), press("main form > button"), chromedp.WaitVisible(chromedp.CSS("article")))
	if list := s.records("DC-1", plant.KindValveRepair); len(list) != 1 || !strings.Contains(string(list[0].Body), `"part":"pilot"`) {
		t.Errorf("repairs on record: %v", list)
	}
}

// A collector is commissioned step by step; a step that fails stops the start-up until it is put right.
func TestACollectorIsCommissioned(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	s.enrol("DC-1", "Router hall")
	phone := tab(t, 390, 844, "light")
	h := &copying{next: s.web}
	l := connect(t, h)
	values := map[string]string{"current": "15.2", "pressure": "60", "before": "59.5", "low": "2.0", "high": "4.0", "flow": "4150", "dp": "0.8"}
	failed := false
	for _, st := range plant.CommissioningSteps() {
		for {
			do(t, phone, chromedp.Navigate(l.url("/c/DC-1/commission/"+st.ID)), chromedp.WaitVisible(chromedp.CSS("form")), sign())
			for _, item := range st.Items {
				if item.Range == nil {
					do(t, phone, press("[name="+item.ID+"][value=ok]"))
					continue
				}
				v := values[item.ID]
				if st.ID == "header" && !failed {
					v = "71"
				}
				do(t, phone, chromedp.SetValue(chromedp.CSS("[name="+item.ID+"]"), v))
			}
			do(t, phone, press("main form > button"), chromedp.WaitVisible(chromedp.CSS(".stops")))
			if st.ID != "header" || failed {
				break
			}
			failed = true
			if text := eval[string](t, phone, `document.querySelector("main").innerText`); !strings.Contains(text, "not accepted") || !strings.Contains(text, "at most") {
				t.Errorf("71 psi in the header was let pass: %s", text)
			}
			s.get("/c/DC-1/commission/pulse", 422)
		}
	}
	shot(t, phone, "end")
	if text := eval[string](t, phone, `document.querySelector("main").innerText`); !strings.Contains(text, "Every step is accepted") {
		t.Errorf("the start-up does not end: %s", text)
	}
	text := textOf(t, h.follow(t, phone, "main .button"))
	for _, want := range []string{"DC-1, Router hall", "All 12 steps of the start-up are accepted", "Header pressure: accepted", "before that not accepted: J. Roe", "60.0 psi"} {
		if !strings.Contains(text, want) {
			t.Errorf("the certificate lacks %q:\n%s", want, text)
		}
	}
}

// On the desk: Today is read, a chart zoomed, a rehearsal run.
func TestOnTheDesk(t *testing.T) {
	s := plantOfThree(t)
	s.clock.set(season.Add(30 * time.Minute))
	desk := tab(t, 1280, 800, "light")
	l := connect(t, s.web)
	do(t, desk, chromedp.Navigate(l.url("/")), chromedp.WaitVisible(chromedp.CSS("article")))
	if n := eval[float64](t, desk, `document.querySelectorAll("article .tube").length`); n != 3 {
		t.Errorf("%v manometers, want 3", n)
	}
	do(t, desk, chromedp.Navigate(l.url("/c/DC-1")), chromedp.WaitVisible(chromedp.CSS(".tools button")))
	until(t, desk, `document.querySelector(".draw svg").viewBox.baseVal.width > 600`)
	before := eval[float64](t, desk, `(f => f.dataset.to - f.dataset.from)(document.querySelector(".chart"))`)
	do(t, desk, press(".tools button"))
	until(t, desk, `(f => Math.abs(f.dataset.to - f.dataset.from - `+num(before/2)+`) < 2)(document.querySelector(".chart"))`)
	if !strings.Contains(eval[string](t, desk, `document.querySelector(".astable").href`), "from="+eval[string](t, desk, `document.querySelector(".chart").dataset.from`)) {
		t.Error("the link to the table does not follow the zoom")
	}
	shot(t, desk, "zoomed")
	do(t, desk, chromedp.Navigate(l.url("/c/DC-1/rehearse?run=1&setpoints.high=3")), chromedp.WaitVisible(chromedp.CSS("table")))
	if n := eval[float64](t, desk, `document.querySelectorAll(".plot .dash").length`); n < 1 {
		t.Error("the changed future is not drawn")
	}
	shot(t, desk, "rehearsed")
}
