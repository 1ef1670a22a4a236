package duct

import (
	"fmt"
	"strings"
)

// TraverseFault is one thing in a traverse file that can't be used: where it stands and, as a sentence, what is wrong and what would be right.
type TraverseFault struct {
	File         string
	Line, Column int // from 1; 0: the file as a whole, or the whole line
	Text         string
}

// Error returns "file:line:column: sentence".
func (f TraverseFault) Error() string {
	switch {
	case f.Line == 0:
		return f.File + ": " + f.Text
	case f.Column == 0:
		return fmt.Sprintf("%s:%d: %s", f.File, f.Line, f.Text)
	}
	return fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.Text)
}

// TraverseFaults is all that is wrong with a file, in the order of the file.
type TraverseFaults []TraverseFault

// Error returns one fault a line.
func (fs TraverseFaults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}
