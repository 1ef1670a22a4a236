package text

import (
	"fmt"
	"io"
	"slices"

	"dustwright/judge/benchcheck"
	"dustwright/unit"
)

// BenchOpening prints the cautions that stand before the first question, and how to answer.
func BenchOpening(w io.Writer, valve int) error {
	p := &page{sys: unit.US}
	p.caution(benchcheck.Opening()...)
	if valve > 0 {
		p.say("Bench check of valve %d: pilot, diaphragm, hose, wiring or supply.", valve)
	} else {
		p.say("Bench check of a pulse valve: pilot, diaphragm, hose, wiring or supply.")
	}
	p.say("Answer y (yes), n (no) or u (unsure); b goes back, q ends and keeps the answers.")
	return p.print(w)
}

// BenchQuestion prints a question; n counts from 1.
func BenchQuestion(w io.Writer, q benchcheck.Question, n int) error {
	p := &page{sys: unit.US}
	p.gap()
	if slices.Contains(q.Cautions, "compressed-air") || slices.Contains(q.Cautions, "electrical") {
		p.caution(q.Cautions...)
	}
	p.indented(fmt.Sprintf("%2d. ", n), "%s", q.Do)
	p.indented("    ", "%s? [y/n/u/b/q]", q.Ask)
	return p.print(w)
}

// BenchVerdict prints the end of a check with the answers that led there.
func BenchVerdict(w io.Writer, s *benchcheck.Session, v benchcheck.Verdict) error {
	p := &page{sys: unit.US}
	p.gap()
	if v.Do != "" {
		p.caution(v.Cautions...)
	}
	p.say("%s", v.Says)
	if v.Do != "" {
		p.indented("  do      ", "%s", v.Do)
	}
	p.indented("  record  ", "%s", v.Record)
	p.indented("  after   ", "%s", v.After)
	p.benchAnswers(s)
	return p.print(w)
}

// BenchLeft prints what was answered in a check that was left, and how to go on.
func BenchLeft(w io.Writer, s *benchcheck.Session, goOn string) error {
	p := &page{sys: unit.US}
	p.gap()
	p.say("Left without a verdict.")
	p.benchAnswers(s)
	if goOn != "" {
		p.say("Go on with: %s", goOn)
	}
	return p.print(w)
}

// benchAnswers lists the answers for the record.
func (p *page) benchAnswers(s *benchcheck.Session) {
	given := s.Given()
	if len(given) == 0 {
		return
	}
	p.gap()
	p.say("Answers:")
	for _, g := range given {
		p.indented(fmt.Sprintf("  %-6s  ", g.Answer), "%s?", s.Asked(g.Question))
	}
}
