package benchcheck

import (
	"fmt"
	"strings"
)

// Answer is what a person says to a question.
type Answer string

// The answers.
const (
	Yes    Answer = "yes"
	No     Answer = "no"
	Unsure Answer = "unsure"
)

// ParseAnswer reads an answer: y, yes, n, no, u, unsure or ?, in any case.
func ParseAnswer(text string) (Answer, bool) {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "y", "yes":
		return Yes, true
	case "n", "no":
		return No, true
	case "u", "unsure", "?":
		return Unsure, true
	}
	return "", false
}

// Given is an answered question.
type Given struct {
	Question string `json:"question"` // id
	Answer   Answer `json:"answer"`
}

// Session is one check of one valve. The zero value is no session; New makes one. It is not safe for
// concurrent use.
type Session struct {
	valve int
	given []Given
}

// New starts a check of a valve, or goes on after answers given earlier. It returns an error where there
// are more answers than questions, or one is none of the answers.
func New(valve int, answers ...Answer) (*Session, error) {
	s := &Session{valve: valve}
	for i, a := range answers {
		if _, done := s.Verdict(); done {
			return nil, fmt.Errorf("answer %d comes after the verdict; the check was over after %d", i+1, i)
		}
		if err := s.Answer(a); err != nil {
			return nil, fmt.Errorf("answer %d: %w", i+1, err)
		}
	}
	return s, nil
}

// Valve is the number of the valve checked.
func (s *Session) Valve() int { return s.valve }

// Given lists the answers so far. The slice is the caller's.
func (s *Session) Given() []Given { return append([]Given(nil), s.given...) }

// at is the id the session stands at.
func (s *Session) at() string {
	id := Start
	for _, g := range s.given {
		id = next(g)
	}
	return id
}

// next is where an answer leads.
func next(g Given) string {
	q, _ := QuestionOf(g.Question)
	switch g.Answer {
	case Yes:
		return q.Yes
	case No:
		return q.No
	}
	return q.Unsure
}

// Question is the question to be answered now, numbers filled in; false when the check is over.
func (s *Session) Question() (Question, bool) {
	q, ok := QuestionOf(s.at())
	q.Do, q.Ask = numbered(q.Do, s.valve), numbered(q.Ask, s.valve)
	return q, ok
}

// Verdict is the end reached, numbers filled in; false while there are questions.
func (s *Session) Verdict() (Verdict, bool) {
	v, ok := VerdictOf(s.at())
	v.Says = numbered(v.Says, s.valve)
	return v, ok
}

// Answer answers the question that stands. It returns an error when the check is over, or for what is no
// answer; then nothing has changed.
func (s *Session) Answer(a Answer) error {
	q, ok := QuestionOf(s.at())
	if !ok {
		return fmt.Errorf("the check is over; go back to change an answer")
	}
	if a != Yes && a != No && a != Unsure {
		return fmt.Errorf("%q is no answer; answer yes, no or unsure", string(a))
	}
	s.given = append(s.given, Given{q.ID, a})
	return nil
}

// Back takes the last answer back; false when there is none.
func (s *Session) Back() bool {
	if len(s.given) == 0 {
		return false
	}
	s.given = s.given[:len(s.given)-1]
	return true
}

// Letters are the answers so far as y, n and u, parted by commas: what New needs to go on.
func (s *Session) Letters() string {
	words := make([]string, len(s.given))
	for i, g := range s.given {
		words[i] = string(g.Answer[:1])
	}
	return strings.Join(words, ",")
}

// ParseAnswers reads answers parted by commas or spaces, as Letters writes them.
func ParseAnswers(text string) ([]Answer, error) {
	var out []Answer
	for i, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		a, ok := ParseAnswer(word)
		if !ok {
			return nil, fmt.Errorf("answer %d, %q, is none of y, n and u", i+1, word)
		}
		out = append(out, a)
	}
	return out, nil
}

// numbered puts the valve's number into a text, or words where it is not known.
func numbered(text string, valve int) string {
	if valve > 0 {
		return strings.ReplaceAll(text, "%d", fmt.Sprint(valve))
	}
	return strings.NewReplacer("valve %d", "the valve", "pilot %d", "the pilot").Replace(text)
}

// Asked is what a question asks, with the valve's number; "" for an id that is none.
func (s *Session) Asked(id string) string {
	q, _ := QuestionOf(id)
	return numbered(q.Ask, s.valve)
}
