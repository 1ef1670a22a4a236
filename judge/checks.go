package judge

import (
	_ "embed"
	"slices"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// Check is something a person can do to tell causes apart.
type Check struct {
	ID      string         `json:"id"`
	Number  int            `json:"number,omitempty"` // valve or row to do it on; 0 for none
	Text    collector.Text `json:"text"`             // what to do; %d stands for the number
	Finding collector.Text `json:"finding"`          // the answer "yes" means this was found
	Minutes float64        `json:"minutes"`
	Tools   []string       `json:"tools,omitempty"`
	Caution collector.Text `json:"caution"` // the text, not the id
	Gain    float64        `json:"gain"`    // expected information per minute [bit/min]
}

// CheckEntry is a check as registered, with the chance of finding what it looks for under each cause. In its texts %d stands for the
// number, and braces for what is said otherwise in SI, as for collector.Say.
// Chances are common practice, no source.
type CheckEntry struct {
	ID      string
	Text    string
	Finding string
	Minutes float64
	Tools   []string
	Caution string            // id in the list of cautions
	Yes     map[Cause]float64 // chance of the finding given the cause (of the same number, for numbered causes)
	Else    float64           // chance of the finding under any other cause
	// SettledBy is the kind of work, as a sense.Change has it, after which nobody looks for a while; empty none.
	SettledBy string
}

// Chance returns the probability of the finding when the cause holds; number is the valve or row the
// check is done on, 0 for a check of the whole machine.
func (c CheckEntry) Chance(cause Cause, causeNumber, number int) float64 {
	p, ok := c.Yes[cause]
	if !ok || number != 0 && causeNumber != 0 && number != causeNumber {
		return c.Else
	}
	return p
}

// Do returns what to do, on a valve or row by its number; 0 speaks of one whose number is not known.
func (c CheckEntry) Do(number int) collector.Text { return collector.Marked(numbered(c.Text, number)) }

// Finds returns the finding that is asked for, likewise.
func (c CheckEntry) Finds(number int) collector.Text {
	return collector.Marked(numbered(c.Finding, number))
}

// Numbered reports whether the check is done on one valve or row.
func (c CheckEntry) Numbered() bool { return numbered(c.Text, 1) != c.Text }

// kindsOfWork are those that can settle a check.
var kindsOfWork = []string{sense.FilterChange, sense.DamperMove, sense.HighMoved, sense.LowMoved, sense.HeaderMoved}

// settledFor is for how long work that somebody noted settles a check. Common practice, no source.
const settledFor = 3 * 24 * time.Hour

// settled lists as answered the checks that work noted of late has settled.
func settled(f *sense.Features, checks []CheckEntry) []Answer {
	var out []Answer
	for _, c := range checks {
		done := func(w sense.Change) bool { return w.Logged && w.Kind == c.SettledBy && f.At.Sub(w.At) < settledFor }
		if slices.ContainsFunc(f.Changes, done) {
			out = append(out, Answer{Check: c.ID})
		}
	}
	return out
}

// Checks returns the list of all checks; a plant's own come on top of it (Experience).
func Checks() []CheckEntry { return listed().Checks }

// checkList is the list as data, in the form in which a plant writes its own.
//
//go:embed checks.toml
var checkList []byte

// listed returns the list, read once.
var listed = sync.OnceValue(func() Experience {
	e, err := ParseExperience("checks.toml", checkList)
	if err != nil {
		panic("judge: " + err.Error()) // embedded at build: a test reads it
	}
	return e
})
