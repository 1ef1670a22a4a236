package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Logs go to the collector file whose name they bear; DC-1's are not DC-10's, nor those of DC-1-b.
func TestLogsBeside(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"DC-1.toml", "DC-10.toml", "DC-1-b.toml", "DC-1.csv", "DC-1-2026.csv.gz", "DC-10.xlsx", "DC-1-b.csv", "DC-1.truth.json"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*.toml"))
	for name, want := range map[string][]string{"DC-1": {"DC-1-2026.csv.gz", "DC-1.csv"}, "DC-10": {"DC-10.xlsx"}, "DC-1-b": {"DC-1-b.csv"}} {
		logs, err := logsBeside(filepath.Join(dir, name+".toml"), files)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, l := range logs {
			got = append(got, filepath.Base(l))
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
	if _, err := logsBeside(filepath.Join(dir, "DC-2.toml"), files); err == nil {
		t.Error("a collector without a log must be told")
	}
}
