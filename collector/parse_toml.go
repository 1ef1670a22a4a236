package collector

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"sort"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// unreadable says why data cannot be a collector file at all; "" if it can.
func unreadable(data []byte) string {
	switch {
	case len(data) > mostBytes:
		return fmt.Sprintf("the file is larger than %d kB, so it is not a collector file; give the .toml file that describes the collector", mostBytes>>10)
	case len(bytes.TrimSpace(data)) == 0:
		return "the file is empty; a collector file needs at least tag, [duty] flow and [filters] rows, per_row and area_each"
	case bytes.IndexByte(data, 0) >= 0 || !utf8.Valid(data):
		return "the file is not plain text in UTF-8; save the collector file as plain text"
	}
	return ""
}

// index cuts the byte order mark off and notes where the lines start.
func (r *reader) index(data []byte) {
	r.data = bytes.TrimPrefix(data, []byte("\ufeff"))
	r.starts = []int{0}
	for i, b := range r.data {
		if b == '\n' {
			r.starts = append(r.starts, i+1)
		}
	}
}

// place is the line and column of an offset; columns count characters.
func (r *reader) place(offset int) place {
	line := sort.SearchInts(r.starts, offset+1)
	return place{line, utf8.RuneCount(r.data[r.starts[line-1]:offset]) + 1}
}

// fresh matches a line that starts a table or a key: where reading resumes after a syntax fault.
var fresh = regexp.MustCompile(`^[ \t]*(\[\[?[ \t]*[A-Za-z_]|["']?[A-Za-z_][-A-Za-z0-9_."' ]*=)`)

// read goes through the file expression by expression. After a syntax fault it resumes at the next
// line that starts a key or a table, so that later faults are found too.
func (r *reader) read() {
	var under []string
	skip := false
	for base := 0; base >= 0; {
		p := &unstable.Parser{}
		p.Reset(r.data[base:])
		for p.NextExpression() {
			e := p.Expression()
			path, at := r.keyOf(e.Key(), base)
			switch e.Kind {
			case unstable.Table, unstable.ArrayTable:
				var ok bool
				under, ok = r.header(path, at, e.Kind == unstable.ArrayTable)
				skip = !ok
			case unstable.KeyValue:
				if !skip {
					r.assign(pair{append(slices.Clone(under), path...), at, r.literal(e.Value(), base, at)})
				}
			default:
			}
		}
		if len(r.faults) > mostFaults {
			return
		}
		var lost bool
		base, lost = r.syntax(p, base)
		skip = skip || lost
	}
}

// syntax notes the parser's fault, if there is one, and returns where to resume, -1 at the end; lost
// says that the fault is in a table's header, so that the lines below it have no place.
func (r *reader) syntax(p *unstable.Parser, base int) (resume int, lost bool) {
	err := p.Error()
	if err == nil {
		return -1, false
	}
	r.broken = true
	offset := base
	var bad *unstable.ParserError
	if errors.As(err, &bad) && len(bad.Highlight) > 0 {
		offset += int(p.Range(bad.Highlight).Offset)
	}
	at := r.place(offset)
	r.fault(at, "", "this cannot be read as TOML: %s; a line is key = value, with quantities and texts in quotation marks", err.Error())
	line := bytes.TrimLeft(r.data[r.starts[at.line-1]:], " \t")
	lost = bytes.HasPrefix(line, []byte("[")) && fresh.Match(line)
	for _, start := range r.starts[at.line:] {
		if fresh.Match(r.data[start:]) {
			return start, lost
		}
	}
	return -1, lost
}

// keyOf is the path that a key or table header spells, with its place.
func (r *reader) keyOf(it unstable.Iterator, base int) (path []string, at place) {
	for it.Next() {
		n := it.Node()
		if path == nil {
			at = r.place(base + int(n.Raw.Offset))
		}
		path = append(path, string(n.Data))
	}
	return path, at
}

// literal copies a value out of the parser. Arrays carry no place of their own: they take that of
// their first item, or else of what they stand in.
func (r *reader) literal(n *unstable.Node, base int, within place) literal {
	l := literal{kind: n.Kind, at: within}
	if n.Kind != unstable.Array {
		l.at = r.place(base + int(n.Raw.Offset))
		l.text = string(n.Data)
	}
	it := n.Children()
	switch n.Kind {
	case unstable.Array:
		l.items = []literal{}
		for it.Next() {
			l.items = append(l.items, r.literal(it.Node(), base, within))
		}
		if len(l.items) > 0 {
			l.at = l.items[0].at
		}
	case unstable.InlineTable:
		l.text, l.pairs = "", []pair{}
		for it.Next() {
			path, at := r.keyOf(it.Node().Key(), base)
			l.pairs = append(l.pairs, pair{path, at, r.literal(it.Node().Value(), base, at)})
		}
	default:
	}
	return l
}
