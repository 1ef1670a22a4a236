package unit

import (
	"strings"
	"sync"
	"unicode"
)

// Unit is one way to write a quantity: SI = value*Factor + Offset.
type Unit struct {
	Symbol         string // the spelling used in messages, not necessarily the one looked up
	Kind           Kind
	Factor, Offset float64
}

// SI converts a number written in the unit to SI. NaN in, NaN out.
func (u Unit) SI(value float64) float64 { return value*u.Factor + u.Offset }

// From converts an SI value to a number in the unit. NaN in, NaN out.
func (u Unit) From(si float64) float64 { return (si - u.Offset) / u.Factor }

// index finds a unit by its folded spelling: exact case first, then any case where that is not ambiguous.
type index struct {
	exact, anyCase map[string]Unit
	ambiguous      map[string][]string // folded lower-case spelling → the spellings it may stand for
	known          []string            // all spellings, for Nearest
}

// indexes builds all indexes once; they are never written again and safe for concurrent use.
var indexes = sync.OnceValue(func() *[numKinds]index {
	var all [numKinds]index
	for kind := range all {
		all[kind] = newIndex(Kind(kind), units[kind])
	}
	return &all
})

func newIndex(kind Kind, entries []entry) index {
	ix := index{exact: map[string]Unit{}, anyCase: map[string]Unit{}, ambiguous: map[string][]string{}}
	for _, e := range entries {
		un := Unit{Symbol: e.spellings[0], Kind: kind, Factor: e.factor, Offset: e.offset}
		for _, s := range e.spellings {
			key := fold(s)
			low := strings.ToLower(key)
			ix.exact[key] = un
			if other, taken := ix.anyCase[low]; taken && other != un {
				ix.ambiguous[low] = append(ix.ambiguous[low], other.Symbol, un.Symbol)
			}
			ix.anyCase[low] = un
			ix.known = append(ix.known, s)
		}
	}
	return ix
}

// find returns the unit of a folded spelling; alternatives is set when only the case could tell.
func (ix index) find(key string) (un Unit, alternatives []string, ok bool) {
	if un, ok = ix.exact[key]; ok {
		return un, nil, true
	}
	low := strings.ToLower(key)
	if alternatives = ix.ambiguous[low]; alternatives != nil {
		return Unit{}, alternatives, false
	}
	un, ok = ix.anyCase[low]
	return un, nil, ok
}

// Lookup finds the unit that symbol stands for where a quantity of kind is due: trade spellings, SI and UCUM.
// KindNumber accepts any symbol, also none, with factor 1. A symbol that is unknown, that belongs to another
// kind, that mixes gauge with absolute pressure or standard with actual flow, or whose case decides between two units,
// is an *Error that says so.
func Lookup(kind Kind, symbol string) (Unit, error) {
	if err := checkText(kind, symbol); err != nil {
		return Unit{}, err
	}
	symbol = strings.TrimSpace(symbol)
	if kind == KindNumber {
		return Unit{Symbol: symbol, Kind: kind, Factor: 1}, nil
	}
	un, err := lookup(kind, symbol, symbol)
	if err != nil {
		return Unit{}, err
	}
	return un, nil
}

// checkText refuses what can't be a quantity of a known kind at all.
func checkText(kind Kind, text string) *Error {
	if kind < 0 || kind >= numKinds {
		return &Error{Kind: kind, Text: shorten(text), Why: "it is not said what this measures"}
	}
	if len(text) > maxText {
		return fail(kind, text, text, "it is %d bytes long, which is no quantity", len(text))
	}
	return nil
}

// lookup finds symbol; text is the whole quantity it stood in, for the message.
func lookup(kind Kind, symbol, text string) (Unit, *Error) {
	if symbol == "" {
		return Unit{}, fail(kind, text, text, "%s needs its unit", facts[kind].name)
	}
	all := indexes()
	key := fold(symbol)
	un, alternatives, ok := all[kind].find(key)
	if ok {
		return un, nil
	}
	if alternatives != nil {
		return Unit{}, &Error{Kind: kind, Text: shorten(text), Found: symbol,
			Why: "capitals matter in " + quoted(symbol) + ": it can be " + strings.Join(alternatives, " or ")}
	}
	if err := confused(kind, symbol, text, key); err != nil {
		return Unit{}, err
	}
	for other := range all {
		if _, _, ok := all[other].find(key); ok {
			return Unit{}, fail(kind, text, symbol, "%s is a unit of %s, and %s is due", quoted(symbol), Kind(other), facts[kind].name)
		}
	}
	err := fail(kind, text, symbol, "%s is no known unit of %s", quoted(symbol), kind)
	err.Nearest = Nearest(symbol, all[kind].known)
	return Unit{}, err
}

// twins are the kinds that share a dimension and must not be taken for each other, with what to say.
var twins = map[Kind]struct {
	other Kind
	why   string
}{
	KindPressure:    {KindAbsPressure, "%s is an absolute pressure, and a gauge pressure or a difference is due here"},
	KindAbsPressure: {KindPressure, "%s does not say absolute, and an absolute pressure is due here; add the local barometer to a gauge reading first"},
	KindFlow:        {KindStdFlow, "%s is a flow at standard conditions, and the flow as it is at the place (actual) is due here; at the site's density it is a different number"},
	KindStdFlow:     {KindFlow, "%s is an actual flow, and one at standard conditions is due here"},
}

// unclear are spellings that people use and that don't say enough, by folded lower-case spelling. They stand under the kinds
// they are taken for.
var unclear = map[Kind]map[string]string{
	KindFlow:    {"slpm": noReference, "slm": noReference, "nlpm": noReference, "sm3/h": noReference},
	KindStdFlow: {"slpm": noReference, "slm": noReference, "sm3/h": noReference},
	KindMass:    {"ton": "%s can be a short ton (US) or a metric one: write \"short ton\" or \"t\"", "tons": "%s can be short tons (US) or metric ones: write \"short ton\" or \"t\""},
	KindConcentration: {"gr/scf": atStandard, "gr/dscf": atStandard, "mg/nm3": atStandard, "g/nm3": atStandard, "mg/dscm": atStandard,
		"mg/sm3": atStandard},
}

const (
	noReference = "%s does not say at which temperature and pressure it is counted"
	atStandard  = "%s counts the air at standard conditions, and dust per actual volume is due here"
)

// confused explains a unit that does not say enough or belongs to the twin kind.
func confused(kind Kind, symbol, text, key string) *Error {
	if why := unclear[kind][strings.ToLower(key)]; why != "" {
		return fail(kind, text, symbol, why, quoted(symbol))
	}
	twin, has := twins[kind]
	if !has {
		return nil
	}
	if _, _, ok := indexes()[twin.other].find(key); !ok {
		return nil
	}
	return fail(kind, text, symbol, twin.why, quoted(symbol))
}

func quoted(s string) string { return "\"" + shorten(s) + "\"" }

// folds turns the many glyphs of one sign into the one used in the table; "" drops it.
var folds = map[rune]string{
	'²': "2", '³': "3", '₂': "2", '°': "deg", 'º': "deg", '℃': "degC", '℉': "degF", 'µ': "u", 'μ': "u",
	'″': "\"", '”': "\"", '“': "\"", '′': "'", '’': "'", '‘': "'", '−': "-", '–': "-", '⁻': "-", '¹': "1",
	'·': "", '⋅': "", '∙': "", '.': "", '^': "", '*': "", '\u200b': "", '\ufeff': "",
}

// fold brings a unit's spelling to the form in which spellings are compared. Case is kept.
func fold(symbol string) string {
	var b strings.Builder
	b.Grow(len(symbol))
	for _, r := range symbol {
		if unicode.IsSpace(r) {
			continue
		}
		if to, special := folds[r]; special {
			b.WriteString(to)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}
