package collector

import (
	"fmt"
	"strings"
)

// Fault is one thing in a collector file that cannot be read, with the place and with what would
// be right. Its sentence is the whole message.
type Fault struct {
	File         string
	Line, Column int    // from 1; 0 when the value did not come from a file
	Key          string // such as "duty.flow"; "" when the fault belongs to no key
	Text         string // what is wrong, and what would be right
}

// Error is the fault in one line: file:line:column: key: sentence.
func (f Fault) Error() string {
	var b strings.Builder
	if f.File != "" {
		b.WriteString(f.File)
		if f.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
		}
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(f.Key)
		b.WriteString(": ")
	}
	b.WriteString(f.Text)
	return b.String()
}

// Faults are all faults of one file, in the order of the file. It is the error type of Load, Parse,
// Set and Validate; get at it with errors.As.
type Faults []Fault

// Error is one line for each fault.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// orNil keeps an empty list from becoming a non-nil error.
func (fs Faults) orNil() error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}
