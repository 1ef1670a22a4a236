package collector

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"dustwright/unit"
)

// Validate checks the values against each other and against what must be there, as Load does. Use it
// after Set or after filling a Collector by hand; it returns Faults or nil.
func (c *Collector) Validate() error {
	fs := append(missing(c), crossCheck(c)...)
	for i := range c.Branches {
		fs = append(fs, branchMissing(i, &c.Branches[i])...)
	}
	for i := range fs {
		fs[i].File = c.Source
	}
	return fs.orNil()
}

// missing lists the keys that must be there and are not.
func missing(c *Collector) Faults {
	var fs Faults
	for _, k := range schema {
		if k.required && k.value.print(c, unit.SI) == "" {
			where := ""
			if k.table != "" {
				where = " under [" + k.table + "]"
			}
			fs = append(fs, Fault{Key: k.path(), Text: fmt.Sprintf("the key is missing; add %s = %s%s", k.name, k.example, where)})
		}
	}
	return fs
}

// branchMissing lists what branch i needs and lacks: its name, by which pages speak of it.
func branchMissing(i int, b *Branch) Faults {
	if b.Name != "" {
		return nil
	}
	return Faults{{Key: fmt.Sprintf("branch.%d.name", i+1), Text: `the branch has no name; add name = "table, zone 1"`}}
}

// crossCheck finds values that contradict each other. Values that are merely odd are Check's.
func crossCheck(c *Collector) Faults {
	var fs Faults
	rising := func(lowKey, highKey string, low, high unit.Pressure) {
		if low >= high {
			fs = append(fs, Fault{Key: highKey, Text: fmt.Sprintf("%s is not above %s, which is %s; the order is %s",
				shown(high), lowKey, shown(low), orderOf(highKey))})
		}
	}
	s := c.SetPoints
	rising("setpoints.low", "setpoints.high", s.Low, s.High)
	rising("setpoints.high", "setpoints.alarm", s.High, s.Alarm)
	if math.IsNaN(float64(s.High)) {
		rising("setpoints.low", "setpoints.alarm", s.Low, s.Alarm)
	}
	rising("filters.clean_dp", "filters.max_dp", c.Filters.CleanDP, c.Filters.MaxDP)
	rising("afterfilter.clean_dp", "afterfilter.max_dp", c.AfterFilter.CleanDP, c.AfterFilter.MaxDP)
	if c.Header.OnTime >= c.Header.Interval {
		fs = append(fs, Fault{Key: "header.on_time", Text: fmt.Sprintf("a pulse of %.4g s does not end before the next one is due after %.4g s; 100 to 200 ms every 10 s is usual",
			float64(c.Header.OnTime), float64(c.Header.Interval))})
	}
	fs = append(fs, orderFaults(c)...)
	fs = append(fs, branchNames(c)...)
	return append(fs, branchTree(c)...)
}

// orderOf is the right order of the keys beside key.
func orderOf(key string) string {
	if strings.HasPrefix(key, "setpoints.") {
		return "low, high, alarm from small to large"
	}
	return "clean_dp below max_dp"
}

// shown prints a pressure in both systems, for messages that do not know the reader's.
func shown(p unit.Pressure) string { return p.In(unit.US) + " (" + p.In(unit.SI) + ")" }

// orderFaults checks that the firing order names each row's valve once.
func orderFaults(c *Collector) Faults {
	order, rows := c.Cleaning.Order, c.Filters.Rows
	if order == nil || rows == Unknown {
		return nil
	}
	for _, n := range order {
		if n > rows {
			return Faults{{Key: "cleaning.order", Text: fmt.Sprintf("valve %d stands in the order, but there are %d rows with one valve each; use the numbers 1 to %d", n, rows, rows)}}
		}
	}
	for n := 1; n <= rows; n++ {
		if !slices.Contains(order, n) {
			return Faults{{Key: "cleaning.order", Text: fmt.Sprintf("valve %d is not in the order, so its row would never be cleaned; name each of the %d valves once", n, rows)}}
		}
	}
	return nil
}
