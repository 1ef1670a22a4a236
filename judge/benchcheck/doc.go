// Package benchcheck is the guided check of one pulse valve at the collector: questions a person
// answers with hand, ear and eye until it is clear whether the pilot, the diaphragm, the hose between
// them, the wiring or the supply is at fault. The questions are data, so that a terminal and a page
// ask the same; a Session steps through them and forgets nothing. That no puff at the pilot means one
// of the two is bad, that a diaphragm opens when the pilot's hose is off and closes when the hose is
// sealed, and which of the two is bad by that, is common practice, no published source.
package benchcheck
