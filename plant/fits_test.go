package plant_test

import (
	"strings"
	"testing"
	"time"

	"dustwright/plant"
)

// branches is the file with two hoods on a main.
const branches = file + `[[branch]]
name = "saw"
into = "main"
diameter = "7 in"
flow = "1200 cfm"
[[branch]]
name = "main"
diameter = "9 in"
length = "30 ft"
`

// A branch's key is a set point like any other; one that this collector's file does not have, or that makes a file that can't be, is
// refused, and the file stays.
func TestASetPointOfABranch(t *testing.T) {
	s, _, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(branches), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Accept(t.Context(), record(t, "a", c.t, plant.SetPointChange{Keys: map[string]string{"branch.1.hood_sp": "-2.4 in.w.g."}})); err != nil {
		t.Fatal(err)
	}
	was, _, err := s.Machine(t.Context(), "DC-1")
	if err != nil || !strings.Contains(was.TOML, `hood_sp = "-2.4 in.w.g."`) {
		t.Fatalf("%v\n%s", err, was.TOML)
	}
	for key, value := range map[string][2]string{
		"branch.3.hood_sp": {"-2.4 in.w.g.", "the file has 2 branches"},
		"branch.1.into":    {"nope", "can't be"},
	} {
		_, err := s.Accept(t.Context(), record(t, key, c.t, plant.SetPointChange{Keys: map[string]string{key: value[0]}}))
		if err == nil || !strings.Contains(err.Error(), value[1]) {
			t.Errorf("%s: %v, want %q", key, err, value[1])
		}
	}
	if now, _, err := s.Machine(t.Context(), "DC-1"); err != nil || now.TOML != was.TOML {
		t.Errorf("a refused change changed the file: %v\n%s", err, now.TOML)
	}
	// A newer file without branches, and a crash: what is on record does not keep the program from starting.
	if _, err := s.Accept(t.Context(), record(t, "f", c.t.Add(time.Second), plant.CollectorFile{TOML: file})); err != nil {
		t.Fatal(err)
	}
	if err := s.Recover(t.Context()); err != nil {
		t.Error(err)
	}
}
