package collector

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// mostFaults is how many faults of one file are listed.
const mostFaults = 60

// dotted joins a path as messages write it.
func dotted(path []string) string { return strings.Join(path, ".") }

// tableOf is the table a key's path lies in, "" at the top.
func tableOf(path string) string {
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		return path[:i]
	}
	return ""
}

// tables are the names of all tables, in the order of the file.
func tables() []string {
	var names []string
	for _, k := range schema {
		if k.table != "" && !slices.Contains(names, k.table) {
			names = append(names, k.table)
		}
	}
	return append(names, "branch")
}

// isTable reports whether name is a table other than branch.
func isTable(name string) bool {
	for _, k := range schema {
		if k.table == name && name != "" {
			return true
		}
	}
	return false
}

// keysOf are the keys of a table, "" for the top of the file.
func keysOf(table string) []string {
	var names []string
	if _, _, ok := branchPath(table + ".x"); ok {
		for _, k := range branchSchema {
			names = append(names, k.name)
		}
		return names
	}
	for _, k := range schema {
		if k.table == table {
			names = append(names, k.name)
		}
	}
	return names
}

// branchPath takes "branch.2.flow" apart: index 1, key flow.
func branchPath(path string) (index int, name string, ok bool) {
	parts := strings.Split(path, ".")
	if len(parts) != 3 || parts[0] != "branch" {
		return 0, "", false
	}
	n, err := strconv.Atoi(parts[1])
	return n - 1, parts[2], err == nil && n >= 1
}

func list(words []string) string { return strings.Join(words, ", ") }

// sort puts faults in the order of the file.
func (fs Faults) sort() {
	sort.SliceStable(fs, func(i, j int) bool {
		a, b := fs[i], fs[j]
		return a.Line < b.Line || a.Line == b.Line && a.Column < b.Column
	})
}

// capped ends a very long list with how many were left out.
func (fs Faults) capped() Faults {
	if len(fs) <= mostFaults {
		return fs
	}
	last := fs[mostFaults]
	last.Key, last.Text = "", fmt.Sprintf("%d more faults follow from here; put the ones above right first", len(fs)-mostFaults)
	return append(slices.Clip(fs[:mostFaults]), last)
}
