package collector

import (
	"strings"

	"dustwright/unit"
)

// TOML prints the collector as a collector file, quantities in the usual units of sys with as few
// digits as read back to the very same values: Parse(TOML()) gives an equal Collector. Unknown
// values are left out.
func (c *Collector) TOML(sys unit.System) string {
	var b strings.Builder
	table := ""
	for _, k := range schema {
		value := k.value.print(c, sys)
		fitted := k.table == "afterfilter" && c.AfterFilter.Fitted
		if value == "" && !fitted {
			continue
		}
		if k.table != table {
			b.WriteString("\n[" + k.table + "]\n")
			table = k.table
		}
		if value != "" {
			b.WriteString(k.name + " = " + value + "\n")
		}
	}
	for i := range c.Branches {
		b.WriteString("\n[[branch]]\n")
		for _, k := range branchSchema {
			if value := k.value.print(&c.Branches[i], sys); value != "" {
				b.WriteString(k.name + " = " + value + "\n")
			}
		}
	}
	return b.String()
}
