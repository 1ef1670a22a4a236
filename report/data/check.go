package data

import (
	"dustwright/collector"
	"dustwright/unit"
)

// Answer is one question and how well the file lets it be answered.
type Answer struct {
	Number int      `json:"number"`
	Asks   string   `json:"asks"`
	Can    bool     `json:"can"`
	Needs  []string `json:"needs"`
	Better []string `json:"betterWith"`
}

// Check is the answer of the check command.
type Check struct {
	Collector string    `json:"collector"`
	Findings  []Finding `json:"findings"`
	Answers   []Answer  `json:"answers"`
}

// NewCheck shapes a check; sentences are in the units of sys.
func NewCheck(c *collector.Collector, found []collector.Finding, answers []collector.Answer, sys unit.System) Check {
	out := Check{Collector: c.Tag, Findings: findings(found, sys)}
	for _, a := range answers {
		out.Answers = append(out.Answers, Answer{a.Number, a.Asks, a.Can, keys(a.Needs), keys(a.Better)})
	}
	return out
}

// keys keeps an empty list from becoming null.
func keys(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
