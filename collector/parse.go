package collector

import (
	"errors"
	"fmt"
	"io"
	"os"

	"dustwright/unit"
)

// mostBytes is the largest collector file that is read: some hundred times a full one.
const mostBytes = 1 << 20

// Load reads a collector file. Every fault of the file is reported at once, as Faults; a file that
// cannot be opened is the operating system's error.
func Load(path string) (c *Collector, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("the collector file cannot be opened: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("the collector file cannot be read: %w", err)
	}
	return Parse(path, data)
}

// Parse reads a collector file's content; name stands in the messages. Every fault is reported at
// once, as Faults with line and column. Values the file leaves out are unknown (see Collector).
func Parse(name string, data []byte) (*Collector, error) {
	if text := unreadable(data); text != "" {
		return nil, Faults{{File: name, Line: 1, Column: 1, Text: text}}
	}
	r := &reader{name: name, c: New(), seen: map[string]place{}}
	r.c.Source = name
	r.index(data)
	r.read()
	if !r.broken { // what seems missing may stand in the part that could not be read
		for i := range r.c.Branches {
			r.require(branchMissing(i, &r.c.Branches[i]))
		}
		r.require(missing(r.c))
	}
	r.faults = append(r.faults, r.located(crossCheck(r.c))...)
	r.faults.sort()
	if len(r.faults) > 0 {
		return nil, r.faults.capped()
	}
	return r.c, nil
}

// reader turns the lines of one file into a Collector and a list of faults.
type reader struct {
	name   string
	data   []byte // without byte order mark
	starts []int  // offset of each line
	c      *Collector
	seen   map[string]place // keys and tables, by path, with the place of the first
	faults Faults
	broken bool // a part of the file could not be read as TOML
}

// fault notes one fault.
func (r *reader) fault(at place, key, format string, args ...any) {
	r.faults = append(r.faults, Fault{r.name, at.line, at.column, key, fmt.Sprintf(format, args...)})
}

// located gives faults that know only their key the place where that key, or its table, stands.
func (r *reader) located(fs Faults) Faults {
	for i := range fs {
		at, ok := r.seen[fs[i].Key]
		if !ok {
			at = place{1, 1}
			if t, ok := r.seen[tableOf(fs[i].Key)]; ok {
				at = t
			}
		}
		fs[i].File, fs[i].Line, fs[i].Column = r.name, at.line, at.column
	}
	return fs
}

// require notes missing keys, except those that are there with a fault of their own.
func (r *reader) require(fs Faults) {
	for _, f := range fs {
		if _, ok := r.seen[f.Key]; !ok {
			r.faults = append(r.faults, r.located(Faults{f})...)
		}
	}
}

// header takes a [table] or [[table]] line and returns the path that the lines below it belong to;
// ok is false when they have no place and are passed over.
func (r *reader) header(path []string, at place, double bool) (under []string, ok bool) {
	name := dotted(path)
	if name == "branch" && double {
		return []string{r.newBranch(at)}, true
	}
	switch {
	case name == "branch":
		r.fault(at, "", "[branch] stands in single brackets; write [[branch]], once for each duct")
		return nil, false
	case !isTable(name):
		r.fault(at, "", "there is no table [%s]%s", clip(name), nearest(name, tables()))
		return nil, false
	case double:
		r.fault(at, "", "[[%s]] stands in double brackets; write [%s], once", name, name)
	}
	if first, again := r.seen[name]; again {
		r.fault(at, "", "the table [%s] is written twice, first on line %d; put its keys together", name, first.line)
	} else {
		r.seen[name] = at
	}
	if name == "afterfilter" {
		r.c.AfterFilter.Fitted = true
	}
	return path, true
}

// newBranch opens another branch and returns its path, such as "branch.2".
func (r *reader) newBranch(at place) string {
	r.c.Branches = append(r.c.Branches, NewBranch())
	name := fmt.Sprintf("branch.%d", len(r.c.Branches))
	r.seen[name] = at
	return name
}

// assign takes one key with its value. path is complete, such as duty, flow.
func (r *reader) assign(p pair) {
	name := dotted(p.path)
	switch {
	case p.value.pairs != nil && isTable(name):
		if under, ok := r.header(p.path, p.at, false); ok {
			for _, sub := range p.value.pairs {
				r.assign(pair{append(under[:len(under):len(under)], sub.path...), sub.at, sub.value})
			}
		}
		return
	case name == "branch":
		r.branchList(p)
		return
	}
	if len(p.path) == 2 && isTable(p.path[0]) {
		if _, ok := r.seen[p.path[0]]; !ok { // a dotted key opens its table
			r.seen[p.path[0]] = p.at
		}
		if p.path[0] == "afterfilter" {
			r.c.AfterFilter.Fitted = true
		}
	}
	if first, again := r.seen[name]; again {
		r.fault(p.at, name, "the key is written twice, first on line %d; keep one of the two", first.line)
		return
	}
	problems, known := assign(r.c, name, p.value)
	if !known {
		r.unknown(p)
		return
	}
	r.seen[name] = p.at
	for _, bad := range problems {
		r.fault(bad.at, name, "%s", bad.text)
	}
}

// branchList takes branch = [{...}, ...].
func (r *reader) branchList(p pair) {
	for _, item := range p.value.items {
		if item.pairs == nil {
			r.fault(item.at, "branch", "%s stands where a branch is due; write [[branch]] tables", item.describe())
			continue
		}
		under := r.newBranch(item.at)
		for _, sub := range item.pairs {
			r.assign(pair{append([]string{under}, sub.path...), sub.at, sub.value})
		}
	}
	if p.value.items == nil {
		r.fault(p.at, "branch", "%s stands where branches are due; write [[branch]] tables", p.value.describe())
	}
}

// unknown notes a key that does not exist, with the nearest one that does.
func (r *reader) unknown(p pair) {
	name := dotted(p.path)
	last := p.path[len(p.path)-1]
	table := tableOf(name)
	where := "at the top of the file"
	if table != "" {
		where = "in [" + clip(table) + "]"
	}
	r.fault(p.at, "", "there is no key %s %s%s", clip(last), where, nearestKey(table, last))
}

// assign sets one key of c by its full path; known is false when there is no such key.
func assign(c *Collector, path string, l literal) (problems []problem, known bool) {
	if i, name, ok := branchPath(path); ok && i < len(c.Branches) {
		for _, k := range branchSchema {
			if k.name == name {
				return k.value.read(&c.Branches[i], l, k.example), true
			}
		}
		return nil, false
	}
	for _, k := range schema {
		if k.path() == path {
			return k.value.read(c, l, k.example), true
		}
	}
	return nil, false
}

// nearest ends a message with the nearest known spelling, or with all of them where none is near.
func nearest(word string, known []string) string {
	if near := unit.Nearest(word, known); near != "" {
		return fmt.Sprintf("; did you mean %s", near)
	}
	return fmt.Sprintf("; known are %s", list(known))
}

// nearestKey ends a message about an unknown key: the nearest key of its table, else the same key
// in another table, else all keys of the table.
func nearestKey(table, name string) string {
	known := keysOf(table)
	if near := unit.Nearest(name, known); near != "" {
		return fmt.Sprintf("; did you mean %s", near)
	}
	for _, k := range schema {
		if k.name == name && k.table != "" {
			return fmt.Sprintf("; %s belongs in [%s]", name, k.table)
		}
		if k.name == name {
			return fmt.Sprintf("; %s belongs at the top of the file, before the first table", name)
		}
	}
	return fmt.Sprintf("; known there are %s", list(known))
}
