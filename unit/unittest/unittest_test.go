package unittest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// recorder is a testing.TB whose failure ends the call instead of the test.
type recorder struct {
	testing.TB
	failed, skipped string
}

func (r *recorder) Helper() {}

func (r *recorder) Fatalf(format string, args ...any) {
	r.failed = fmt.Sprintf(format, args...)
	panic(r)
}

func (r *recorder) Skipf(format string, args ...any) {
	r.skipped = fmt.Sprintf(format, args...)
	panic(r)
}

// outcome runs f and returns what it failed or skipped with.
func outcome(t *testing.T, f func(tb testing.TB)) (failed, skipped string) {
	r := &recorder{TB: t}
	defer func() {
		if p := recover(); p != nil && p != any(r) {
			panic(p)
		}
		failed, skipped = r.failed, r.skipped
	}()
	f(r)
	return "", ""
}

func TestTable(t *testing.T) {
	write := func(text string) string {
		path := filepath.Join(t.TempDir(), "table.csv")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	rows := Table(t, write("# source: a hand, 2026; computed\n# remark\nx [m],note\n1.5,\"a, b\"\n-2e3,\n"))
	if len(rows) != 2 || rows[0].Float("x [m]") != 1.5 || rows[0].Text("note") != "a, b" || rows[1].Float("x [m]") != -2000 {
		t.Errorf("rows %+v", rows)
	}
	if rows[0].Line != 4 || rows[1].Has("note") || rows[1].Has("nothing") || !rows[0].Has("note") {
		t.Errorf("line %d, note present %v", rows[0].Line, rows[1].Has("note"))
	}
	for text, want := range map[string]string{
		"x\n1\n":                      "first line must be",
		"# source: a\n":               "header",
		"# source: a\nx\n":            "EOF",
		"# source: a\nx,y\n1,2\n3\n":  "wrong number of fields",
		"# source: a\nx\n1\n2\n\"3\n": "quote",
	} {
		failed, _ := outcome(t, func(tb testing.TB) { Table(tb, write(text)) })
		if !strings.Contains(failed, want) {
			t.Errorf("%q: failed with %q, want %q in it", text, failed, want)
		}
	}
	for _, bad := range []func(r Row){func(r Row) { r.Text("z") }, func(r Row) { r.Float("y") }} {
		failed, _ := outcome(t, func(tb testing.TB) { bad(Table(tb, write("# source: a\nx,y\n1,two\n"))[0]) })
		if failed == "" {
			t.Error("a bad column or number passed")
		}
	}
}

func TestRootAndSharedData(t *testing.T) {
	if _, err := os.Stat(filepath.Join(Root(t), "go.mod")); err != nil {
		t.Error(err)
	}
	_, skipped := outcome(t, func(tb testing.TB) { SharedData(tb, "no/such/data.csv") })
	if skipped != "open data absent: ../shared/data/no/such/data.csv" {
		t.Errorf("skipped with %q", skipped)
	}
}
