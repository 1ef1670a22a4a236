package web_test

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// browser is one real browser for all tests of the package that need it; it is started by the first.
var browser struct {
	once sync.Once
	ctx  context.Context
	stop []context.CancelFunc
	why  string
}

func TestMain(m *testing.M) {
	code := m.Run()
	for i := len(browser.stop) - 1; i >= 0; i-- {
		browser.stop[i]()
	}
	os.Exit(code)
}

// tab opens a tab of a size, in light or dark; the test is skipped, clearly, where there is no chromium.
func tab(t *testing.T, width, height int64, scheme string) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("a real browser takes its time: left out with -short")
	}
	browser.once.Do(func() { browser.ctx, browser.stop, browser.why = launch() })
	if browser.why != "" {
		t.Skip(browser.why)
	}
	return tabOf(t, browser.ctx, width, height, scheme)
}

// launch starts a browser, with flags beyond the usual; why says that there is none.
func launch(extra ...chromedp.ExecAllocatorOption) (ctx context.Context, stop []context.CancelFunc, why string) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, nil, "chromium absent: install the distribution's package to run the browser tests"
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true)) // a microphone and a camera that need no asking
	actx, stopAll := chromedp.NewExecAllocator(context.Background(), append(opts, extra...)...)
	ctx, stopTab := chromedp.NewContext(actx)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		why = "chromium does not start: " + err.Error()
	}
	return ctx, []context.CancelFunc{stopAll, stopTab}, why
}

// tabOf opens a tab of a browser.
func tabOf(t *testing.T, parent context.Context, width, height int64, scheme string) context.Context {
	t.Helper()
	ctx, stop := chromedp.NewContext(parent)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, height)); err != nil { // the first step must not have a limit: the tab would end with it
		t.Fatal(err)
	}
	paint(t, ctx, scheme)
	watch(t, ctx)
	return ctx
}

// paint asks for light or dark.
func paint(t *testing.T, ctx context.Context, scheme string) {
	t.Helper()
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
		t.Fatal(err)
	}
}

// watch fails the test for what the page writes to the console as an error.
func watch(t *testing.T, ctx context.Context) {
	t.Helper()
	var mu sync.Mutex
	var bad []string
	go func() {
		for m, err := range chromedp.Console(ctx) {
			if err != nil {
				return
			}
			if text := fmt.Sprintf("%+v", m); strings.Contains(strings.ToLower(text), "error") && !strings.Contains(text, "net::ERR_") && !strings.Contains(text, "status of 4") {
				mu.Lock()
				bad = append(bad, text)
				mu.Unlock()
			}
		}
	}()
	t.Cleanup(func() {
		mu.Lock()
		defer mu.Unlock()
		for _, text := range bad {
			t.Errorf("console: %s", text)
		}
	})
}

// patience is how long a browser may take for one step before the test fails; nothing waits that long
// when all is well.
const patience = 30 * time.Second

// do runs steps in a tab.
func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	for i, step := range steps {
		limit, stop := context.WithTimeout(ctx, patience)
		err := chromedp.Do(limit, step)
		stop()
		if err != nil {
			shot(t, ctx, "failed")
			where, _ := chromedp.Run(ctx, chromedp.Location())
			t.Fatalf("step %d at %s: %v", i+1, where, err)
		}
	}
}

// eval evaluates an expression, waiting for a promise.
func eval[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	limit, stop := context.WithTimeout(ctx, patience)
	defer stop()
	v, err := chromedp.Run(limit, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", js, err)
	}
	return v
}

// until waits for an expression to become true.
func until(t *testing.T, ctx context.Context, js string) {
	t.Helper()
	limit, stop := context.WithTimeout(ctx, patience)
	defer stop()
	if _, err := chromedp.Run(limit, chromedp.Poll[bool](js)); err != nil {
		shot(t, ctx, "failed")
		body, _ := chromedp.Run(ctx, chromedp.Evaluate[string]("document.body.innerText"))
		t.Fatalf("never came true: %s (%v)\n%s", js, err, body)
	}
}

// shot keeps a screenshot under the folder that DUSTWRIGHT_SHOTS names, for a person to look at.
func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	dir := os.Getenv("DUSTWRIGHT_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Logf("no screenshot: %v", err)
		return
	}
	if err := os.WriteFile(filepath.Join(dir, strings.ReplaceAll(t.Name(), "/", "_")+"_"+name+".png"), png, 0o644); err != nil {
		t.Log(err)
	}
}

// line is the connection between browser and server, which a test can cut and mend at the same address.
type line struct {
	t       *testing.T
	handler http.Handler
	address string
	secure  *tls.Config // nil: plain HTTP
	srv     *http.Server
}

func connect(t *testing.T, h http.Handler) *line {
	t.Helper()
	l := &line{t: t, handler: h, address: "127.0.0.1:0"}
	l.mend()
	t.Cleanup(l.cut)
	return l
}

func (l *line) url(path string) string {
	if l.secure != nil {
		return "https://" + l.address + path
	}
	return "http://" + l.address + path
}

// cut ends the server and every connection to it.
func (l *line) cut() {
	if l.srv != nil {
		if err := l.srv.Close(); err != nil && !errors.Is(err, net.ErrClosed) {
			l.t.Error(err)
		}
		l.srv = nil
	}
}

// mend starts it again at the same address.
func (l *line) mend() {
	l.t.Helper()
	ln, err := new(net.ListenConfig).Listen(l.t.Context(), "tcp", l.address)
	if err != nil {
		l.t.Fatal(err)
	}
	l.address = ln.Addr().String()
	srv := &http.Server{Handler: l.handler}
	l.srv = srv
	if l.secure != nil {
		srv.TLSConfig = l.secure.Clone()
		go func() { _ = srv.ServeTLS(ln, "", "") }() // ends with cut; its error says only that
		return
	}
	go func() { _ = srv.Serve(ln) }() // likewise
}

// waitFor waits for something on the server's side to become true.
func waitFor(t *testing.T, ok func() bool) {
	t.Helper()
	limit := time.NewTimer(patience)
	defer limit.Stop()
	look := time.NewTicker(5 * time.Millisecond)
	defer look.Stop()
	for !ok() {
		select {
		case <-look.C:
		case <-limit.C:
			t.Fatal("it never came true")
		}
	}
}
