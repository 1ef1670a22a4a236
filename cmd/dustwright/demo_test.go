package main

import (
	"io"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// demo shows the plant in print and in pages; what was entered is there at the next start, and so is the season, once.
func TestDemoServesItsPlantAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("five simulated seasons take seconds: left out with -short")
	}
	dir := t.TempDir()
	first, second := "", ""
	for _, text := range []*string{&first, &second} {
		c := startPages(t, "demo", "--folder", dir, "--listen", "127.0.0.1:0")
		*text = c.said
		page := c.page(t, "/")
		for _, tag := range []string{"DC-1", "DC-2", "DC-3", "DC-4", "DC-5"} {
			if !strings.Contains(page, tag) {
				t.Errorf("Today does not show %s", tag)
			}
		}
		if n := strings.Count(c.page(t, "/api/records?kind=filter-change"), `"kind":"filter-change"`); n != 1 {
			t.Errorf("the season's change of filters stands %d times on record", n)
		}
		c.kill()
	}
	if !strings.Contains(first, "valve 4 never opens") || first != second {
		t.Errorf("the second start says\n%s\nafter\n%s", second, first)
	}
	for _, costs := range []string{"pulse: pulses are not counted", "cleaning: cleaning cycles are found"} { // of DC-4 and DC-5 neither is logged
		if strings.Count(first, costs) == 0 {
			t.Errorf("the pages' plant says nothing of %q", costs)
		}
	}
	paper, _, code := do(t, "demo", "--folder", filepath.Join(dir, "paper"), "--print")
	if a, b := tagsOf(first), tagsOf(paper); code != 0 || !slices.Equal(a, b) || len(a) != 5 {
		t.Errorf("the pages list %v, the print %v (exit code %d)", a, b, code)
	}
	if list, err := filepath.Glob(filepath.Join(dir, "*.csv")); err != nil || len(list) != 0 {
		t.Errorf("the pages need no logs: %v %v", list, err)
	}
}

// tagsOf lists the tags of a plant's table, in its order.
func tagsOf(text string) (out []string) {
	for line := range strings.Lines(text) {
		if tag, ok := strings.CutPrefix(line, "  DC-"); ok {
			out = append(out, tag[:1])
		}
	}
	return out
}

// page asks for a page of a running program.
func (c *child) page(t *testing.T, path string) string {
	t.Helper()
	answer, err := http.Get(c.base + path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }() // read whole below
	body, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s, %v", path, answer.Status, err)
	}
	return string(body)
}
