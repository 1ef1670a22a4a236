package feed

// moment is one time cell: a point on a clock, and what the cell itself says about that clock.
type moment struct {
	ns     int64 // unix nanoseconds where zoned, else the wall clock counted as if it ran in UTC
	offset int32 // seconds east of Greenwich, where zoned
	marks  marks
}

// marks are what one cell, or all cells of a column together, tell about how times are written.
type marks uint8

const (
	zoned      marks = 1 << iota // carries an offset
	local                        // carries none
	bareDate                     // has no time of day
	eitherWay                    // 3/2/2026: day and month could change places
	provesDay                    // 13/2/2026: the day stands first
	provesMon                    // 2/13/2026: the month stands first
	serialDay                    // a spreadsheet's day number
	epochCount                   // seconds or milliseconds since 1970
)

const (
	second = int64(1e9)
	minute = 60 * second
	hour   = 60 * minute
	day    = 24 * hour
)

// Times outside these years come from a clock that was not set, or are no times at all.
const (
	firstYear = 1990
	lastYear  = 2199
)

// days returns the number of days from 1970-01-01 to the date of the Gregorian calendar, months
// counted from March so that the leap day ends the year.
func days(year, month, dayOfMonth int) int64 {
	if month <= 2 {
		year--
		month += 12
	}
	return int64(365*year + year/4 - year/100 + year/400 + (153*(month-3)+2)/5 + dayOfMonth - 719469)
}

// civil is the inverse of days.
func civil(n int64) (year, month, dayOfMonth int) {
	z := n + 719468
	era := z / 146097
	doe := z - era*146097
	yoe := (doe - doe/1460 + doe/36524 - doe/146096) / 365
	doy := doe - (365*yoe + yoe/4 - yoe/100)
	mp := (5*doy + 2) / 153
	year, month, dayOfMonth = int(yoe+era*400), int(mp)+3, int(doy-(153*mp+2)/5)+1
	if month > 12 {
		month -= 12
		year++
	}
	return year, month, dayOfMonth
}

// validDate reports whether the date exists and its year is one a log can come from.
func validDate(year, month, dayOfMonth int) bool {
	if year < firstYear || year > lastYear || month < 1 || month > 12 || dayOfMonth < 1 {
		return false
	}
	return dayOfMonth <= monthLength(year, month)
}

func monthLength(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// two returns the number of two digits at b[i:], and something far above 99 where they are not digits.
func two(b []byte, i int) int {
	hi, lo := b[i]-'0', b[i+1]-'0'
	if hi > 9 || lo > 9 {
		return 1 << 20
	}
	return int(hi)*10 + int(lo)
}

// isoTime reads a time as RFC 3339 writes it, "2026-03-02T07:00:00-06:00", with a space for the T
// and without seconds or offset too, starting at b[i]; b must go on for 20 bytes or more. It
// returns the position behind the time, or -1 where the cell is written in another way.
func isoTime(b []byte, i int) (moment, int) {
	c := b[i : i+20]
	year := two(c, 0)*100 + two(c, 2)
	month, dom, hh, mm := two(c, 5), two(c, 8), two(c, 11), two(c, 14)
	if c[4] != '-' || c[7] != '-' || (c[10] != 'T' && c[10] != ' ') || c[13] != ':' ||
		!validDate(year, month, dom) || hh > 23 || mm > 59 {
		return moment{}, -1
	}
	m := moment{ns: days(year, month, dom)*day + int64(hh)*hour + int64(mm)*minute}
	i += 16
	if c[16] == ':' {
		ss := two(c, 17)
		if ss > 60 {
			return moment{}, -1
		}
		m.ns += int64(ss) * second
		i += 3
		if b[i] == '.' && b[i+1]-'0' <= 9 {
			frac, next := fraction(b, i+1)
			m.ns += frac
			i = next
		}
	}
	return withOffset(b, i, m)
}

// fraction reads the digits after the decimal mark of seconds, to the nanosecond.
func fraction(b []byte, i int) (int64, int) {
	ns, scale := int64(0), second
	for i < len(b) && b[i]-'0' <= 9 {
		scale /= 10
		ns += int64(b[i]-'0') * scale
		i++
	}
	return ns, i
}

// withOffset reads "Z", "+01:00", "-0600", "+01" or nothing at b[i:] and completes the moment.
func withOffset(b []byte, i int, m moment) (moment, int) {
	if i >= len(b) {
		m.marks |= local
		return m, i
	}
	sign := int32(1)
	switch b[i] {
	case 'Z', 'z':
		m.marks |= zoned
		return m, i + 1
	case '+':
	case '-':
		sign = -1
	default:
		m.marks |= local
		return m, i
	}
	if i+3 > len(b) || two(b, i+1) > 15 {
		return moment{}, -1
	}
	off := int32(two(b, i+1)) * 3600
	i += 3
	if i < len(b) && b[i] == ':' {
		i++
	}
	if i+2 <= len(b) && b[i]-'0' <= 9 {
		mm := two(b, i)
		if mm > 59 {
			return moment{}, -1
		}
		off += int32(mm) * 60
		i += 2
	}
	m.offset = sign * off
	m.ns -= int64(m.offset) * second
	m.marks |= zoned
	return m, i
}
