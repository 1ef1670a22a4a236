package web_test

import (
	"crypto/sha256"
	"crypto/tls"
	"encoding/base64"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"dustwright/plant"
	"dustwright/web/trust"
)

// A round on a phone that trusts the plant's authority, under a name that is not the phone's own: started with signal,
// read without, sent once. Under the same name over plain HTTP nothing of it works, and the page says so.
func TestARoundOverHTTPS(t *testing.T) {
	if testing.Short() {
		t.Skip("a real browser takes its time: left out with -short")
	}
	a, err := trust.OpenAuthority(t.TempDir(), trust.Options{Names: []string{"plant.local"}, Host: func() trust.Host {
		return trust.Host{Addresses: []netip.Addr{netip.MustParseAddr("192.168.1.20")}}
	}})
	if err != nil {
		t.Fatal(err)
	}
	own, err := a.GetCertificate(&tls.ClientHelloInfo{})
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(own.Leaf.RawSubjectPublicKeyInfo)
	ctx, stop, why := launch(chromedp.Flag("host-resolver-rules", "MAP plant.local 127.0.0.1"),
		chromedp.Flag("ignore-certificate-errors-spki-list", base64.StdEncoding.EncodeToString(sum[:])))
	for _, f := range stop {
		t.Cleanup(f) // the last is called first
	}
	if why != "" {
		t.Skip(why)
	}
	s := emptyIn(t, t.TempDir(), a)
	s.clock.set(time.Now()) // the phone's clock can't be turned
	s.enrol("DC-1", "Plasma cutting table, bay 3")
	s.hand("DC-1", 2.1, 2.2, 2.3)
	l := connect(t, s.web)
	plain := l.url("/round")
	l = &line{t: t, handler: s.web, address: "127.0.0.1:0", secure: &tls.Config{GetCertificate: a.GetCertificate}}
	l.mend()
	t.Cleanup(l.cut)
	named := func(url string) string { return strings.Replace(url, "127.0.0.1", "plant.local", 1) }
	phone := tabOf(t, ctx, 390, 844, "light")

	do(t, phone, chromedp.Navigate(named(plain)), chromedp.WaitVisible("#stops"))
	if eval[bool](t, phone, `isSecureContext || "serviceWorker" in navigator || !!navigator.mediaDevices`) {
		t.Error("plain HTTP under another name counts as secure: the rest proves nothing")
	}
	if text := eval[string](t, phone, `document.querySelector("main").innerText`); !strings.Contains(text, "keeps no pages") {
		t.Errorf("the page does not say what it lacks: %.200s", text)
	}
	shot(t, phone, "plain")

	do(t, phone, chromedp.Navigate(named(l.url("/round"))), chromedp.WaitVisible("#stops"))
	until(t, phone, `document.documentElement.dataset.kept === "3"`)
	if text := eval[string](t, phone, `document.querySelector("main").innerText`); strings.Contains(text, "keeps no pages") {
		t.Errorf("over HTTPS the page says that it lacks something: %.200s", text)
	}
	if !eval[bool](t, phone, `navigator.mediaDevices.getUserMedia({ audio: true }).then((s) => s.getTracks().length === 1)`) {
		t.Error("there is no microphone")
	}
	if got := eval[string](t, phone, `performance.getEntriesByType("navigation")[0].nextHopProtocol`); got != "h2" {
		t.Errorf("the page came over %s", got)
	}

	l.cut()
	do(t, phone, chromedp.Navigate(named(l.url("/c/DC-1/round"))), chromedp.WaitVisible("#pad"),
		chromedp.SetValue(chromedp.CSS("input[name=by]"), "J. Roe"), chromedp.SetValue(chromedp.CSS("#dp"), "2.45"),
		chromedp.Click(chromedp.CSS(".go button")), chromedp.WaitVisible(".kept"))
	until(t, phone, `document.querySelector("#waiting").textContent.includes("1 entry waits")`)
	shot(t, phone, "kept")
	if n := len(s.records("DC-1", plant.KindReading)); n != 3 {
		t.Fatalf("without signal there are %d readings", n)
	}
	l.mend()
	eval[bool](t, phone, `(window.dispatchEvent(new Event("online")), true)`)
	waitFor(t, func() bool { return len(s.records("DC-1", plant.KindReading)) == 3+1 })
	until(t, phone, `document.querySelector("#waiting").hidden`)
	do(t, phone, chromedp.Navigate(named(l.url("/"))), chromedp.WaitVisible("article"))
	list := s.records("DC-1", plant.KindReading)
	body, err := plant.Open(list[len(list)-1])
	if err != nil {
		t.Fatal(err)
	}
	if r := body.(*plant.Reading); len(list) != 3+1 || !near(r.Values["dp"], 2.45*249.08891, 1e-9) || list[len(list)-1].By != "J. Roe" {
		t.Errorf("%d readings, the last %+v", len(list), r)
	}
}
