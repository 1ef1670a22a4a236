package collector

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// drawn fills a random part of a collector with values that may be: whatever it holds must survive printing.
func drawn(t *rapid.T) *Collector {
	c := New()
	c.Tag = rapid.StringMatching(`[a-z"][A-Za-z0-9"\\' é-]{0,12}[A-Z"\\]`).Draw(t, "tag")
	for _, k := range schema {
		n, ok := k.value.(number[Collector])
		if !ok || !k.required && !rapid.Bool().Draw(t, k.path()+" given") {
			continue
		}
		lo, hi := max(n.bounds.lo, -1e4), min(n.bounds.hi, 1e6)
		if lo == 0 {
			lo = 1e-9
		}
		v := rapid.Float64Range(lo, hi).Filter(n.bounds.hold).Draw(t, k.path())
		*n.at(c) = v
		if n.scale != 0 {
			*n.at(c) = float64(float32(v/n.scale)) * n.scale // as read from a file
		}
	}
	c.Filters.Rows, c.Filters.PerRow = rapid.IntRange(1, 12).Draw(t, "rows"), rapid.IntRange(1, 4).Draw(t, "per row")
	c.Duty.Combustible = rapid.SampledFrom([]string{"", "yes", "no", "unknown"}).Draw(t, "combustible")
	c.Filters.Installed = time.Date(2026, 1, rapid.IntRange(1, 300).Draw(t, "day"), 0, 0, 0, 0, time.UTC)
	c.AfterFilter.Fitted = c.AfterFilter.CleanDP > 0 || c.AfterFilter.MaxDP > 0
	for i := range rapid.IntRange(0, 4).Draw(t, "branches") {
		b := NewBranch()
		b.Name = fmt.Sprintf("b%d", i)
		b.Length = unit.Length(rapid.Float64Range(0.01, 300).Draw(t, "length"))
		if i > 0 && rapid.Bool().Draw(t, "joins") {
			b.Into = fmt.Sprintf("b%d", rapid.IntRange(0, i-1).Draw(t, "into"))
		}
		if rapid.Bool().Draw(t, "hood known") {
			b.HoodSP, b.Entry = unit.Pressure(rapid.Float64Range(-2000, 0).Draw(t, "hood_sp")), rapid.Float64Range(0, 3).Draw(t, "entry")
		}
		c.Branches = append(c.Branches, b)
	}
	return c
}

func TestPrintedReadsBackEqual(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawn(t)
		if c.Validate() != nil {
			t.Skip("the drawn values contradict each other")
		}
		text := c.TOML(rapid.SampledFrom([]unit.System{unit.US, unit.SI}).Draw(t, "system"))
		back, err := Parse("back.toml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if d := same(c, back); d != "" {
			t.Fatalf("%s\n%s", d, text)
		}
	})
}

// TestOddFilesCanBeUsed: any value of the example becomes anything its bounds allow, by powers of ten, and every question still
// ends in an answer or an error.
func TestOddFilesCanBeUsed(t *testing.T) {
	plain, mains := dc1(t).TOML(unit.SI), joinery(t).TOML(unit.SI)
	rapid.Check(t, func(t *rapid.T) {
		c, err := Parse("odd.toml", []byte(rapid.SampledFrom([]string{plain, mains}).Draw(t, "file")))
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range schema {
			n, ok := k.value.(number[Collector])
			if !ok || rapid.IntRange(0, 3).Draw(t, k.path()+" kept") > 0 {
				continue
			}
			v := *n.at(c) * math.Pow(10, rapid.Float64Range(-9, 9).Draw(t, k.path()))
			if n.bounds.hold(v) {
				*n.at(c) = v
			}
		}
		for i := range c.Branches {
			for _, k := range branchSchema {
				n, ok := k.value.(number[Branch])
				if ok && rapid.IntRange(0, 5).Draw(t, k.name+" kept") == 0 {
					if v := *n.at(&c.Branches[i]) * math.Pow(10, rapid.Float64Range(-9, 9).Draw(t, k.name)); n.bounds.hold(v) {
						*n.at(&c.Branches[i]) = v
					}
				}
			}
		}
		for i := range c.Fan.Curve {
			c.Fan.Curve[i].Pressure *= unit.Pressure(rapid.SampledFrom([]float64{0, 0.01, 0.5, 1, 2, 30}).Draw(t, "curve"))
		}
		useAll(t, c)
	})
}
