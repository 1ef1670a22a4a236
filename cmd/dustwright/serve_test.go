package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/store"
	"dustwright/unit"
)

// The test's own binary, started again with this in its environment, is the program.
const asProgram = "DUSTWRIGHT_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

// child is the program as another process.
type child struct {
	cmd   *exec.Cmd
	base  string
	said  string         // before the address
	lines *bufio.Scanner // after it
}

// startServe starts dustwright serve on a free port and waits for its address.
func startServe(t *testing.T, dir string) *child {
	t.Helper()
	return startPages(t, "serve", "--data", dir, "--listen", "127.0.0.1:0")
}

// startPages starts the program and waits until it says where its pages are.
func startPages(t *testing.T, args ...string) *child {
	t.Helper()
	c := &child{cmd: program(t, args...)}
	out, err := c.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	c.cmd.Stderr = &stderr
	if err := c.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if _, rest, ok := strings.Cut(lines.Text(), "The pages are at "); ok {
			c.base, _, _ = strings.Cut(rest, "/  ")
			c.lines = lines
			return c
		}
		c.said += lines.Text() + "\n"
	}
	t.Fatalf("no address is said: %s; %s", c.said, stderr.String())
	return nil
}

// program is the program with arguments, not started yet.
func program(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), self, args...)
	cmd.Env = append(os.Environ(), asProgram+"=1")
	return cmd
}

// kill ends the program as a power cut would, as far as a process can.
func (c *child) kill() {
	_ = c.cmd.Process.Kill() // it may have gone already
	_ = c.cmd.Wait()         // ends with "signal: killed"
}

// enter sends a reading under an ID and reports whether it was acknowledged.
func (c *child) enter(id string, inches float64) bool {
	form := url.Values{"id": {id}, "by": {"J. Roe"}, "dp": {fmt.Sprintf("%.2f", inches)}}
	r, err := http.NewRequest(http.MethodPost, c.base+"/c/DC-9/round", strings.NewReader(form.Encode()))
	if err != nil {
		return false
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return false
	}
	defer func() { _ = answer.Body.Close() }() // read whole below
	_, err = io.Copy(io.Discard, answer.Body)
	return err == nil && answer.StatusCode == http.StatusOK
}

// kill -9 in the middle of a round: everything acknowledged is there once, the chain holds, and what was sent again
// after the restart is there once too.
func TestKillDuringARoundLosesNothingAcknowledged(t *testing.T) {
	dir := t.TempDir()
	if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
		t.Fatal(stderr)
	}
	acknowledged, sent := map[string]bool{}, map[string]float64{}
	var mu sync.Mutex
	for life := range 3 {
		c := startServe(t, dir)
		var group sync.WaitGroup
		ctx, stop := context.WithCancel(t.Context())
		count := make(chan struct{}, 1000)
		for phone := range 3 {
			group.Go(func() {
				for i := 0; ctx.Err() == nil && i < 200; i++ {
					id, v := fmt.Sprintf("%d-%d-%d", life, phone, i), 2+float64(i%40)/20
					mu.Lock()
					sent[id] = v
					mu.Unlock()
					if c.enter(id, v) {
						mu.Lock()
						acknowledged[id] = true
						mu.Unlock()
						count <- struct{}{}
					}
				}
			})
		}
		for range 5 + rand.IntN(12) { // any moment will do: the kill falls into what the phones do then
			<-count
		}
		c.kill()
		stop()
		group.Wait()
	}
	c := startServe(t, dir)
	for id, v := range sent {
		if !acknowledged[id] && !c.enter(id, v) {
			t.Errorf("%s was not taken after the restart", id)
		}
	}
	c.kill()
	verifyKept(t, dir, sent)
}

// verifyKept looks at the folder after the last kill.
func verifyKept(t *testing.T, dir string, sent map[string]float64) {
	t.Helper()
	verified(t, dir, func(s *store.Store, _ int64) {
		records, err := s.Records(t.Context(), plant.RecordQuery{Kinds: []plant.Kind{plant.KindReading}})
		if err != nil {
			t.Fatal(err)
		}
		kept := map[string]int{}
		for _, r := range records {
			kept[r.ID]++
		}
		for id := range sent {
			if kept[id] != 1 {
				t.Errorf("%s is there %d times", id, kept[id])
			}
		}
	})
	t.Logf("%d readings sent over 3 kills, each kept once", len(sent))
}

func TestImportTwiceChangesNothingAndSaysHowItStands(t *testing.T) {
	dir := t.TempDir()
	log := filepath.Join(dir, "log.csv")
	var b strings.Builder
	b.WriteString("time,running,dp[in.w.g.]\n")
	at := time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)
	for i := range 2000 {
		fmt.Fprintf(&b, "%s,1,%.2f\n", at.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), 2+float64(i%200)/100)
	}
	if err := os.WriteFile(log, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"import", "--data", filepath.Join(dir, "plant"), "--collector", filepath.Join("testdata", "sparse.toml"), log}
	code, out, stderr := runWith(t, args...)
	if code != exitDone || !strings.Contains(out, "2000 rows read, 4000 new readings kept") {
		t.Fatalf("%d: %s%s", code, out, stderr)
	}
	if code, out, _ = runWith(t, args...); code != exitDone || !strings.Contains(out, " 0 new readings kept") {
		t.Errorf("again: %d: %s", code, out)
	}
	if code, _, stderr = runWith(t, "import", "--data", filepath.Join(dir, "plant"), "--tag", "DC-8", log); code != exitUnusable || !strings.Contains(stderr, "DC-8") {
		t.Errorf("another tag: %d: %s", code, stderr)
	}
}

// runWith runs the program in this process.
func runWith(t *testing.T, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = run(t.Context(), args, strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

// sparsePlant opens a plant of one collector without readings.
func sparsePlant(t *testing.T) (*env, *openedPlant) {
	t.Helper()
	dir := t.TempDir()
	if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
		t.Fatal(stderr)
	}
	e := &env{ctx: t.Context(), stderr: io.Discard, now: time.Now}
	p, err := openPlant(e, dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := p.close(); err != nil {
			t.Error(err)
		}
	})
	return e, p
}

// Every paper prints from the demo-like plant the test above leaves, in both formats.
func TestPapersPrint(t *testing.T) {
	e, p := sparsePlant(t)
	for _, body := range []plant.Body{
		plant.Reading{Values: map[string]float64{"dp": 600}}, plant.FilterChange{Rows: []plant.RowChange{{Row: 1, NewLot: "A7"}}}, plant.DamperMove{From: -1, To: 0.5},
		plant.ValveCheck{By: "sound", Result: json.RawMessage(`{"valves":[{"number":1,"state":"ok","probability":0.9,"count":2,"expected":2,"why":"as the others"}]}`)},
		plant.Inspection{Task: "six-month", Items: []plant.Item{{What: "Guards on", Result: "ok"}}},
		plant.Arrival{Damage: "a dent in the hopper"}, plant.Commissioning{Step: "arrival", Accepted: true, Items: []plant.Item{{What: "Order", Result: "ok"}}},
	} {
		r, err := plant.NewRecord(body, "DC-9", "J. Roe")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.service.Accept(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
	srv, err := p.server(e, "127.0.0.1:0", nil)
	if err != nil {
		t.Fatal(err)
	}
	page := got(t, srv, "/c/DC-9")
	for _, paper := range p.papers() {
		if address := "/c/DC-9/paper/" + paper.Name; !paper.Whole && !strings.Contains(page.Body.String(), address) {
			t.Errorf("the collector's page does not offer %s", address)
		}
		for _, format := range []string{"a4", "letter"} {
			path := "/c/DC-9/paper/"
			if paper.Whole {
				path = "/paper/"
			}
			w := got(t, srv, path+paper.Name+"?paper="+format)
			if w.Code != http.StatusOK || w.Body.Len() == 0 || paper.Type == "application/pdf" && !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF")) {
				t.Errorf("%s on %s: %d %.200s", paper.Name, format, w.Code, w.Body)
			}
		}
	}
}

// The certificate as it is served tells what was read behind the hoods.
func TestTheCertificateHasTheHoods(t *testing.T) {
	e, p := sparsePlant(t)
	_, c, err := p.service.Machine(t.Context(), "DC-9")
	if err != nil {
		t.Fatal(err)
	}
	branches := c.TOML(unit.US) + "\n[[branch]]\nname = \"saw\"\ndiameter = \"7 in\"\nflow = \"1200 cfm\"\n"
	if _, err := p.service.Enrol(t.Context(), []byte(branches), "J. Roe", "branches"); err != nil {
		t.Fatal(err)
	}
	srv, err := p.server(e, "127.0.0.1:0", nil)
	if err != nil {
		t.Fatal(err)
	}
	length := func() int { return got(t, srv, "/c/DC-9/paper/certificate.pdf").Body.Len() }
	was := length()
	if again := length(); again != was {
		t.Fatalf("the same certificate has %d bytes, and then %d", was, again)
	}
	r, err := plant.NewRecord(plant.HoodReading{Hoods: []plant.HoodPressure{{Branch: "saw", SP: -300}}}, "DC-9", "J. Roe")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.service.Accept(t.Context(), r); err != nil {
		t.Fatal(err)
	}
	if now := length(); now <= was {
		t.Errorf("with what was read behind the hood the certificate has %d bytes, without it %d", now, was)
	}
}

// got asks a server for an address.
func got(t *testing.T, srv http.Handler, address string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	r, err := http.NewRequest(http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	srv.ServeHTTP(w, r)
	return w
}

// A paper of records that are not there is not offered, and who asks for it all the same is told that there are none.
func TestPapersOfNothingAreNotOffered(t *testing.T) {
	e, p := sparsePlant(t)
	srv, err := p.server(e, "127.0.0.1:0", nil)
	if err != nil {
		t.Fatal(err)
	}
	page := got(t, srv, "/c/DC-9").Body.String()
	for _, paper := range p.papers() {
		if paper.Whole {
			continue
		}
		address := "/c/DC-9/paper/" + paper.Name
		w := got(t, srv, address)
		offered, want := strings.Contains(page, address), http.StatusOK
		if paper.Of != "" {
			want = http.StatusNotFound
		}
		if w.Code != want || offered != (want == http.StatusOK) {
			t.Errorf("%s: offered %v, answered %d, want %d: %.200s", address, offered, w.Code, want, w.Body)
		}
		if want == http.StatusNotFound && !strings.Contains(w.Body.String(), "nothing to print") {
			t.Errorf("%s: %.300s", address, w.Body)
		}
	}
}
