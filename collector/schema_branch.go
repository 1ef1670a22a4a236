package collector

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"dustwright/duct"
	"dustwright/unit"
)

// branchSchema is every key of one [[branch]] table.
var branchSchema = []key[Branch]{
	{"branch", "name", `"table, zone 1"`, false, text[Branch]{func(b *Branch) *string { return &b.Name }}},
	{"branch", "into", `"main"`, false, text[Branch]{func(b *Branch) *string { return &b.Into }}},
	{"branch", "diameter", `"10 in"`, false, quantity(unit.KindLength, positive, func(b *Branch) *float64 { return (*float64)(&b.Diameter) })},
	{"branch", "length", `"32 ft"`, false, quantity(unit.KindLength, positive, func(b *Branch) *float64 { return (*float64)(&b.Length) })},
	{"branch", "flow", `"2100 cfm"`, false, quantity(unit.KindFlow, positive, func(b *Branch) *float64 { return (*float64)(&b.Flow) })},
	{"branch", "hood_sp", `"-1.4 in.w.g."`, false, quantity(unit.KindPressure, suction, func(b *Branch) *float64 { return (*float64)(&b.HoodSP) })},
	{"branch", "entry", `0.49`, false, entryField{plain(1, entryLoss, func(b *Branch) *float64 { return &b.Entry })}},
}

// entryLoss is wide: 0.04 is a bell mouth, 1.78 a slot counted on its own velocity, more is a hood with a filter or baffle in it.
var entryLoss = bounds{lo: 0, hi: 50, want: "from 0 to 50 velocity pressures"}

// entryField is the entry loss of a hood: a bare number of velocity pressures, or the name of a hood in duct.Hoods. It is
// printed as a number.
type entryField struct{ number[Branch] }

func (e entryField) read(b *Branch, l literal, example string) []problem {
	if l.kind != unstable.String {
		return e.number.read(b, l, example)
	}
	hoods := duct.Hoods()
	names := make([]string, len(hoods))
	for i, h := range hoods {
		if names[i] = h.Name; strings.EqualFold(h.Name, strings.TrimSpace(l.text)) {
			b.Entry = h.Fh
			return nil
		}
	}
	near := "known are " + quoted(names)
	if n := unit.Nearest(l.text, names); n != "" {
		near = "did you mean " + strconv.Quote(n)
	}
	return []problem{{l.at, fmt.Sprintf("%s is no hood whose entry loss is known; %s; or write its loss over the velocity pressure as a bare number, like %s", quote(l.text), near, example)}}
}

func (e entryField) print(b *Branch, sys unit.System) string {
	if math.IsNaN(b.Entry) {
		return ""
	}
	return e.number.print(b, sys)
}
