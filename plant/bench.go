package plant

// Bench is what the bench check of a valve found, in the order it is done. Source: common practice, no source.
type Bench struct {
	Puff   bool `json:"puff"`   // the pilot's exhaust puffs when it should fire
	Opens  bool `json:"opens"`  // with the pilot's hose off, the diaphragm opens
	Closes bool `json:"closes"` // with the hose sealed by a finger, it closes
}

// Verdict says which part is bad, "" for neither, and why in a sentence.
func (b Bench) Verdict() (part, why string) {
	switch {
	case b.Puff && b.Opens && b.Closes:
		return "", "The pilot puffs, the diaphragm opens and closes: neither is bad. Look at the wiring, the hose and the on-time."
	case !b.Opens:
		return "diaphragm", "With the hose off the diaphragm should open and did not: the diaphragm is bad."
	case !b.Closes:
		return "diaphragm", "With the hose sealed the diaphragm should close and kept blowing: the diaphragm is bad."
	}
	return "pilot", "The diaphragm opens and closes as it should, and the pilot does not puff: the pilot is bad."
}
