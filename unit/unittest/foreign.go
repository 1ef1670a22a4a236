package unittest

import (
	"regexp"
	"strings"
)

// foreign are the units of each system that the other one does not use, as they stand in sentences. Electricity's kW and kWh, A and V are
// common to both.
var foreign = map[string]*regexp.Regexp{
	"us": regexp.MustCompile(`\bk?Pa\b|\bm[²³]|\bm[23]\b|\bm/s\b|°C|\bmm\b|\bkg\b|\bg/m|[0-9] (?:m|cm|L|g|bar)\b|\blitres?\b`),
	"si": regexp.MustCompile(`\bin\. ?w\.|\binwg\b|\bs?cfm?\b|\bpsi[ag]?\b|\bft\b|\bft[²³23]|\bfpm\b|°F|\bgr/|\bhp\b|\blb\b|\bgal\b|\binch(?:es)?\b|[0-9] in(?: *[^ 0-9a-z]| [b-z]| *$)`),
}

// Foreign lists what in a text speaks of units that a reader of "us" or "si" units does not use, each with the words around it.
func Foreign(units, text string) []string {
	var out []string
	for _, at := range foreign[units].FindAllStringIndex(text, -1) {
		from, to := max(0, at[0]-60), min(len(text), at[1]+20)
		out = append(out, strings.ToValidUTF8(strings.Join(strings.Fields(text[from:to]), " "), ""))
	}
	return out
}
