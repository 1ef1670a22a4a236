package main

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// twoKept makes a data folder of two collectors with a week of readings each.
func twoKept(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	text, err := os.ReadFile(sparse)
	if err != nil {
		t.Fatal(err)
	}
	for i, tag := range []string{"DC-9", "DC-8"} {
		file := filepath.Join(t.TempDir(), tag+".toml")
		if err := os.WriteFile(file, []byte(strings.Replace(string(text), `"DC-9"`, `"`+tag+`"`, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		log := writeMinutes(t, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC).AddDate(0, i, 0), 7*24*60)
		if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", file, log); code != exitDone {
			t.Fatal(stderr)
		}
	}
	return dir
}

// stamp is what a folder's files are: names, times and content; what writers keep beside the database while it is open only by name.
func stamp(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.Walk(dir, func(path string, info os.FileInfo, err error) error {
		if err != nil || info.IsDir() || strings.HasSuffix(path, "-shm") {
			out[path] = ""
			return err
		}
		data, err := os.ReadFile(path)
		out[path] = fmt.Sprintf("%s %x", info.ModTime(), sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// judgements reads a list of judgements as loose JSON, by tag, and the tags in order.
func judgements(t *testing.T, text, within string) (order []string, byTag map[string]any) {
	t.Helper()
	var list []map[string]any
	if err := json.Unmarshal([]byte(text), &list); err != nil {
		t.Fatal(err, text)
	}
	byTag = map[string]any{}
	for _, j := range list {
		if within != "" {
			j = j[within].(map[string]any)
		}
		tag := j["collector"].(string)
		order, byTag[tag] = append(order, tag), j
	}
	return order, byTag
}

// A data folder is judged as its pages do, in the same order, with an answer to a check of the plant's own that came meanwhile, and without a
// change to the folder, whether it is being served or not.
func TestADataFolderIsJudgedAsItsPagesDo(t *testing.T) {
	dir := twoKept(t)
	writeExperience(t, dir)
	at := stamp(t, dir)
	table, stderr, code := do(t, "judge", dir)
	if code != exitDone || !strings.Contains(table, "DC-9") || !strings.Contains(table, "DC-8") {
		t.Fatal(table, stderr)
	}
	if d := cmp.Diff(at, stamp(t, dir)); d != "" {
		t.Errorf("the folder at rest was changed: %s", d)
	}
	c := startServe(t, dir)
	defer c.kill()
	answer, err := http.Post(c.base+"/api/records", "application/json", strings.NewReader(`{"id": "answer-1", "kind": "check-answer", "collector": "DC-9",
		"by": "J. Roe", "at": "2026-06-07T23:00:00Z", "body": {"check": "drain-pot", "number": 0, "yes": true}}`))
	if err != nil {
		t.Fatal(err)
	}
	said, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("the answer was not taken: %s %v", said, err)
	}
	if err := answer.Body.Close(); err != nil {
		t.Fatal(err)
	}
	wantOrder, want := judgements(t, c.page(t, "/api/collectors"), "judgement")
	at = stamp(t, dir)
	list, stderr, code := do(t, "judge", dir, "--json")
	if code != exitDone {
		t.Fatal(stderr)
	}
	gotOrder, got := judgements(t, list, "")
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("pages and table differ: %s", d)
	}
	if d := cmp.Diff(wantOrder, gotOrder); d != "" {
		t.Errorf("pages and table are in another order: %s", d)
	}
	if d := cmp.Diff(at, stamp(t, dir)); d != "" {
		t.Errorf("the folder in use was changed: %s", d)
	}
	if again, _, _ := do(t, "judge", dir); again == table {
		t.Error("the answer to the check changes nothing")
	}
	if then, stderr, code := do(t, "judge", dir, "--at", "2026-06-05T00:00:00Z"); code != exitDone || !strings.Contains(then, "DC-9") || !strings.Contains(stderr, "DC-8: there is no reading yet up to --at") {
		t.Errorf("as of a past time: %d %s%s", code, then, stderr)
	}
}

// What can't be judged is told in a sentence that says what to do, and the folder stays as it is.
func TestADataFolderThatCannotBeJudgedSaysWhy(t *testing.T) {
	empty, inner, newer, damaged := t.TempDir(), t.TempDir(), t.TempDir(), t.TempDir()
	for _, dir := range []string{empty, filepath.Join(inner, "data"), newer} {
		code, _, stderr := runWith(t, "import", "--data", dir, filepath.Join(t.TempDir(), "none.csv"))
		if code != exitUnusable || !strings.Contains(stderr, "no collector in the books") {
			t.Fatal(stderr)
		}
	}
	raw(t, newer, func(db *sql.DB) {
		if _, err := db.ExecContext(t.Context(), "PRAGMA user_version = 99"); err != nil {
			t.Fatal(err)
		}
	})
	if err := os.WriteFile(filepath.Join(damaged, "plant.db"), []byte(strings.Repeat("no database ", 100)), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		dir, want string
		more      []string
	}{
		"empty":        {empty, "there is no collector in the books yet; take one in with dustwright import", nil},
		"older":        {oldPlant(t, 1, 1), "was written by an older version of this program", nil},
		"newer":        {newer, "was written by a newer version of this program", nil},
		"damaged":      {damaged, "this is no plant's data file", nil},
		"folder above": {inner, "is judged by dustwright judge " + filepath.Join(inner, "data"), nil},
		"logs":         {empty, "its logs are taken from there", []string{"log.csv"}},
		"mapping":      {empty, "leave it out", []string{"--mapping", "m.toml"}},
	} {
		t.Run(name, func(t *testing.T) {
			at := stamp(t, c.dir)
			out, stderr, code := do(t, append([]string{"judge", c.dir}, c.more...)...)
			if code != exitUnusable || out != "" || !strings.Contains(stderr, c.want) {
				t.Errorf("%d %s%s, want %q", code, out, stderr, c.want)
			}
			if d := cmp.Diff(at, stamp(t, c.dir)); d != "" {
				t.Errorf("the folder was changed: %s", d)
			}
		})
	}
}

// A run that is stopped says so, and prints nothing.
func TestJudgingADataFolderStops(t *testing.T) {
	dir := twoKept(t)
	ctx, stop := context.WithCancel(t.Context())
	stop()
	var out, bad strings.Builder
	if code := run(ctx, []string{"judge", dir}, strings.NewReader(""), &out, &bad); code != exitUnusable || out.Len() > 0 || !strings.Contains(bad.String(), "stopped before it was done") {
		t.Errorf("%d %s%s", code, out.String(), bad.String())
	}
}
