package plant

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// Valid wants known channels with finite values, at least one unless there is a note or a photo.
func (b Reading) Valid() error {
	if len(b.Values) == 0 && b.Note == "" && b.Photo == "" {
		return errors.New("a reading needs at least one value, a note or a photo")
	}
	names := make([]string, 0, len(b.Values))
	for name := range b.Values {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		if _, ok := sense.ParseChannel(name); !ok {
			return unknown("channel", name, sense.ChannelNames())
		}
		if !finite(b.Values[name]) {
			return fmt.Errorf("the reading of %s is not a number", name)
		}
	}
	return nil
}

// Valid wants at least one row, none twice.
func (b FilterChange) Valid() error {
	if len(b.Rows) == 0 {
		return errors.New("a filter change names at least one row")
	}
	seen := map[int]bool{}
	for _, r := range b.Rows {
		if r.Row < 1 || seen[r.Row] {
			return fmt.Errorf("row %d stands twice or is no row; rows count from 1 at the top", r.Row)
		}
		seen[r.Row] = true
	}
	return nil
}

// Valid wants an opening between shut and fully open.
func (b DamperMove) Valid() error {
	if !(b.To >= 0 && b.To <= 1) {
		return fmt.Errorf("a damper opening lies between 0 %% and 100 %%, not at %.0f %%", 100*float64(b.To))
	}
	return nil
}

// Valid wants keys that a collector file takes, with values it understands.
func (b SetPointChange) Valid() error {
	if len(b.Keys) == 0 {
		return errors.New("a change of set points names at least one key and its new value")
	}
	c := collector.New()
	for key := range b.Keys { // how many branches there are is the collector file's to say
		var n int
		if _, err := fmt.Sscanf(key, "branch.%d.", &n); err == nil && n > len(c.Branches) && n <= mostBranches {
			c.Branches = make([]collector.Branch, n)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(b.Keys)) { // of several faults always the same is told
		if err := c.Set(key, b.Keys[key]); err != nil {
			return err
		}
	}
	return nil
}

// mostBranches is how far branches are counted where no collector file is at hand.
const mostBranches = 1000

// Valid wants a valve and the part worked on.
func (b ValveRepair) Valid() error {
	if b.Valve < 1 || b.Part == "" {
		return errors.New("a valve repair names the valve, counted from 1, and the part worked on")
	}
	return nil
}

// Valid wants to know how the valves were checked.
func (b ValveCheck) Valid() error {
	if b.By != "trace" && b.By != "sound" && b.By != "hand" {
		return fmt.Errorf("a valve check is by trace, sound or hand, not by %q", b.By)
	}
	return nil
}

// Valid wants a mass that can be and a level between empty and full.
func (b BinEmptied) Valid() error {
	if !(b.Mass >= 0) || !(b.Level >= 0 && b.Level <= 1.5) {
		return errors.New("the mass taken out is not below zero and the level lies between 0 % and 100 %")
	}
	return nil
}

// Valid wants at least one item, each with a result.
func (b Inspection) Valid() error { return checkItems(b.Items) }

// Valid wants a step that is among those of the guided start-up, with its items.
func (b Commissioning) Valid() error {
	if b.Step == "" {
		return errors.New("a commissioning record names its step")
	}
	return checkItems(b.Items)
}

// Valid wants at least one item or a damage.
func (b Arrival) Valid() error {
	if b.Damage != "" {
		return nil
	}
	return checkItems(b.Items)
}

func checkItems(items []Item) error {
	if len(items) == 0 {
		return errors.New("at least one item must be filled in")
	}
	for _, i := range items {
		if i.Result != "ok" && i.Result != "not-ok" && i.Result != "not-done" {
			return fmt.Errorf("%s: a result is ok, not-ok or not-done, not %q", i.What, i.Result)
		}
	}
	return nil
}

// Valid wants a flow above zero.
func (b Traverse) Valid() error {
	if !(b.Flow > 0) {
		return errors.New("a traverse gives a flow above zero")
	}
	return nil
}

// Valid wants at least one hood, each once and with a suction. Whether the collector has such a branch is its file's to say.
func (b HoodReading) Valid() error {
	if len(b.Hoods) == 0 {
		return errors.New("a reading of hoods names at least one branch with the static pressure behind its hood")
	}
	if !(b.Temperature >= 0) || !finite(float64(b.Temperature)) {
		return errors.New("the temperature of the air is in kelvin, or left out")
	}
	seen := map[string]bool{}
	for _, h := range b.Hoods {
		if h.Branch == "" || seen[h.Branch] {
			return fmt.Errorf("the branch %q stands twice or has no name", h.Branch)
		}
		if !(h.SP <= 0) || !finite(float64(h.SP)) || !(h.Flow >= 0) || !finite(float64(h.Flow)) {
			return fmt.Errorf("%s: the static pressure behind a hood is zero or negative, since suction is written with a minus, and its flow is not below zero", h.Branch)
		}
		seen[h.Branch] = true
	}
	return nil
}

// Valid wants the check that was done. Whether there is such a one is the plant's to say: it can have checks of its own.
func (b CheckAnswer) Valid() error {
	if b.Check == "" {
		return errors.New("an answer names the check that was done")
	}
	return nil
}

// Valid wants the text that was read.
func (b Caution) Valid() error {
	if b.Text == "" {
		return errors.New("a caution on record carries its text")
	}
	return nil
}

// Valid wants a collector file that can be read.
func (b CollectorFile) Valid() error {
	_, err := collector.Parse("collector file", []byte(b.TOML))
	return err
}

// Valid wants some text or a photo.
func (b Note) Valid() error {
	if b.Text == "" && b.Photo == "" {
		return errors.New("a note needs some text or a photo")
	}
	return nil
}

// mostKnown is how many known names a sentence lists.
const mostKnown = 20

// unknown is the error for a name that is not known: it offers the nearest one, or else all there are unless they are many.
func unknown(what, name string, known []string) error {
	if near := unit.Nearest(name, known); near != "" {
		return fmt.Errorf("there is no %s %q; did you mean %q?", what, name, near)
	}
	if len(known) == 0 || len(known) > mostKnown {
		return fmt.Errorf("there is no %s %q", what, name)
	}
	return fmt.Errorf("there is no %s %q; known are %s", what, name, strings.Join(known, ", "))
}

// namesOf lists the names of things.
func namesOf[T any](list []T, name func(T) string) []string {
	out := make([]string, len(list))
	for i, x := range list {
		out[i] = name(x)
	}
	return out
}
