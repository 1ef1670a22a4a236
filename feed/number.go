package feed

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// pow10 holds the powers of ten that a float64 holds exactly; a mantissa below 2^53 divided by one
// of them is correctly rounded (Clinger's fast path).
var pow10 = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

const exactMantissa = 1 << 53

// plainNumber reads a number written as digits with at most one decimal mark, starting at b[i] and
// ending at delim or the end of the line, where b must have one. It returns the value and the
// position after the number, or -1 for everything less plain, which slowNumber takes.
func plainNumber(b []byte, i int, delim, point byte) (float64, int) {
	c := b[i]
	neg := c == '-'
	if neg {
		i++
		c = b[i]
	}
	start := i
	var m uint64
	for c-'0' <= 9 {
		m = m*10 + uint64(c-'0')
		i++
		c = b[i]
	}
	digits, places := i-start, 0
	if c == point {
		i++
		mark := i
		for c = b[i]; c-'0' <= 9; c = b[i] {
			m = m*10 + uint64(c-'0')
			i++
		}
		places = i - mark
		digits += places
	}
	if (c != delim && c != '\n' && c != '\r') || digits == 0 || digits > 19 || m >= exactMantissa {
		return 0, -1
	}
	v := float64(m)
	if places > 0 {
		v /= pow10[places]
	}
	if neg {
		v = -v
	}
	return v, i
}

// slowNumber reads one trimmed cell in any spelling a spreadsheet or a hand gives a number: signs,
// exponents, thousands marks, a decimal comma. It reports false for what is not one number.
func slowNumber(cell []byte, point byte) (float64, bool) {
	text := string(bytes.ReplaceAll(cell, []byte("\u2212"), []byte("-")))
	if v, err := strconv.ParseFloat(withPoint(text, point), 64); err == nil {
		ok := !math.IsNaN(v) && !math.IsInf(v, 0) && plainLetters(text)
		return v, ok
	}
	return 0, false
}

// plainLetters refuses the words and forms that strconv takes for numbers and a log does not mean:
// "inf", "0x1p4", "1_000".
func plainLetters(text string) bool {
	for _, c := range text {
		switch {
		case c >= '0' && c <= '9', c == '+', c == '-', c == '.', c == ',', c == 'e', c == 'E':
		case c == ' ', c == '\'', c == '\u00a0', c == '\u202f', c == '\u2009':
		default:
			return false
		}
	}
	return true
}

// withPoint returns the number with its decimal mark as a point and without thousands marks.
// Thousands marks are taken out only where every group has three digits.
func withPoint(text string, point byte) string {
	other := ","
	if point == ',' {
		other = "."
	}
	whole, rest := text, ""
	if k := strings.LastIndexByte(text, point); k >= 0 {
		whole, rest = text[:k], "."+text[k+1:]
	}
	for _, mark := range []string{other, " ", "'", "\u00a0", "\u202f", "\u2009"} {
		whole = ungroup(whole, mark)
	}
	return whole + rest
}

// ungroup takes the thousands mark out of a whole number when the groups behind it have three
// digits each and the first is not zero; it leaves any other text alone.
func ungroup(whole, mark string) string {
	head, tail, found := strings.Cut(whole, mark)
	lead := strings.TrimLeft(head, "+-")
	if !found || lead == "" || lead[0] == '0' || len(lead) > 3 {
		return whole
	}
	out := head
	for found {
		var group string
		group, tail, found = strings.Cut(tail, mark)
		if len(group) != 3 {
			return whole
		}
		out += group
	}
	return out
}
