package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"dustwright/judge/benchcheck"
	"dustwright/report/data"
	"dustwright/report/text"
)

// benchCheckCmd is dustwright bench-check.
type benchCheckCmd struct {
	Valve   int    `placeholder:"N" help:"The valve's number, for the questions and the record."`
	Answers string `placeholder:"y,n,u,..." help:"Answers given earlier: go on after them."`
	JSON    bool   `name:"json" help:"Print the tree of questions as JSON, and where --answers lead in it."`
}

// Run asks until there is a verdict, the input ends, or the person leaves.
func (b *benchCheckCmd) Run(e *env) error {
	if b.Valve < 0 {
		return fmt.Errorf("--valve: %d is no valve's number; they count from 1", b.Valve)
	}
	answers, err := benchcheck.ParseAnswers(b.Answers)
	if err != nil {
		return fmt.Errorf("--answers: %w", err)
	}
	s, err := benchcheck.New(b.Valve, answers...)
	if err != nil {
		return fmt.Errorf("--answers: %w", err)
	}
	if b.JSON {
		return e.emit(output{JSON: true}, data.NewBenchCheck(s), nil)
	}
	if err := text.BenchOpening(e.stdout, b.Valve); err != nil {
		return fmt.Errorf("the check cannot be printed: %w", err)
	}
	return b.ask(e, s)
}

// ask steps through the questions. What was answered is never lost: whoever leaves is told how to go on.
func (b *benchCheckCmd) ask(e *env, s *benchcheck.Session) error {
	lines := bufio.NewScanner(e.stdin)
	for e.ctx.Err() == nil {
		if v, ok := s.Verdict(); ok {
			return text.BenchVerdict(e.stdout, s, v)
		}
		q, _ := s.Question()
		if err := text.BenchQuestion(e.stdout, q, len(s.Given())+1); err != nil {
			return err
		}
		stay, err := b.reply(e.stdout, s, lines)
		if err != nil {
			return err
		}
		if !stay {
			break
		}
	}
	return text.BenchLeft(e.stdout, s, b.goOn(s))
}

// reply reads lines until one says something; false when the person leaves or the input ends.
func (b *benchCheckCmd) reply(w io.Writer, s *benchcheck.Session, lines *bufio.Scanner) (stay bool, err error) {
	for lines.Scan() {
		word := strings.ToLower(strings.TrimSpace(lines.Text()))
		if a, ok := benchcheck.ParseAnswer(word); ok {
			return true, s.Answer(a)
		}
		say := "Answer y, n, u, b or q."
		switch word {
		case "q", "quit":
			return false, nil
		case "b", "back":
			if s.Back() {
				return true, nil
			}
			say = "This is the first question."
		case "":
			continue
		}
		if _, err := fmt.Fprintln(w, "   "+say); err != nil {
			return false, err
		}
	}
	if err := lines.Err(); err != nil {
		if errors.Is(err, bufio.ErrTooLong) {
			return false, errors.New("standard input holds a line that is no answer; answer y, n, u, b or q, one a line")
		}
		return false, fmt.Errorf("the answers cannot be read: %w", err)
	}
	return false, nil
}

// goOn is the command that takes the check up again.
func (b *benchCheckCmd) goOn(s *benchcheck.Session) string {
	if len(s.Given()) == 0 {
		return ""
	}
	command := "dustwright bench-check"
	if b.Valve > 0 {
		command += fmt.Sprintf(" --valve %d", b.Valve)
	}
	return command + " --answers " + s.Letters()
}
