package feed

import (
	"context"
	"os"
	"strings"
	"testing"
)

// TestDocumentedExamples: every log and mapping shown in docs/logs.md is read without a fault.
func TestDocumentedExamples(t *testing.T) {
	page, err := os.ReadFile("../docs/logs.md")
	if err != nil {
		t.Fatal(err)
	}
	var mapping *Mapping
	logs, mappings := 0, 0
	for _, fence := range strings.Split(string(page), "\n```")[1:] {
		kind, body, found := strings.Cut(fence, "\n")
		if !found || kind == "" {
			continue
		}
		opts := Options{}
		switch kind {
		case "toml":
			m, err := ParseMapping("docs/logs.md", []byte(body))
			if err != nil {
				t.Fatal(err)
			}
			mappings++
			if mapping == nil {
				mapping = m
			}
			continue
		case "csv mapped":
			opts.Mapping = mapping
		case "csv":
		default:
			t.Fatalf("unknown kind of example %q", kind)
		}
		logs++
		s, report, err := Read(context.Background(), []string{write(t, "log.csv", body)}, opts)
		if err != nil {
			t.Fatal(err)
		}
		if want := strings.Count(strings.TrimSpace(body), "\n"); s.Len() > want || s.Len() < 2 || report.FaultCount > 0 || len(report.Unknown) > 0 {
			t.Errorf("%d rows from %d lines; %v", s.Len(), want, report.Sentences(9))
		}
	}
	if logs != 3 || mappings != 2 {
		t.Errorf("%d logs and %d mappings found, want 3 and 2", logs, mappings)
	}
}
