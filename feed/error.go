package feed

import (
	"errors"
	"fmt"
	"strings"

	"dustwright/unit"
)

// Error is a log or a mapping that can't be used as it is. Its text is the whole message: where,
// what is wrong, and what would be right.
type Error struct {
	File   string
	Line   int    // 0 where it concerns the file as a whole
	Column string // name of the column, "" where none is meant
	Why    string // what is wrong, a clause
	Do     string // what would be right, a clause, or ""
	Cause  error  // what the system said, or nil
}

// Error returns the sentence.
func (e *Error) Error() string {
	text := e.place() + ": " + e.Why
	if e.Do != "" {
		text += "; " + e.Do
	}
	return text
}

// Unwrap returns what the system said, so that errors.Is finds fs.ErrNotExist, context.Canceled and
// the like.
func (e *Error) Unwrap() error { return e.Cause }

func (e *Error) place() string {
	text := e.File
	if e.Line > 0 {
		text += fmt.Sprintf(": line %d", e.Line)
	}
	if e.Column != "" {
		if e.Line > 0 {
			text += ","
		} else {
			text += ":"
		}
		text += " column " + shown(e.Column)
	}
	return text
}

// Fault is one cell or line that could not be read; the rest of the log was.
type Fault struct {
	File   string
	Line   int
	Column string // "" where the whole line is meant
	Cell   string // what stood there, shortened
	Why    string // what is wrong with it, a clause
}

// String returns the sentence.
func (f Fault) String() string {
	at := Error{File: f.File, Line: f.Line, Column: f.Column}
	if f.Cell == "" {
		return at.place() + ": " + f.Why
	}
	return fmt.Sprintf("%s: %s %s", at.place(), quote(f.Cell), f.Why)
}

// quote shows a cell in a message: shortened, with unprintable bytes made visible.
func quote(cell string) string {
	const keep = 40
	if len(cell) > keep {
		cell = strings.ToValidUTF8(cell[:keep], "") + "..."
	}
	return fmt.Sprintf("%q", cell)
}

// shown makes a column's name fit for a message.
func shown(name string) string {
	q := quote(name)
	if inner := q[1 : len(q)-1]; inner == name && !strings.Contains(name, " ") {
		return name
	}
	return q
}

// unitClause says what is wrong with a unit, without repeating the text around it.
func unitClause(err error) string {
	var ue *unit.Error
	if !errors.As(err, &ue) {
		return err.Error()
	}
	if ue.Nearest != "" {
		return fmt.Sprintf("%s (nearest: %q)", ue.Why, ue.Nearest)
	}
	return ue.Why
}
