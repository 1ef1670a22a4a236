package unit

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// maxText is the longest text that can be a quantity or a unit [bytes].
const maxText = 120

// Error is a quantity or a unit that can't be read. Its Error text is the whole message for the person
// who wrote it; where it stood (file, line, column) is added by whoever read the file.
type Error struct {
	Kind    Kind   // what was due
	Text    string // the whole text as given, shortened if very long
	Found   string // the part that is wrong
	Why     string // what is wrong with it, a clause
	Want    string // an accepted spelling
	Nearest string // nearest known spelling of Found, or ""
}

// Error returns the sentence.
func (e *Error) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%q: %s", e.Text, e.Why)
	switch {
	case e.Nearest != "":
		fmt.Fprintf(&b, "; the nearest known spelling is %q", e.Nearest)
	case e.Want != "":
		fmt.Fprintf(&b, "; write it like %s", e.Want)
	}
	return b.String()
}

// fail builds the error of a text that is not a quantity of kind.
func fail(kind Kind, text, found, format string, args ...any) *Error {
	us, si := kind.Examples()
	want := fmt.Sprintf("%q", us)
	if si != us {
		want += fmt.Sprintf(" or %q", si)
	}
	return &Error{Kind: kind, Text: shorten(text), Found: shorten(found), Why: fmt.Sprintf(format, args...), Want: want}
}

// shorten keeps a message readable whatever was sent.
func shorten(s string) string {
	const keep = 40
	if utf8.RuneCountInString(s) <= keep {
		return s
	}
	n := 0
	for i := range s {
		if n == keep {
			return s[:i] + "..."
		}
		n++
	}
	return s
}
