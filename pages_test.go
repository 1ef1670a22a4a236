package dustwright_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// required lists the modules of go.mod.
func required(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("go.mod")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, m := range regexp.MustCompile(`(?m)^\s*(?:require )?([a-z0-9.]+\.[a-z]+/\S+) v\S+`).FindAllSubmatch(text, -1) {
		out = append(out, string(m[1]))
	}
	return out
}

// moduleOf finds the module an import path belongs to, "" for the standard library and the project's own.
func moduleOf(imp string, modules []string) string {
	best := ""
	for _, m := range modules {
		if (imp == m || strings.HasPrefix(imp, m+"/")) && len(m) > len(best) {
			best = m
		}
	}
	return best
}

// Every module the source imports stands in THIRD_PARTY.md, under the program or under tests as it is used, and
// nothing stands there that is not required.
func TestThirdPartyPage(t *testing.T) {
	modules := required(t)
	if len(modules) == 0 {
		t.Fatal("go.mod requires nothing: the reader is broken")
	}
	text, err := os.ReadFile("THIRD_PARTY.md")
	if err != nil {
		t.Fatal(err)
	}
	program, rest, ok := strings.Cut(string(text), "## Imported by tests only")
	if !ok {
		t.Fatal("THIRD_PARTY.md has lost its headings")
	}
	tests, along, _ := strings.Cut(rest, "## Comes along")
	seen := map[string]bool{}
	for _, s := range sources(t) {
		for _, imp := range s.imports() {
			m := moduleOf(imp, modules)
			where := program
			if s.test || strings.HasSuffix(s.dir, "test") || strings.HasPrefix(s.dir, "bench") || strings.HasPrefix(s.dir, "tools") {
				where = program + tests
			}
			if m != "" && !seen[m+s.path] && !regexp.MustCompile(`[|,] `+regexp.QuoteMeta(m)+`[ ,]`).MatchString(where) {
				t.Errorf("%s imports %s, which THIRD_PARTY.md does not list there", s.path, m)
			}
			seen[m+s.path] = true
		}
	}
	for _, m := range regexp.MustCompile(`\b(?:github\.com|golang\.org|gonum\.org|pgregory\.net)/[\w./-]+`).FindAllString(program+tests+along, -1) {
		if !slices.Contains(modules, m) {
			t.Errorf("THIRD_PARTY.md lists %s, which go.mod does not require", m)
		}
	}
}

// The files and folders that ARCHITECTURE.md points at exist.
func TestArchitecturePage(t *testing.T) {
	text, err := os.ReadFile("ARCHITECTURE.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile("`([a-z_]+(?:/[a-z_]*)*/?[a-z_]*(?:\\.go|/))`").FindAllStringSubmatch(string(text), -1) {
		if _, err := os.Stat(m[1]); err != nil {
			t.Errorf("ARCHITECTURE.md points at %s, which is not there", m[1])
		}
	}
	for dir := range arrows {
		if dir != "." && !strings.Contains(string(text), dir) {
			t.Errorf("ARCHITECTURE.md does not mention package %s", dir)
		}
	}
}
