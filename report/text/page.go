// Package text prints answers as pages for a terminal: the sentence that matters first, the numbers after, then what
// widens or is missing. It decides on words and order, never on a figure, and knows nothing of files, flags or
// terminals: every page is a function of an answer and a system of units.
package text

import (
	"io"
	"strings"
	"unicode/utf8"

	"dustwright/collector"
	"dustwright/unit"
)

// width is the longest line of a page.
const width = 100

// page collects the lines of one page.
type page struct {
	sys  unit.System
	b    strings.Builder
	rows [][]string // a table that is still being filled
}

// quantity is anything of package unit that prints itself.
type quantity interface{ In(unit.System) string }

// q prints a quantity in the page's units.
func (p *page) q(x quantity) string { return x.In(p.sys) }

// marked prints a text that marks in braces what is said otherwise in SI.
func (p *page) marked(text string) string { return collector.Marked(text).In(p.sys) }

// say writes a paragraph, wrapped; quantities among the arguments print in the page's units.
func (p *page) say(format string, args ...any) { p.indented("", format, args...) }

// indented is say with every line after the first set in by as much as the first's prefix.
func (p *page) indented(prefix, format string, args ...any) {
	p.table()
	wrap(&p.b, prefix, collector.Say(format, args...).In(p.sys))
}

// gap leaves a line blank.
func (p *page) gap() {
	p.table()
	if !strings.HasSuffix(p.b.String(), "\n\n") {
		p.b.WriteByte('\n')
	}
}

// row adds a line to a table: a label and its values, in columns.
func (p *page) row(cells ...string) { p.rows = append(p.rows, cells) }

// table writes the rows collected so far: the first column to the left, the others to the right.
func (p *page) table() {
	var widths []int
	for _, r := range p.rows {
		for i, c := range r {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range p.rows {
		var line strings.Builder
		line.WriteString("  ")
		for i, c := range r {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			switch {
			case i == 0:
				line.WriteString(c + pad)
			case i == len(r)-1 && i > 1: // the last of many columns is a remark
				line.WriteString("  " + c)
			default:
				line.WriteString("  " + pad + c)
			}
		}
		p.b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	p.rows = nil
}

// print writes the page.
func (p *page) print(w io.Writer) error {
	p.table()
	_, err := io.WriteString(w, p.b.String())
	return err
}

// wrap writes text in lines of at most width, the first after prefix, the others set in by its length.
func wrap(b *strings.Builder, prefix, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(prefix))
	line := prefix
	empty := true
	for word := range strings.FieldsSeq(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			b.WriteString(line + "\n")
			line, empty = indent, true
		}
		if !empty {
			line += " "
		}
		line += word
		empty = false
	}
	b.WriteString(line + "\n")
}
