package web_test

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// axe returns the accessibility checker's script: it is no part of the project, but fetched once by npm.
func axe(t *testing.T) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		t.Skip("axe-core absent: no cache folder to keep it in: " + err.Error())
	}
	dir := filepath.Join(cache, "dustwright", "axe-4.14.1")
	script := filepath.Join(dir, "node_modules", "axe-core", "axe.min.js")
	if _, err := os.Stat(script); err != nil {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Skip("axe-core absent: " + err.Error())
		}
		cmd := exec.CommandContext(t.Context(), "npm", "install", "--no-save", "--no-audit", "--no-fund", "--prefix", dir, "axe-core@4.14.1")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Skipf("axe-core absent: npm can't fetch it: %v %.200s", err, out)
		}
	}
	text, err := os.ReadFile(script)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// pagesToCheck are all pages a person sees, with their states.
var pagesToCheck = []string{"/", "/round", "/records", "/add", "/c/DC-2", "/c/DC-3", "/c/DC-1/round", "/c/DC-2/check", "/c/DC-2/check?check=cake", "/c/DC-1/done?did=reading",
	"/c/DC-1/valves", "/c/DC-1/bench?valve=4", "/c/DC-1/bench?valve=4&puff=no&opens=yes&closes=yes", "/c/DC-1/traverse", "/c/DC-1/traverse?shape=rect&width=20&height=14&rule=log-tchebycheff",
	"/c/DC-1/traverse?shape=round&diameter=2&rule=method-1", "/c/DC-1/hoods", "/c/DC-1/trim", "/c/DC-1/trim?new=1", "/c/DC-1/air", "/c/DC-1/air?decayFrom=60&decayTo=45&decayTime=40&leak=x",
	"/c/DC-1/filters", "/c/DC-1/bin", "/c/DC-1/inspect", "/c/DC-1/commission", "/c/DC-1/commission/arrival", "/c/DC-1/commission/rotation", "/c/DC-1/rehearse",
	"/c/DC-1/file", "/c/DC-1/table?kind=dp", "/c/DC-1/table?kind=air", "/phones", "/c/none", "/nothing"}

// The accessibility checker finds nothing on any page, in light and dark, every target is large enough, and nothing jumps
// while a page comes up.
func TestNoPageShutsAnybodyOut(t *testing.T) {
	s := plantOfThree(t)
	l := connect(t, s.web)
	t.Run("plant", func(t *testing.T) {
		ctx := tab(t, 390, 844, "light")
		script := axe(t)
		for _, path := range pagesToCheck {
			look(t, ctx, l, path, script)
		}
	})
	t.Run("empty", func(t *testing.T) {
		look(t, tab(t, 390, 844, "light"), connect(t, empty(t).web), "/", axe(t))
	})
	t.Run("https", func(t *testing.T) {
		s, _ := secured(t)
		look(t, tab(t, 390, 844, "light"), connect(t, s.web), "/phones", axe(t))
	})
}

// small lists targets below 48 pixels: links in running text are exempt (WCAG 2.2, 2.5.8).
const small = `JSON.stringify([...document.querySelectorAll("button, input:not([type=hidden]), select, textarea, .go a, .button, .jobs a, nav a, .stops a, .tasks a, .due a, summary")]
.filter(e => { let r = e.getBoundingClientRect(); if (e.matches("input[type=checkbox],input[type=radio]")) r = e.closest("label").getBoundingClientRect(); return e.checkVisibility() && r.width && (r.height < 47.5 || r.width < 47.5) })
.map(e => e.outerHTML.slice(0, 120)))`

// jumps adds up how far the content was moved while the page came up (the web's "cumulative layout shift").
const jumps = `new Promise((give, fail) => {
	if (!PerformanceObserver.supportedEntryTypes.includes("layout-shift")) fail("this browser does not tell");
	let sum = 0;
	new PerformanceObserver(l => { for (const e of l.getEntries()) if (!e.hadRecentInput) sum += e.value; }).observe({ type: "layout-shift", buffered: true });
	setTimeout(() => give(sum), 60);
})`

func look(t *testing.T, ctx context.Context, l *line, path, script string) {
	t.Helper()
	do(t, ctx, chromedp.Navigate(l.url(path)), chromedp.WaitReady(chromedp.CSS("main")))
	if sum := eval[float64](t, ctx, jumps); sum > 0.01 {
		t.Errorf("%s: the content jumps by %.3f while the page comes up", path, sum)
	}
	eval[bool](t, ctx, script+"; true")
	rules := `["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]`
	for _, scheme := range []string{"light", "dark"} {
		paint(t, ctx, scheme)
		for _, b := range violations(t, ctx, rules) {
			t.Errorf("%s, %s: %s", path, scheme, b)
		}
		rules = `["color-contrast", "color-contrast-enhanced"]` // the rest does not hang on the colours
	}
	paint(t, ctx, "light")
	var bad []string
	if err := json.Unmarshal([]byte(eval[string](t, ctx, small)), &bad); err != nil {
		t.Fatal(err)
	}
	for _, b := range bad {
		t.Errorf("%s: too small a target: %s", path, b)
	}
	if wide := eval[float64](t, ctx, "document.documentElement.scrollWidth"); wide > 390.5 {
		t.Errorf("%s: the page is %.0f pixels wide on a phone of 390", path, wide)
	}
	shot(t, ctx, strings.NewReplacer("/", "_", "?", "_", "&", "_", "=", "_").Replace(path))
}

// violations runs the checker with some rules or sets of rules.
func violations(t *testing.T, ctx context.Context, rules string) (bad []string) {
	t.Helper()
	got := eval[string](t, ctx, `axe.run(document, {runOnly: `+rules+`, rules: {"color-contrast-enhanced": {enabled: true}}})
		.then(r => JSON.stringify(r.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 160) + " " + (n.any[0] ? n.any[0].message : "")).slice(0, 3).join(" | "))))`)
	if err := json.Unmarshal([]byte(got), &bad); err != nil {
		t.Fatal(err)
	}
	return bad
}
