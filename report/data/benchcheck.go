package data

import (
	"dustwright/judge"
	"dustwright/judge/benchcheck"
)

// BenchCheck is the tree of the bench check, and where a check stands in it.
type BenchCheck struct {
	Start     string                `json:"start"`
	Questions []benchcheck.Question `json:"questions"`
	Verdicts  []benchcheck.Verdict  `json:"verdicts"`
	Cautions  map[string]string     `json:"cautions"`
	Opening   []string              `json:"opening"`
	Valve     *int                  `json:"valve"`
	Answers   []benchcheck.Given    `json:"answers"`
	At        *string               `json:"at"`
	Verdict   *string               `json:"verdict"`
}

// NewBenchCheck shapes the tree and a session.
func NewBenchCheck(s *benchcheck.Session) BenchCheck {
	out := BenchCheck{Start: benchcheck.Start, Questions: benchcheck.Questions(), Verdicts: benchcheck.Verdicts(), Cautions: map[string]string{},
		Opening: benchcheck.Opening(), Answers: append([]benchcheck.Given{}, s.Given()...)}
	if n := s.Valve(); n > 0 {
		out.Valve = &n
	}
	if q, ok := s.Question(); ok {
		out.At = &q.ID
	}
	if v, ok := s.Verdict(); ok {
		out.Verdict = &v.ID
	}
	ids := benchcheck.Opening()
	for _, q := range out.Questions {
		ids = append(ids, q.Cautions...)
	}
	for _, v := range out.Verdicts {
		ids = append(ids, v.Cautions...)
	}
	for _, id := range ids {
		out.Cautions[id] = judge.Caution(id).String()
	}
	return out
}
