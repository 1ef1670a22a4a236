package collector

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"dustwright/unit"
)

// FuzzParse: no panic; every refusal is Faults with a place in the file; what is accepted can be used and prints
// and parses back equal.
func FuzzParse(f *testing.F) {
	for _, pattern := range []string{"testdata/*.toml", "testdata/faults/*.toml"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Add([]byte("tag=\"X\"\nduty={flow=\"2 m3/s\"}\nfilters={rows=4,per_row=2,area_each=\"20 m2\"}\nbranch=[{name=\"a\"},{name='b\\'}]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Parse("fuzz.toml", data)
		if err != nil {
			var fs Faults
			if !errors.As(err, &fs) || len(fs) == 0 {
				t.Fatalf("error without faults: %v", err)
			}
			for _, fault := range fs {
				if fault.Line < 1 || fault.Column < 1 || fault.Text == "" {
					t.Fatalf("fault without place or text: %+v", fault)
				}
			}
			return
		}
		useAll(t, c)
		for _, sys := range []unit.System{unit.US, unit.SI} {
			text := c.TOML(sys)
			back, err := Parse("back.toml", []byte(text))
			if err != nil {
				t.Fatalf("printed file is refused: %v\n%s", err, text)
			}
			if d := same(c, back); d != "" {
				t.Fatalf("printed file reads differently: %s\n%s", d, text)
			}
		}
	})
}

// useAll asks everything of a collector, however odd: each answer or error must come, and say something.
func useAll(t interface {
	Fatal(args ...any)
	Fatalf(format string, args ...any)
}, c *Collector) {
	for _, f := range c.Check() {
		if f.Text.In(unit.US) == "" || f.Source == "" {
			t.Fatalf("empty finding %+v", f)
		}
	}
	c.Answers()
	r := NewTrimRequest()
	r.FilterDP, r.Damper = 500, 0.5
	if out, err := c.Trim(r); err == nil && len(out.Steps) == 0 {
		t.Fatal("a trim without steps")
	}
	if p, err := c.AirPath(); err == nil {
		if o, err := p.Point(p.Conditions()); err == nil && !(o.Flow >= 0) {
			t.Fatalf("flow %v without an error", o.Flow)
		}
	}
	for _, b := range c.Branches[:min(len(c.Branches), 3)] {
		if d, err := c.Ducts(b.Name); err == nil {
			if !(d.Extra() >= -0.01) {
				t.Fatalf("the gate of %q shut, and the ducts resist %g more", b.Name, d.Extra())
			}
			d.At(c.Duty.Flow)
		} else if err.Error() == "" {
			t.Fatal("a gate refused without a word")
		}
		if h, err := c.Hoods(HoodRequest{Readings: []HoodReading{{b.Name, -300}}}); err == nil && len(h.Says) == 0 {
			t.Fatal("a hood was read and nothing is said")
		}
	}
	if k, err := c.NewController(); err == nil {
		k.Step(0, 1000, true)
		k.Step(10, 1000, false)
	}
}

// FuzzSet: no panic, and a refused value changes nothing.
func FuzzSet(f *testing.F) {
	for _, k := range schema {
		f.Add(k.path(), k.example)
	}
	for _, k := range branchSchema {
		f.Add("branch.1."+k.name, k.example)
	}
	f.Add("branch.2.entry", "flanged duct end")
	f.Add("branch.0.flow", "[[[")
	f.Fuzz(func(t *testing.T, key, value string) {
		c := dc1(t)
		before := c.TOML(unit.SI)
		err := c.Set(key, value)
		if err != nil && c.TOML(unit.SI) != before {
			t.Fatalf("Set(%q, %q) was refused (%v) and changed something", key, value, err)
		}
	})
}
