package judge

import (
	"maps"
	"slices"

	"dustwright/collector"
)

// caution texts: usual practice of the trade; local codes, the equipment's own manual and licensed
// practice come first. Pages and printouts open with the one that applies.
var cautions = map[string]string{
	"live": "live check: keep clear of the fan, the drive and the pulse exhaust; hearing protection",
	"compressed-air": "stored compressed air: shut off and lock the supply, bleed the header and prove zero " +
		"before loosening anything; pulses are loud and sudden, hearing and eye protection",
	"sensing-line": "take the gauge off its lines first; blow towards the collector, below {25 psi|170 kPa}; eye protection",
	"fan":          "lock out and prove zero energy; the fan coasts, wait until it stands; hearing protection near a running fan",
	"electrical":   "electrical work is for licensed people; lock out and prove dead; the controller may pulse without warning",
	"open-collector": "lock out fan and cleaning, bleed the header and prove zero; the fan coasts; dust may be combustible " +
		"or toxic: no sparks, no blowing off, respirator; cartridges are heavy; never open on a smouldering fire",
	"open-duct": "lock out the fan and let it stand; dust may be combustible or toxic: no sparks, respirator; sharp edges, work at height",
	"bin":       "stop the fan or close the valve above the bin; dust may be combustible or toxic: respirator, no sparks; a full bin is heavy",
	"traverse":  "the fan runs: hearing protection; a safe stand at the port; hot or sharp duct; close the port after",
}

// Caution returns the text of a caution, an empty one for the empty id. It panics on an id that is not in the
// list: those of causes and checks are ours and a test walks them, and those of a plant's own checks are looked at when read.
func Caution(id string) collector.Text {
	if id == "" {
		return collector.Text{}
	}
	text, ok := cautions[id]
	if !ok {
		panic("judge: no caution " + id)
	}
	return collector.Marked(text)
}

// cautionIDs lists the cautions by their ids.
func cautionIDs() []string { return slices.Sorted(maps.Keys(cautions)) }
