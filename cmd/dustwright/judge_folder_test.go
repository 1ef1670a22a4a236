package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

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

// In a folder too the filters of a collector's sisters, changed within their logs, tell of its own; and it makes no difference in which
// order they stand there.
func TestAFolderHasSisters(t *testing.T) {
	const file = `tag = "TAG"
[duty]
flow = "4200 cfm"
dust = "DUST"
[filters]
rows = 6
per_row = 1
area_each = "215 ft2"
clean_dp = "0.7 in.w.g."
max_dp = "6 in.w.g."
[cleaning]
mode = "timed"
`
	dir := t.TempDir()
	write := func(tag, dust string, from, to int) {
		text := strings.Replace(strings.Replace(file, "TAG", tag, 1), "DUST", dust, 1)
		var log strings.Builder
		log.WriteString("time,dp[in.w.g.],running\n")
		for h := 24 * from; h < 24*to; h++ {
			age := math.Mod(float64(h-24*from)/24, 100) // new filters every hundred days, over a night
			running, dp := 1, 1+5*age/100+0.03*math.Sin(2.4*float64(h))
			if h%24 < 6 {
				running, dp = 0, 0
			}
			fmt.Fprintf(&log, "%s,%.3f,%d\n", time.Date(2026, 1, 1, h, 0, 0, 0, time.UTC).Format(time.RFC3339), dp, running)
		}
		for name, data := range map[string]string{tag + ".toml": text, tag + ".csv": log.String()} {
			if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	write("A-NEW", "Weld fume", 205, 220)
	write("B-OLD", "weld  fume", 0, 220)
	write("C-OTHER", "Flour", 205, 220)
	stdout, stderr, code := do(t, "judge", "--json", dir)
	if code != exitDone {
		t.Fatal(stderr)
	}
	var list []struct {
		Collector string
		Life      *struct{ Basis string }
	}
	if err := json.Unmarshal([]byte(stdout), &list); err != nil {
		t.Fatal(err)
	}
	basis := map[string]string{}
	for _, j := range list {
		if j.Life != nil {
			basis[j.Collector] = j.Life.Basis
		}
	}
	if len(list) != 3 || !strings.Contains(basis["A-NEW"], "of collectors of the same kind") {
		t.Errorf("the new one's basis is %q of %d", basis["A-NEW"], len(list))
	}
	for _, tag := range []string{"B-OLD", "C-OTHER"} {
		if strings.Contains(basis[tag], "of the same kind") {
			t.Errorf("%s has a sister: %q", tag, basis[tag])
		}
	}
}
