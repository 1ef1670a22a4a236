package benchcheck

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"dustwright/judge"
)

// TestTree: every way leads on, no way turns in a circle, every question and every verdict can be reached.
func TestTree(t *testing.T) {
	seen := map[string]bool{}
	var walk func(id string, path []string)
	walk = func(id string, path []string) {
		for _, p := range path {
			if p == id {
				t.Fatalf("the questions turn in a circle: %s, %s", strings.Join(path, ", "), id)
			}
		}
		seen[id] = true
		q, ok := QuestionOf(id)
		if !ok {
			if _, ok := VerdictOf(id); !ok {
				t.Errorf("%s leads to %q, which is neither question nor verdict", path[len(path)-1], id)
			}
			return
		}
		for _, to := range []string{q.Yes, q.No, q.Unsure} {
			walk(to, append(path[:len(path):len(path)], id))
		}
	}
	walk(Start, nil)
	for _, q := range Questions() {
		if !seen[q.ID] {
			t.Errorf("question %s cannot be reached", q.ID)
		}
		if text := numbered(q.Do+q.Ask, 0); strings.Contains(text, "%") {
			t.Errorf("question %s without a number reads %q", q.ID, text)
		}
		if q.Do == "" || q.Ask == "" || strings.HasSuffix(q.Ask, "?") {
			t.Errorf("question %s: %q %q", q.ID, q.Do, q.Ask)
		}
	}
	for _, v := range Verdicts() {
		if !seen[v.ID] {
			t.Errorf("verdict %s cannot be reached", v.ID)
		}
		if v.Says == "" || v.Record == "" || v.After == "" {
			t.Errorf("verdict %s leaves the person alone: %+v", v.ID, v)
		}
	}
}

// TestHandsComeWithCautions: whoever is told to loosen something has been told of stored air.
func TestHandsComeWithCautions(t *testing.T) {
	for _, q := range Questions() {
		for _, id := range q.Cautions {
			judge.Caution(id) // panics on one that is not in the list
		}
		opens := strings.Contains(q.Do, "hose") && strings.Contains(q.Do, "off")
		if opens && !strings.Contains(strings.Join(q.Cautions, " "), "compressed-air") {
			t.Errorf("question %s opens the air without its caution", q.ID)
		}
		if strings.Contains(q.Do, "Take the hose") && !strings.Contains(q.Do, "prove zero") {
			t.Errorf("question %s takes a hose off without proving zero first", q.ID)
		}
	}
	for _, v := range Verdicts() {
		for _, id := range v.Cautions {
			judge.Caution(id)
		}
		if v.Do != "" && len(v.Cautions) == 0 {
			t.Errorf("verdict %s sends hands to the machine without a caution", v.ID)
		}
	}
}

// TestVerdicts walks the ways the trade knows.
func TestVerdicts(t *testing.T) {
	for name, c := range map[string]struct{ answers, want string }{
		"no puff, opens with the hose off, closes under the finger": {"y,n,y,y,n,y,y", Pilot},
		"no puff, opens with the hose off, keeps blowing":           {"y,n,y,y,n,y,n", Diaphragm},
		"no puff, does not open, hose clear":                        {"y,n,y,y,n,n,y", Diaphragm},
		"no puff, does not open, hose blocked":                      {"y,n,y,y,n,n,n", Tubing},
		"no click, clicks on the neighbour's plug":                  {"y,n,y,n,y", Wiring},
		"no click on either plug":                                   {"y,n,y,n,n", Pilot},
		"the header is low":                                         {"y,n,n", Supply},
		"puffs and sounds like the others":                          {"y,n,y,y,y,y,y", NoFault},
		"a weak puff, a kinked hose":                                {"y,n,y,y,y,n,n", Tubing},
		"blows, pilot held on":                                      {"y,y,y,y", Wiring},
		"blows, stops when the hose is sealed":                      {"y,y,n,y", Pilot},
		"blows, stops when the port is plugged":                     {"y,y,n,n,y", Tubing},
		"blows whatever is sealed":                                  {"y,y,n,n,n", Diaphragm},
		"not sure of the hiss, but the header sags":                 {"y,u,y,n,y", Pilot},
		"nothing to lock":                                           {"n", NotSafe},
		"the finger told nothing":                                   {"y,n,y,y,n,y,u", Undecided},
	} {
		t.Run(name, func(t *testing.T) {
			answers, err := ParseAnswers(c.answers)
			if err != nil {
				t.Fatal(err)
			}
			s, err := New(4, answers...)
			if err != nil {
				t.Fatal(err)
			}
			if v, ok := s.Verdict(); !ok || v.ID != c.want {
				q, _ := s.Question()
				t.Errorf("verdict %q (%v), question %q, want %q", v.ID, ok, q.ID, c.want)
			}
			if got := s.Letters(); got != c.answers {
				t.Errorf("letters %q, want %q", got, c.answers)
			}
		})
	}
}

// TestSessionForgetsNothing: whatever is answered and taken back, the letters lead to the same place.
func TestSessionForgetsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := New(3)
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(0, 40).Draw(t, "steps") {
			if rapid.IntRange(0, 4).Draw(t, "back") == 0 {
				before := len(s.Given())
				if s.Back() != (before > 0) || len(s.Given()) != max(0, before-1) {
					t.Fatal("going back does not take one answer back")
				}
				continue
			}
			a := rapid.SampledFrom([]Answer{Yes, No, Unsure}).Draw(t, "answer")
			_, over := s.Verdict()
			if err := s.Answer(a); (err != nil) != over {
				t.Fatalf("answer %s: %v, over %v", a, err, over)
			}
		}
		again, err := ParseAnswers(s.Letters())
		if err != nil {
			t.Fatal(err)
		}
		r, err := New(3, again...)
		if err != nil {
			t.Fatal(err)
		}
		if r.at() != s.at() || len(r.Given()) != len(s.Given()) {
			t.Fatalf("%q leads to %s, not to %s", s.Letters(), r.at(), s.at())
		}
	})
}

func TestWrongAnswers(t *testing.T) {
	for _, c := range []struct{ answers, want string }{
		{"y,x", "none of y, n and u"}, {"n,y", "comes after the verdict"},
	} {
		answers, err := ParseAnswers(c.answers)
		if err == nil {
			_, err = New(1, answers...)
		}
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.answers, err, c.want)
		}
	}
	s, err := New(0)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Answer("perhaps"); err == nil || len(s.Given()) != 0 {
		t.Errorf("perhaps: %v, %v", err, s.Given())
	}
}
