package collector

import (
	"encoding/json"
	"fmt"
	"strings"

	"dustwright/unit"
)

// Text is a sentence with quantities in it, printed in the reader's units when it is shown. In JSON it is a plain text, in US units;
// In and Fixed give it in others, and Kept keeps it in both.
type Text struct {
	format string
	args   []any
	kept   bool // written to JSON in both systems
}

// Say makes a Text: format as for fmt, with %s for every quantity. What is said otherwise in SI stands in the format in braces, US
// units first: "below {25 psi|170 kPa}".
func Say(format string, args ...any) Text { return Text{format: format, args: args} }

// Plain makes a Text that reads alike in both systems.
func Plain(text string) Text { return Say("%s", text) }

// Marked makes a Text of a sentence that says in braces what is said otherwise in SI, as Say's format does, and is taken as it stands otherwise.
func Marked(text string) Text { return Text{format: strings.ReplaceAll(text, "%", "%%")} }

// Spoken makes a Text of what says returns for either system.
func Spoken(says func(unit.System) string) Text {
	return Say("%s", spoken{says(unit.US), says(unit.SI)})
}

// spoken is a sentence in both systems.
type spoken struct {
	US string `json:"us"`
	SI string `json:"si"`
}

// In is the sentence in the units of a system.
func (s spoken) In(sys unit.System) string {
	if sys == unit.SI {
		return s.SI
	}
	return s.US
}

// In is the sentence in the units of a system.
func (t Text) In(sys unit.System) string {
	args := make([]any, len(t.args))
	for i, a := range t.args {
		if q, ok := a.(interface{ In(unit.System) string }); ok {
			a = q.In(sys)
		}
		args[i] = a
	}
	return fmt.Sprintf(choose(t.format, sys), args...)
}

// choose takes of every {US|SI} in a format the part of a system; braces without a stroke stay.
func choose(format string, sys unit.System) string {
	if !strings.Contains(format, "{") {
		return format
	}
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(format, "{")
		inside, after, closed := strings.Cut(rest, "}")
		us, si, both := strings.Cut(inside, "|")
		b.WriteString(before)
		switch {
		case !ok:
			return b.String()
		case !closed || !both:
			b.WriteString("{")
			format = rest
		default:
			b.WriteString(spoken{us, si}.In(sys))
			format = after
		}
	}
}

// IsZero reports that there is no sentence; JSON leaves such a text out where it may.
func (t Text) IsZero() bool { return t.String() == "" }

// String is the sentence in US units, for messages that do not know their reader.
func (t Text) String() string { return t.In(unit.US) }

// Fixed is the sentence as it is printed in a system, whoever reads it.
func (t Text) Fixed(sys unit.System) Text { return Plain(t.In(sys)) }

// Kept is the sentence as it is put away: its JSON holds it in both systems.
func (t Text) Kept() Text {
	t.kept = true
	return t
}

// MarshalJSON writes the sentence: a text in US units, or of a kept one that reads otherwise in SI both, as {"us": ..., "si": ...}.
func (t Text) MarshalJSON() ([]byte, error) {
	if t.kept {
		if both := (spoken{t.In(unit.US), t.In(unit.SI)}); both.US != both.SI {
			return json.Marshal(both)
		}
	}
	return json.Marshal(t.String())
}

// UnmarshalJSON reads what MarshalJSON writes. A plain text reads as it stands in either system.
func (t *Text) UnmarshalJSON(data []byte) error {
	var both spoken
	if err := json.Unmarshal(data, &both.US); err == nil {
		*t = Plain(both.US)
		return nil
	}
	if err := json.Unmarshal(data, &both); err != nil {
		return err
	}
	*t = Say("%s", both)
	return nil
}
