package text

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"dustwright/collector"
	"dustwright/unit"
)

func example(t *testing.T) *collector.Collector {
	t.Helper()
	c, err := collector.Load("../../collector/testdata/dc1.toml")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestTrimOpensWithCaution: hands go to the damper and into the housing, so the page begins with what that takes, and
// defers to code, manual and licence.
func TestTrimOpensWithCaution(t *testing.T) {
	c := example(t)
	answer, err := c.Trim(collector.NewTrimRequest())
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := Trim(&b, unit.US, c, answer); err != nil {
		t.Fatal(err)
	}
	page := strings.Join(strings.Fields(b.String()), " ")
	if !strings.HasPrefix(page, "CAUTION") {
		t.Errorf("the page begins with %.60q", page)
	}
	for _, want := range []string{"lock out", "bleed the header and prove zero", "the fan coasts", "combustible", "hearing protection", "heavy", deference} {
		if !strings.Contains(page, want) {
			t.Errorf("the caution does not say %q", want)
		}
	}
}

func TestLinesStayShort(t *testing.T) {
	c := example(t)
	var b strings.Builder
	if err := Check(&b, unit.SI, c, c.Check(), c.Answers()); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
			t.Errorf("%d characters: %s", n, line)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, tt := range []struct{ prefix, text, want string }{
		{"", "", "\n"},
		{"  - ", "one two", "  - one two\n"},
		{"  - ", strings.Repeat("x", 90) + " " + strings.Repeat("y", 20), "  - " + strings.Repeat("x", 90) + "\n    " + strings.Repeat("y", 20) + "\n"},
		{"", strings.Repeat("x", 150), strings.Repeat("x", 150) + "\n"},
	} {
		var b strings.Builder
		wrap(&b, tt.prefix, tt.text)
		if b.String() != tt.want {
			t.Errorf("wrap(%q, %q) = %q, want %q", tt.prefix, tt.text, b.String(), tt.want)
		}
	}
}

// full is a writer with no room left.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestFullDiskIsAnError(t *testing.T) {
	c := example(t)
	if err := Check(full{}, unit.US, c, nil, c.Answers()); err == nil {
		t.Error("a page that could not be written was reported as written")
	}
}
