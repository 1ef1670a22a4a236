package collector

import (
	"github.com/pelletier/go-toml/v2/unstable"
)

// place is where something stands in the file, from 1.
type place struct{ line, column int }

// literal is one value as written, with its place: what the TOML library's node says, copied out
// because the library reuses its nodes.
type literal struct {
	kind  unstable.Kind
	text  string // decoded for strings, as written for the rest
	at    place
	items []literal // of an array
	pairs []pair    // of an inline table
}

// pair is one key and value of an inline table, or one line of the file.
type pair struct {
	path  []string
	at    place // of the key
	value literal
}

// describe names the kind of thing a literal is, for messages.
func (l literal) describe() string {
	switch l.kind {
	case unstable.String:
		return "the text " + quote(l.text)
	case unstable.Integer, unstable.Float:
		return "the bare number " + clip(l.text)
	case unstable.Bool:
		return l.text
	case unstable.Array:
		return "a list"
	case unstable.InlineTable:
		return "a table"
	default:
		return "the date or time " + clip(l.text)
	}
}

// quote puts a text between quotation marks, shortened so that a message stays one line.
func quote(s string) string { return `"` + clip(s) + `"` }

// clip shortens a text to what a person needs to recognise it and blanks what would break a line.
func clip(s string) string {
	const most = 40
	out := make([]rune, 0, most)
	for _, r := range s {
		if r < ' ' || r == 0x7f {
			r = ' '
		}
		if len(out) == most {
			return string(out) + "…"
		}
		out = append(out, r)
	}
	return string(out)
}
