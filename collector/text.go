package collector

import (
	"fmt"

	"dustwright/unit"
)

// Text is a sentence with quantities in it, printed in the reader's units when it is shown.
type Text struct {
	format string
	args   []any
}

// Say makes a Text: format as for fmt, with %s for every quantity.
func Say(format string, args ...any) Text { return Text{format, args} }

// In is the sentence in the units of a system.
func (t Text) In(sys unit.System) string {
	args := make([]any, len(t.args))
	for i, a := range t.args {
		if q, ok := a.(interface{ In(unit.System) string }); ok {
			a = q.In(sys)
		}
		args[i] = a
	}
	return fmt.Sprintf(t.format, args...)
}

// String is the sentence in US units, for messages that do not know their reader.
func (t Text) String() string { return t.In(unit.US) }
