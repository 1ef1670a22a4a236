package collector

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2/unstable"

	"dustwright/unit"
)

// problem is a fault without its file and key.
type problem struct {
	at   place
	text string
}

// field reads one key's value into its owner and prints it back. read leaves the owner alone when
// it returns problems; print gives "" for a value that is not known.
type field[T any] interface {
	read(owner *T, l literal, example string) []problem
	print(owner *T, sys unit.System) string
}

// number is a real number: with a unit, or bare where the key itself names the unit.
type number[T any] struct {
	kind   unit.Kind
	scale  float64 // SI per file unit for bare numbers; 0 for quantities
	bounds bounds
	at     func(*T) *float64
}

func quantity[T any](kind unit.Kind, b bounds, at func(*T) *float64) number[T] {
	return number[T]{kind: kind, bounds: b, at: at}
}

func plain[T any](scale float64, b bounds, at func(*T) *float64) number[T] {
	return number[T]{kind: unit.KindNumber, scale: scale, bounds: b, at: at}
}

func (n number[T]) read(owner *T, l literal, example string) []problem {
	var v float64
	var bad string
	if n.scale == 0 {
		v, bad = readQuantity(n.kind, n.bounds, l, example)
	} else {
		v, bad = n.readPlain(l, example)
	}
	if bad != "" {
		return []problem{{l.at, bad}}
	}
	*n.at(owner) = v
	return nil
}

func (n number[T]) readPlain(l literal, example string) (float64, string) {
	if l.kind != unstable.Integer && l.kind != unstable.Float {
		return 0, fmt.Sprintf("%s stands where a bare number is due; write it like %s", l.describe(), example)
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(l.text, "_", ""), 64)
	if err != nil {
		return 0, fmt.Sprintf("%s is not a decimal number; write it like %s", clip(l.text), example)
	}
	if v := x * n.scale; n.bounds.hold(v) {
		return v, ""
	}
	return 0, fmt.Sprintf("%s cannot be: it must be %s, such as %s", clip(l.text), n.bounds.want, example)
}

// readQuantity reads a number with unit out of a text literal. The second result says what is
// wrong, "" if nothing is.
func readQuantity(kind unit.Kind, b bounds, l literal, example string) (float64, string) {
	if l.kind != unstable.String {
		if l.kind == unstable.Integer || l.kind == unstable.Float {
			return 0, fmt.Sprintf("%s has no unit; write it with one, in quotation marks, like %s", l.describe(), example)
		}
		return 0, fmt.Sprintf("%s stands where a quantity is due; write it like %s", l.describe(), example)
	}
	v, err := unit.Parse(kind, l.text)
	if err != nil {
		return 0, unitFault(err, example)
	}
	if !b.hold(v) {
		return 0, fmt.Sprintf("%s cannot be: it must be %s, such as %s", quote(l.text), b.want, example)
	}
	return v, ""
}

// unitFault puts the example of the key in the place of the unit package's general one.
func unitFault(err error, example string) string {
	var bad *unit.Error
	if !errors.As(err, &bad) {
		return err.Error()
	}
	text := fmt.Sprintf("%s: %s", quote(bad.Text), bad.Why)
	if bad.Nearest != "" {
		text += fmt.Sprintf("; the nearest known spelling is %q", bad.Nearest)
	}
	return text + "; write it like " + example
}

func (n number[T]) print(owner *T, sys unit.System) string {
	v := *n.at(owner)
	if math.IsNaN(v) {
		return ""
	}
	if n.scale == 0 {
		return strconv.Quote(exactly(n.kind, v, sys))
	}
	back := func(s string) bool {
		x, err := strconv.ParseFloat(s, 64)
		return err == nil && x*n.scale == v
	}
	x := v / n.scale
	for _, x := range []float64{x, math.Nextafter(x, math.Inf(1)), math.Nextafter(x, math.Inf(-1))} {
		if s, ok := shortest(x, back); ok {
			return s
		}
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// exactly prints a quantity with as few digits as bring back the very same SI value, in the usual unit
// of either system, whichever needs fewer digits (so a value keeps the unit it was born in); ties go to
// sys. Where neither brings it back it uses the SI unit, which always does.
func exactly(kind unit.Kind, v float64, sys unit.System) string {
	best := ""
	for _, s := range []unit.System{sys, unit.US, unit.SI} {
		_, symbol, _ := unit.Shown(kind, v, s)
		u, err := unit.Lookup(kind, symbol)
		if err != nil {
			continue
		}
		back := func(digits string) bool {
			got, err := unit.Parse(kind, digits+" "+u.Symbol)
			return err == nil && got == v
		}
		digits, ok := shortest(u.From(v), back)
		if ok && (best == "" || len(digits) < strings.IndexByte(best, ' ')) {
			best = digits + " " + u.Symbol
		}
	}
	if best != "" {
		return best
	}
	return strconv.FormatFloat(v, 'g', -1, 64) + " " + baseSymbol(kind)
}

// shortest tries more and more digits until back accepts them.
func shortest(x float64, back func(string) bool) (string, bool) {
	for digits := 1; digits <= 17; digits++ {
		s := strconv.FormatFloat(x, 'g', digits, 64)
		if f, err := strconv.ParseFloat(s, 64); err == nil && math.Abs(f) >= 1e-4 && math.Abs(f) < 1e15 {
			s = strconv.FormatFloat(f, 'f', -1, 64)
		}
		if back(s) {
			return s, true
		}
	}
	return "", false
}

// baseSymbol is the SI unit a kind is held in.
func baseSymbol(kind unit.Kind) string {
	symbols := map[unit.Kind]string{unit.KindPressure: "Pa", unit.KindFlow: "m3/s", unit.KindStdFlow: "m3/s std",
		unit.KindDensity: "kg/m3", unit.KindVelocity: "m/s", unit.KindLength: "m", unit.KindArea: "m2", unit.KindVolume: "m3",
		unit.KindPower: "W", unit.KindCurrent: "A", unit.KindVoltage: "V", unit.KindConcentration: "kg/m3", unit.KindShare: "{share}",
		unit.KindSeconds: "s", unit.KindSpeed: "1/s", unit.KindConductance: "m3/(s.Pa)"}
	return symbols[kind]
}

// whole is a whole number.
type whole[T any] struct {
	at     func(*T) *int
	lo, hi int
}

func (w whole[T]) read(owner *T, l literal, example string) []problem {
	n, err := strconv.ParseInt(strings.ReplaceAll(l.text, "_", ""), 0, 64)
	switch {
	case l.kind != unstable.Integer:
		return []problem{{l.at, fmt.Sprintf("%s stands where a whole number is due; write it like %s", l.describe(), example)}}
	case err != nil || n < int64(w.lo) || n > int64(w.hi):
		return []problem{{l.at, fmt.Sprintf("%s cannot be: it must be a whole number from %d to %d, such as %s", clip(l.text), w.lo, w.hi, example)}}
	}
	*w.at(owner) = int(n)
	return nil
}

func (w whole[T]) print(owner *T, _ unit.System) string {
	if *w.at(owner) == Unknown {
		return ""
	}
	return strconv.Itoa(*w.at(owner))
}

// text is free text of one line.
type text[T any] struct{ at func(*T) *string }

func (t text[T]) read(owner *T, l literal, example string) []problem {
	const most = 200
	s := strings.TrimSpace(l.text)
	switch {
	case l.kind != unstable.String:
		return []problem{{l.at, fmt.Sprintf("%s stands where a text is due; write it in quotation marks, like %s", l.describe(), example)}}
	case s == "":
		return []problem{{l.at, fmt.Sprintf("the text is empty; write it like %s, or leave the key out", example)}}
	case len(s) > most:
		return []problem{{l.at, fmt.Sprintf("the text has %d bytes, at most %d are read; shorten it", len(s), most)}}
	case strings.IndexFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f }) >= 0:
		return []problem{{l.at, "the text holds a line break, tab or control character; write it on one line"}}
	}
	*t.at(owner) = s
	return nil
}

func (t text[T]) print(owner *T, _ unit.System) string {
	if *t.at(owner) == "" {
		return ""
	}
	return tomlQuote(*t.at(owner))
}

// tomlQuote writes a text as a TOML basic string; Go's own quoting knows escapes that TOML does not.
func tomlQuote(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}

// choice is one word out of a list.
type choice[T any] struct {
	at    func(*T) *string
	words []string
}

func (c choice[T]) read(owner *T, l literal, example string) []problem {
	if l.kind != unstable.String || !slices.Contains(c.words, l.text) {
		near := ""
		if w := unit.Nearest(l.text, c.words); w != "" && l.kind == unstable.String {
			near = fmt.Sprintf("; did you mean %q", w)
		}
		return []problem{{l.at, fmt.Sprintf("%s is not one of %s%s", l.describe(), quoted(c.words), near)}}
	}
	*c.at(owner) = l.text
	return nil
}

func quoted(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(w)
	}
	return strings.Join(q, ", ")
}

func (c choice[T]) print(owner *T, _ unit.System) string {
	if *c.at(owner) == "" {
		return ""
	}
	return strconv.Quote(*c.at(owner))
}

// day is a calendar day.
type day[T any] struct{ at func(*T) *time.Time }

func (d day[T]) read(owner *T, l literal, example string) []problem {
	t, err := time.Parse(time.DateOnly, l.text)
	if l.kind != unstable.LocalDate && l.kind != unstable.String || err != nil {
		return []problem{{l.at, fmt.Sprintf("%s is not a day of the calendar; write year, month and day without a time, like %s", l.describe(), example)}}
	}
	if t.Year() < 1950 || t.Year() > 2200 {
		return []problem{{l.at, fmt.Sprintf("the year %d cannot be right; write the day like %s", t.Year(), example)}}
	}
	*d.at(owner) = t
	return nil
}

func (d day[T]) print(owner *T, _ unit.System) string {
	if d.at(owner).IsZero() {
		return ""
	}
	return d.at(owner).Format(time.DateOnly)
}
