package judge

import (
	"sort"
	"time"

	"dustwright/collector"
)

// Standing is what a collector calls for, least first.
type Standing string

// The four standings.
const (
	Steady     Standing = "steady"
	Drifting   Standing = "drifting"
	NeedsHands Standing = "needs-hands"
	MakeSafe   Standing = "make-safe"
)

// Rank orders standings: 0 for Steady to 3 for MakeSafe.
func (s Standing) Rank() int {
	switch s {
	case Drifting:
		return 1
	case NeedsHands:
		return 2
	case MakeSafe:
		return 3
	}
	return 0
}

// Probability is one cause with its share of belief.
type Probability struct {
	Cause  Cause   `json:"cause"`
	Number int     `json:"number,omitempty"` // valve or row; 0 where the cause has none or it is not known
	P      float64 `json:"probability"`
}

// Reason is one thing seen that moved the probabilities, as a sentence with numbers.
type Reason struct {
	Text   collector.Text
	Toward Cause   // the cause it speaks for most
	Weight float64 // natural log of how much more likely it is under that cause than under the rest
}

// Missing is a channel that is not there and what that costs.
type Missing struct {
	Channel string `json:"channel"`
	Costs   string `json:"costs"`
}

// Result is what is concluded about one collector at one time.
type Result struct {
	At       time.Time
	Standing Standing
	Causes   []Probability // most probable first; sums to 1
	Reasons  []Reason      // weightiest first
	Pair     *Pair         // two causes at once that fit better than any alone; nil where one does as well, or a check was answered
	Next     *Check        // nil where no check would pay
	Missing  []Missing
	Since    time.Time // when the trouble began, zero where none or unknown
	SinceLow time.Time // 90 % interval of Since
	SinceTop time.Time
}

// Answer is what a person found on doing a check.
type Answer struct {
	Check  string // id of the check
	Number int    // valve or row it was done on, 0 for none
	Yes    bool   // the finding asked for was there
}

// sortCauses puts the most probable first; equal ones stay in the order they came in.
func sortCauses(causes []Probability) {
	sort.SliceStable(causes, func(i, j int) bool { return causes[i].P > causes[j].P })
}
