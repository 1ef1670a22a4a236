package collector

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"dustwright/unit"
)

// What a person writes between the figures of a test.
var (
	fallBetween = regexp.MustCompile(`(?i)\s+to\s+|\s*(?:→|->)\s*|[,;]?\s+(?:and\s+)?(?:back\s+)?(?:in|within|after|over)\s+|[,;]\s+`)
	loadBetween = regexp.MustCompile(`(?i)[,;/]\s*|\s+and\s+`)
	loadWord    = regexp.MustCompile(`(?i)^(?:(unloaded|off|loaded|on)\b:?\s*)?(.*?)(?:\s+(unloaded|off|loaded|on))?$`)
	bareNumber  = regexp.MustCompile(`^[0-9][0-9.,]*$`)
)

// ParseFall reads a fall of the header's pressure and its time: "60 psi to 45 psi in 90 s", "60 to 45 psi, 90 s", "60 psi to
// 38 psi, back in 4 s". The error says what of it can't be read, and how it is written.
func ParseFall(text string) (Fall, error) {
	open := Fall{unit.Pressure(math.NaN()), unit.Pressure(math.NaN()), unit.Seconds(math.NaN())}
	parts := fallBetween.Split(strings.TrimSpace(text), -1)
	if len(parts) != 3 {
		return open, fmt.Errorf("%q is not two pressures and a time; it is written as \"60 psi to 45 psi in 90 s\"", text)
	}
	from := strings.TrimSpace(strings.TrimPrefix(parts[0], "from "))
	if bareNumber.MatchString(from) { // "60 to 45 psi"
		from += strings.TrimLeft(parts[1], "0123456789.,")
	}
	var f Fall
	var err error
	if f.From, err = unit.ParsePressure(from); err != nil {
		return open, fmt.Errorf("the first pressure: %w", err)
	}
	if f.To, err = unit.ParsePressure(parts[1]); err != nil {
		return open, fmt.Errorf("the second pressure: %w", err)
	}
	if f.Time, err = unit.ParseSeconds(parts[2]); err != nil {
		return open, fmt.Errorf("the time: %w", err)
	}
	return f, nil
}

// ParseLoad reads a compressor's times on and off load [s]: "loaded 2 min, unloaded 8 min", "2 min on, 8 min off", or the two times
// in that order. Both are NaN beside an error, which says what can't be read, and how it is written.
func ParseLoad(text string) (loaded, unloaded unit.Seconds, err error) {
	nan := unit.Seconds(math.NaN())
	var times [2]unit.Seconds
	var seen [2]bool
	parts := loadBetween.Split(strings.TrimSpace(text), -1)
	for i, part := range parts {
		m := loadWord.FindStringSubmatch(strings.TrimSpace(part))
		if len(parts) != 2 || m == nil {
			return nan, nan, fmt.Errorf("%q is not two times; it is written as \"loaded 2 min, unloaded 8 min\"", text)
		}
		place := i
		switch strings.ToLower(m[1] + m[3]) {
		case "loaded", "on":
			place = 0
		case "unloaded", "off":
			place = 1
		case "":
		default:
			return nan, nan, fmt.Errorf("%q says twice what the compressor did; it is written as \"loaded 2 min, unloaded 8 min\"", part)
		}
		if seen[place] {
			return nan, nan, fmt.Errorf("%q gives one of the two times twice; it is written as \"loaded 2 min, unloaded 8 min\"", text)
		}
		seen[place] = true
		if times[place], err = unit.ParseSeconds(m[2]); err != nil {
			return nan, nan, fmt.Errorf("the time %q: %w", part, err)
		}
	}
	return times[0], times[1], nil
}
