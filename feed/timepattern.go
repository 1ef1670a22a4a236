package feed

import (
	"fmt"
	"strings"

	"dustwright/unit"
)

// pattern is how a mapping spells the times of a file: letters for the parts, everything else as it
// stands, for example "DD.MM.YY hh:mm" or "M/D/YYYY h:mm:ss AM".
type pattern struct {
	text  string
	parts []part
}

// part is one step of a pattern: a date or time field of so many digits, or a text to stand there.
type part struct {
	field   byte // 'Y' 'M' 'N' (month name) 'D' 'h' 'm' 's' 'f' 'A' 'Z' 'u' (unix s) 'i' (unix ms) 'x' (day number); 0 for text
	width   int  // digits; 0 for one or two
	literal string
}

// patternWords are the parts of a pattern, longest first where one begins like another.
var patternWords = []struct {
	word string
	part part
}{
	{"YYYY", part{field: 'Y', width: 4}}, {"YY", part{field: 'Y', width: 2}},
	{"MMM", part{field: 'N'}}, {"MM", part{field: 'M', width: 2}}, {"M", part{field: 'M'}},
	{"DD", part{field: 'D', width: 2}}, {"D", part{field: 'D'}},
	{"hh", part{field: 'h', width: 2}}, {"h", part{field: 'h'}},
	{"mm", part{field: 'm', width: 2}}, {"ss", part{field: 's', width: 2}}, {"fff", part{field: 'f'}},
	{"AM", part{field: 'A'}}, {"Z", part{field: 'Z'}},
}

// wholePatterns are the words that stand for a whole time cell.
var wholePatterns = map[string]byte{"unix": 'u', "unix ms": 'i', "excel": 'x'}

// newPattern reads the pattern a mapping gives. The error lists the parts there are.
func newPattern(text string) (*pattern, error) {
	if field, ok := wholePatterns[text]; ok {
		return &pattern{text: text, parts: []part{{field: field}}}, nil
	}
	p := &pattern{text: text}
	seen := map[byte]int{}
	for rest := text; rest != ""; {
		next, word := patternPart(rest)
		if next.field == 0 && letter(rest[0]) && rest[0] != 'T' {
			return nil, badPattern(text, rest)
		}
		seen[next.field]++
		if next.field != 0 && seen[next.field] > 1 {
			return nil, fmt.Errorf("the time format %q names %q twice", text, word)
		}
		p.parts = append(p.parts, next)
		rest = rest[len(word):]
	}
	if seen['Y'] == 0 || seen['M']+seen['N'] != 1 || seen['D'] == 0 {
		return nil, fmt.Errorf("the time format %q must name year, month and day, for example \"YYYY-MM-DD hh:mm\"", text)
	}
	return p, nil
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// patternPart takes the first part of a pattern, and the text it was written as.
func patternPart(rest string) (part, string) {
	for _, w := range patternWords {
		if strings.HasPrefix(rest, w.word) {
			return w.part, w.word
		}
	}
	return part{literal: rest[:1]}, rest[:1]
}

func badPattern(text, rest string) error {
	word := rest
	if k := strings.IndexFunc(rest, func(r rune) bool { return r > 127 || !letter(byte(r)) }); k > 0 {
		word = rest[:k]
	}
	known := []string{"YYYY", "YY", "MMM", "MM", "M", "DD", "D", "hh", "h", "mm", "ss", "fff", "AM", "Z", "unix", "unix ms", "excel"}
	if near := unit.Nearest(word, known); near != "" {
		return fmt.Errorf("the time format %q has %q, which is no part of a time; the nearest is %q", text, word, near)
	}
	return fmt.Errorf("the time format %q has %q, which is no part of a time; the parts are YYYY MM DD hh mm ss fff AM Z, or \"unix\", \"unix ms\", \"excel\" alone", text, word)
}

// fields are the values a pattern has found in a cell.
type fields struct {
	year, month, day, hour, minute, second int
	frac                                   int64
	half                                   byte // 'a', 'p' or 0
	clock                                  bool // a time of day was there
}

// read reads one trimmed cell by the pattern.
func (p *pattern) read(cell []byte) (moment, bool) {
	t := timeText{rest: cell}
	f := fields{month: 1, day: 1}
	m := moment{marks: local}
	for _, step := range p.parts {
		switch step.field {
		case 'u', 'i':
			return epoch(cell, leading(cell))
		case 'x':
			return dayNumber(cell)
		case 'Z':
			var next int
			if m, next = withOffset(t.rest, 0, moment{}); next <= 0 || m.marks&zoned == 0 {
				return moment{}, false
			}
			t.rest = t.rest[next:]
		default:
			if !f.take(&t, step) {
				return moment{}, false
			}
		}
	}
	return f.moment(m, len(t.rest) == 0)
}

// leading returns how many digits the cell begins with when they make a count since 1970, else its length.
func leading(cell []byte) int {
	n := 0
	for n < len(cell) && cell[n]-'0' <= 9 {
		n++
	}
	return n
}

// take reads one part.
func (f *fields) take(t *timeText, step part) bool {
	switch step.field {
	case 0:
		ok := len(t.rest) > 0 && t.rest[0] == step.literal[0]
		if ok {
			t.rest = t.rest[1:]
		}
		return ok
	case 'N':
		f.month = t.month()
		return f.month > 0
	case 'f':
		ns, next := fraction(t.rest, 0)
		f.frac, t.rest = ns, t.rest[next:]
		return next > 0
	case 'A':
		if len(t.rest) < 2 || t.rest[1]|0x20 != 'm' {
			return false
		}
		f.half = t.rest[0] | 0x20
		t.rest = t.rest[2:]
		return f.half == 'a' || f.half == 'p'
	}
	most := max(step.width, 2)
	v, width := t.digits(most)
	if width == 0 || step.width > 0 && width != step.width {
		return false
	}
	switch step.field {
	case 'Y':
		f.year = v
		if step.width == 2 {
			f.year += 2000
		}
	case 'M':
		f.month = v
	case 'D':
		f.day = v
	case 'h':
		f.hour, f.clock = v, true
	case 'm':
		f.minute = v
	case 's':
		f.second = v
	}
	return true
}

// moment puts the fields together; m carries the offset where the pattern had one.
func (f *fields) moment(m moment, whole bool) (moment, bool) {
	if f.half != 0 {
		if f.hour < 1 || f.hour > 12 {
			return moment{}, false
		}
		f.hour %= 12
		if f.half == 'p' {
			f.hour += 12
		}
	}
	if !whole || !validDate(f.year, f.month, f.day) || f.hour > 24 || f.minute > 59 || f.second > 60 {
		return moment{}, false
	}
	m.ns += days(f.year, f.month, f.day)*day + int64(f.hour)*hour + int64(f.minute)*minute + int64(f.second)*second + f.frac
	if !f.clock {
		m.marks |= bareDate
	}
	return m, true
}
