package feed

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// looseTime reads a trimmed time cell in any of the usual spellings: ISO dates with any separator,
// "02.03.2026 07:00", "3/2/2026 7:00 AM", "2 Mar 2026 07:00", "20260302T0700Z", a spreadsheet's day
// number, seconds or milliseconds since 1970. Where day and month could change places, first says
// which stands first, and the marks tell that the cell itself does not.
func looseTime(cell []byte, first dayOrder) (moment, bool) {
	if m, ok := compactTime(cell); ok {
		return m, true
	}
	p := timeText{rest: cell}
	m, ok := p.date(first)
	if !ok {
		return moment{}, false
	}
	return p.finish(m)
}

// dayOrder says whether 3/2/2026 is a day of February or of March.
type dayOrder uint8

const (
	monthFirst dayOrder = iota
	dayFirst
)

// timeText is what is left of a time cell while it is being read from the left.
type timeText struct{ rest []byte }

// digits takes a whole number of 1 to most digits; it returns -1 where there is none.
func (p *timeText) digits(most int) (value, width int) {
	for width < len(p.rest) && width < most && p.rest[width]-'0' <= 9 {
		value = value*10 + int(p.rest[width]-'0')
		width++
	}
	if width == 0 {
		return -1, 0
	}
	p.rest = p.rest[width:]
	return value, width
}

// any takes one or more of the given bytes and reports whether there was one.
func (p *timeText) any(set string) bool {
	n := 0
	for n < len(p.rest) && strings.IndexByte(set, p.rest[n]) >= 0 {
		n++
	}
	p.rest = p.rest[n:]
	return n > 0
}

// monthNames are the months in English and, where they differ in the first three letters, German.
var monthNames = map[string]int{
	"jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "oct": 10, "nov": 11,
	"dec": 12, "mrz": 3, "m\u00e4r": 3, "mai": 5, "okt": 10, "dez": 12,
}

// month takes a month's name, whole or short, and returns 0 where there is none.
func (p *timeText) month() int {
	n := 0
	for n < len(p.rest) && (p.rest[n]|0x20 >= 'a' && p.rest[n]|0x20 <= 'z' || p.rest[n] >= 0x80) {
		n++
	}
	letters := []rune(strings.ToLower(string(p.rest[:n])))
	if len(letters) < 3 || len(letters) > 9 {
		return 0
	}
	number := monthNames[string(letters[:3])]
	if number > 0 {
		p.rest = p.rest[n:]
		p.any(".")
	}
	return number
}

// date takes the date. Years stand first with four digits, or last.
func (p *timeText) date(first dayOrder) (moment, bool) {
	if m := p.month(); m > 0 { // Mar 2, 2026
		p.any(" -")
		d, _ := p.digits(2)
		p.any(" ,-")
		y := p.year()
		return dated(y, m, d, 0)
	}
	a, width := p.digits(4)
	if width == 3 || !p.any("-/. ") {
		return moment{}, false
	}
	if m := p.month(); m > 0 { // 2 Mar 2026, 2026-Mar-02
		p.any("-/. ,")
		if width == 4 {
			d, _ := p.digits(2)
			return dated(a, m, d, 0)
		}
		return dated(p.year(), m, a, 0)
	}
	b, _ := p.digits(2)
	dots := p.any(".")
	if !dots && !p.any("-/ ") {
		return moment{}, false
	}
	p.any(" ")
	if width == 4 {
		d, _ := p.digits(2)
		return dated(a, b, d, 0)
	}
	if dots {
		return dated(p.year(), b, a, 0) // 02.03.2026 is written day first wherever dots are used
	}
	return numericDate(p.year(), a, b, first)
}

// year takes a year of four digits, or of two, which mean 2000 and later.
func (p *timeText) year() int {
	y, width := p.digits(4)
	switch width {
	case 4:
		return y
	case 2:
		return 2000 + y
	}
	return -1
}

// numericDate settles a date written a/b/year.
func numericDate(year, a, b int, first dayOrder) (moment, bool) {
	switch {
	case a > 12:
		return dated(year, b, a, provesDay)
	case b > 12:
		return dated(year, a, b, provesMon)
	case a == b:
		return dated(year, a, b, 0)
	case first == dayFirst:
		return dated(year, b, a, eitherWay)
	}
	return dated(year, a, b, eitherWay)
}

func dated(year, month, dayOfMonth int, m marks) (moment, bool) {
	if !validDate(year, month, dayOfMonth) {
		return moment{}, false
	}
	return moment{ns: days(year, month, dayOfMonth) * day, marks: m}, true
}

// finish takes the time of day and the offset behind a date, and nothing else may follow.
func (p *timeText) finish(m moment) (moment, bool) {
	if len(p.rest) == 0 {
		m.marks |= bareDate | local
		return m, true
	}
	if !p.any(" Tt,;_") {
		return moment{}, false
	}
	ns, ok := p.clock()
	if !ok {
		return moment{}, false
	}
	m.ns += ns
	m, next := withOffset(p.rest, 0, m)
	if next != len(p.rest) {
		return moment{}, false
	}
	return m, true
}

// clock takes a time of day: 7:00, 07:00:00.250, 7:00 AM, 24:00. "UTC" and "GMT" behind it become Z.
func (p *timeText) clock() (int64, bool) {
	hh, width := p.digits(2)
	if width == 0 || hh > 24 || len(p.rest) < 3 || p.rest[0] != ':' {
		return 0, false
	}
	p.rest = p.rest[1:]
	mm, width := p.digits(2)
	if width != 2 || mm > 59 {
		return 0, false
	}
	ns := int64(mm) * minute
	if len(p.rest) > 1 && p.rest[0] == ':' {
		p.rest = p.rest[1:]
		ss, width := p.digits(2)
		if width == 0 || ss > 60 {
			return 0, false
		}
		ns += int64(ss) * second
		if len(p.rest) > 1 && (p.rest[0] == '.' || p.rest[0] == ',') && p.rest[1]-'0' <= 9 {
			frac, next := fraction(p.rest, 1)
			ns += frac
			p.rest = p.rest[next:]
		}
	}
	hh = p.halfDay(hh)
	if hh < 0 || hh == 24 && ns != 0 {
		return 0, false
	}
	return ns + int64(hh)*hour, true
}

// halfDay takes AM, PM, a.m. or p.m. and turns the hour into one of 24; -1 where they do not fit.
// It also takes the blank before an offset and turns the words for Greenwich time into Z.
func (p *timeText) halfDay(hh int) int {
	p.any(" ")
	word := strings.ToLower(strings.ReplaceAll(string(p.rest), ".", ""))
	switch {
	case word == "utc" || word == "gmt":
		p.rest = []byte("Z")
		return hh
	case strings.HasPrefix(word, "am"), strings.HasPrefix(word, "pm"):
	default:
		return hh
	}
	if hh < 1 || hh > 12 {
		return -1
	}
	hh %= 12
	if word[0] == 'p' {
		hh += 12
	}
	p.rest = []byte(strings.TrimSpace(word[2:]))
	return hh
}

// compactTime reads times without separators: 20260302T070000Z, 20260302 0700, seconds or
// milliseconds since 1970, and a spreadsheet's day number.
func compactTime(cell []byte) (moment, bool) {
	n := 0
	for n < len(cell) && cell[n]-'0' <= 9 {
		n++
	}
	switch {
	case n == len(cell) && n == 10, n == len(cell) && n == 13, n == 10 && cell[n] == '.':
		return epoch(cell, n)
	case n == 5 && (n == len(cell) || cell[n] == '.' || cell[n] == ','):
		return dayNumber(cell)
	case n == 8 || n == 12 || n == 14:
		return runTogether(cell, n)
	}
	return moment{}, false
}

// epoch reads seconds (10 digits, decimals allowed) or milliseconds (13 digits) since 1970; whole is
// how many digits the cell begins with.
func epoch(cell []byte, whole int) (moment, bool) {
	n, err := strconv.ParseInt(string(cell[:whole]), 10, 64)
	if err != nil {
		return moment{}, false
	}
	m := moment{marks: zoned | epochCount}
	next := whole
	switch {
	case whole == 13:
		m.ns = n * (second / 1000)
	case whole == 10 && whole < len(cell) && cell[whole] == '.':
		m.ns, next = fraction(cell, whole+1)
		m.ns += n * second
	case whole == 10:
		m.ns = n * second
	}
	year, _, _ := civil(m.ns / day)
	return m, next == len(cell) && year >= firstYear && year <= lastYear
}

// dayNumber reads a spreadsheet's day number, 1 being the first of January 1900, to the nearest
// millisecond, finer than the number itself is kept.
func dayNumber(cell []byte) (moment, bool) {
	v, err := strconv.ParseFloat(string(bytes.Replace(cell, []byte(","), []byte("."), 1)), 64)
	if err != nil || v < 32874 || v > 73050 { // 1990 to 2099
		return moment{}, false
	}
	ms := math.Round((v - 25569) * 86400e3)
	return moment{ns: int64(ms) * (second / 1000), marks: local | serialDay}, true
}

// runTogether reads YYYYMMDD and YYYYMMDDhhmm[ss], with T or a blank before the time of day or not.
func runTogether(cell []byte, whole int) (moment, bool) {
	year := two(cell, 0)*100 + two(cell, 2)
	m, ok := dated(year, two(cell, 4), two(cell, 6), 0)
	if !ok {
		return moment{}, false
	}
	rest := cell[8:]
	if whole == 8 {
		if len(rest) == 0 {
			m.marks |= bareDate | local
			return m, true
		}
		if rest[0] != 'T' && rest[0] != ' ' {
			return moment{}, false
		}
		rest = rest[1:]
	}
	p := timeText{rest: rest}
	v, width := p.digits(6)
	switch width {
	case 4:
		v *= 100
	case 6:
	default:
		return moment{}, false
	}
	hh, mm, ss := v/10000, v/100%100, v%100
	if hh > 23 || mm > 59 || ss > 60 {
		return moment{}, false
	}
	m.ns += int64(hh)*hour + int64(mm)*minute + int64(ss)*second
	m, next := withOffset(p.rest, 0, m)
	return m, next == len(p.rest)
}
