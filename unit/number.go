package unit

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// fractionGlyphs are the one-sign fractions people type.
var fractionGlyphs = map[rune]float64{
	'½': 1.0 / 2, '¼': 1.0 / 4, '¾': 3.0 / 4, '⅛': 1.0 / 8, '⅜': 3.0 / 8, '⅝': 5.0 / 8, '⅞': 7.0 / 8, '⅓': 1.0 / 3, '⅔': 2.0 / 3,
}

// number reads the number at the start of text and returns it with the rest, trimmed. Accepted: a sign, digits with a
// decimal point, thousands commas where they can't be decimal commas ("1,234.5", "1,234,567"), an exponent, and
// fractions alone or after a whole number ("1/4", "3 1/2", "3-1/2", "3½"). why is "" when all is well, and otherwise
// a clause that says what is wrong.
func number(text string) (value float64, rest, why string) {
	s, negative := sign(strings.TrimSpace(text))
	digits, s := decimal(s)
	if digits == "" {
		value, s, why = fraction(s)
		if why != "" {
			return 0, s, why
		}
	} else if value, s, why = mixed(digits, s); why != "" {
		return 0, s, why
	}
	if negative {
		value = -value
	}
	return value, strings.TrimSpace(s), ""
}

// sign takes one leading sign off; minus comes in several glyphs.
func sign(s string) (rest string, negative bool) {
	r, n := utf8.DecodeRuneInString(s)
	switch r {
	case '-', '−', '–':
		return strings.TrimSpace(s[n:]), true
	case '+':
		return strings.TrimSpace(s[n:]), false
	}
	return s, false
}

// decimal splits off the longest decimal number, commas included.
func decimal(s string) (digits, rest string) {
	i, seen := 0, false
	for i < len(s) && (isDigit(s[i]) || (s[i] == ',' && seen && i+1 < len(s) && isDigit(s[i+1])) || s[i] == '.') {
		if s[i] == '.' && strings.Contains(s[:i], ".") {
			break
		}
		seen = seen || isDigit(s[i])
		i++
	}
	if !seen {
		return "", s
	}
	if j := exponent(s[i:]); j > 0 {
		i += j
	}
	return s[:i], s[i:]
}

// exponent returns the length of an exponent such as e-5 at the start of s, or 0.
func exponent(s string) int {
	if len(s) < 2 || (s[0] != 'e' && s[0] != 'E') {
		return 0
	}
	j := 1
	if s[j] == '+' || s[j] == '-' {
		j++
	}
	start := j
	for j < len(s) && isDigit(s[j]) {
		j++
	}
	if j == start {
		return 0
	}
	return j
}

// mixed finishes a number whose first part is digits: a fraction bar, a fraction behind it, or nothing.
func mixed(digits, s string) (value float64, rest, why string) {
	if strings.HasPrefix(s, "/") && len(s) > 1 && isDigit(s[1]) {
		return fraction(digits + s)
	}
	value, why = plain(digits)
	if why != "" {
		return 0, s, why
	}
	tail := strings.TrimLeftFunc(s, unicode.IsSpace)
	joined := strings.HasPrefix(tail, "-") && isWhole(digits)
	if joined {
		tail = tail[1:]
	}
	r, _ := utf8.DecodeRuneInString(tail)
	_, glyph := fractionGlyphs[r]
	if !glyph && (tail == "" || !isDigit(tail[0])) {
		return value, s, ""
	}
	if strings.HasPrefix(tail, "1/") && !joined && (len(tail) == 2 || !isDigit(tail[2])) {
		return value, s, "" // a unit such as 1/min
	}
	part, after, why := fraction(tail)
	if why != "" || !isWhole(digits) || part >= 1 {
		return 0, s, "two numbers stand one behind the other"
	}
	return value + part, after, ""
}

// fraction reads "1/4" or a fraction glyph.
func fraction(s string) (value float64, rest, why string) {
	r, n := utf8.DecodeRuneInString(s)
	if v, ok := fractionGlyphs[r]; ok {
		return v, s[n:], ""
	}
	over, s := wholes(s)
	if over == "" || !strings.HasPrefix(s, "/") {
		return 0, s, "there is no number at its start"
	}
	under, s := wholes(s[1:])
	a, errA := strconv.ParseUint(over, 10, 32)
	b, errB := strconv.ParseUint(under, 10, 32)
	if errA != nil || errB != nil || b == 0 {
		return 0, s, "the fraction " + quoted(over+"/"+under) + " can't be read"
	}
	return float64(a) / float64(b), s, ""
}

// wholes splits off leading digits.
func wholes(s string) (digits, rest string) {
	i := 0
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	return s[:i], s[i:]
}

// plain converts digits with point, commas and exponent.
func plain(digits string) (value float64, why string) {
	if strings.Contains(digits, ",") {
		if why := commas(digits); why != "" {
			return 0, why
		}
		digits = strings.ReplaceAll(digits, ",", "")
	}
	value, err := strconv.ParseFloat(digits, 64)
	switch {
	case err != nil || math.IsInf(value, 0):
		return 0, "the number is too large"
	case value == 0 && strings.ContainsAny(mantissa(digits), "123456789"):
		return 0, "the number is too small to be told from zero"
	}
	return value, ""
}

// commas says what is wrong with the commas in digits, or "".
func commas(digits string) (why string) {
	m := mantissa(digits)
	whole, _, point := strings.Cut(m, ".")
	if point && strings.Contains(m[len(whole):], ",") {
		return "a comma stands behind the decimal point"
	}
	groups := strings.Split(whole, ",")
	good := groups[0] != "" && len(groups[0]) <= 3 && groups[0][0] != '0'
	for _, g := range groups[1:] {
		good = good && len(g) == 3
	}
	switch {
	case !good && len(groups) == 2 && !point:
		return "the decimal sign is a point here: " + groups[0] + "." + groups[1]
	case !good:
		return "the commas don't part thousands"
	case len(groups) == 2 && !point:
		return "the comma can mean " + groups[0] + groups[1] + " or " + groups[0] + "." + groups[1] + ", so write one of these"
	}
	return ""
}

func mantissa(digits string) string {
	if i := strings.IndexAny(digits, "eE"); i >= 0 {
		return digits[:i]
	}
	return digits
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isWhole(digits string) bool { return strings.Trim(digits, "0123456789") == "" }
