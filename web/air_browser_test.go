package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"dustwright/plant"
)

// At the header: the figures are typed, worked out without a name, stay in the form, and go on record through the outbox.
func TestTheAirIsMeasuredOnAPhone(t *testing.T) {
	s := empty(t)
	s.clock.set(time.Now())
	s.enrol("DC-1", "Router hall")
	phone := tab(t, 390, 844, "light")
	l := connect(t, s.web)
	do(t, phone, chromedp.Navigate(l.url("/c/DC-1/air")), chromedp.WaitVisible(chromedp.CSS("form")))
	for name, v := range map[string]string{"decayFrom": "60", "decayTo": "45", "decayTime": "12"} {
		do(t, phone, chromedp.SetValue(chromedp.CSS("[name="+name+"]"), v))
	}
	do(t, phone, press("button.second"), chromedp.WaitVisible(chromedp.CSS(`[name=decayTime][value="12"]`)))
	if text := eval[string](t, phone, `document.querySelector("main").innerText`); !strings.Contains(text, "leak test as entered now") || !strings.Contains(text, "The header leaks") {
		t.Errorf("it was not worked out: %.600s", text)
	}
	if n := len(s.records("")); n != 1 { // the collector file
		t.Errorf("asking took %d records", n-1)
	}
	if v := eval[string](t, phone, `document.querySelector("[name=decayTime]").value`); v != "12" {
		t.Errorf("the form holds %q after asking, want 12", v)
	}
	shot(t, phone, "air")
	do(t, phone, sign(), press("main form > button:not(.second)"), chromedp.WaitVisible(chromedp.CSS(".told")))
	if list := s.records("DC-1", plant.KindAirCheck); len(list) != 1 || !strings.Contains(string(list[0].Body), `"decayTime":12`) || list[0].By != "J. Roe" {
		t.Errorf("on record: %v", list)
	}
	if v := eval[string](t, phone, `document.querySelector("[name=decayTime]").value`); v != "" {
		t.Errorf("what is on record stands in the form as if it were measured anew: %q", v)
	}
}
