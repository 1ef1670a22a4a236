package collector

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"dustwright/unit"
)

// Set changes one key: key is its full name such as "setpoints.high" or "branch.2.flow" (branches count
// from 1), value as a person would type it, quantities and texts with or without quotation marks:
// "3.5 in.w.g.", "[1, 2, 3]", "unknown". It returns Faults when the key does not exist or the value
// cannot be right, and then changes nothing. It does not compare the value with other keys, since two
// may have to change together: call Validate when all are set.
func (c *Collector) Set(key, value string) error {
	fault := func(format string, args ...any) error {
		return Faults{{File: c.Source, Key: clip(key), Text: fmt.Sprintf(format, args...)}}
	}
	l, err := typed(value)
	if err != nil {
		return fault("%v", err)
	}
	problems, known := assign(c, key, l)
	if !known {
		return fault("there is no such key%s", c.nearestPath(key))
	}
	if len(problems) > 0 {
		texts := make([]string, len(problems))
		for i, p := range problems {
			texts[i] = p.text
		}
		return fault("%s", strings.Join(texts, "; "))
	}
	if strings.HasPrefix(key, "afterfilter.") {
		c.AfterFilter.Fitted = true
	}
	return nil
}

// nearestPath ends the message about an unknown key.
func (c *Collector) nearestPath(key string) string {
	if i, _, ok := branchPath(key); ok && i >= len(c.Branches) {
		return fmt.Sprintf("; the file has %d branches", len(c.Branches))
	}
	var paths []string
	for _, k := range schema {
		paths = append(paths, k.path())
	}
	for i := range c.Branches {
		for _, k := range branchSchema {
			paths = append(paths, fmt.Sprintf("branch.%d.%s", i+1, k.name))
		}
	}
	if near := unit.Nearest(key, paths); near != "" {
		return "; did you mean " + near
	}
	return nearestKey(tableOf(key), key[strings.LastIndexByte(key, '.')+1:])
}

// typed turns what a person typed into a literal: a list, number, date or quoted text where it reads as
// one in TOML, else the text as it stands.
func typed(value string) (literal, error) {
	value = strings.TrimSpace(value)
	if len(value) > mostBytes || strings.ContainsAny(value, "\x00") {
		return literal{}, fmt.Errorf("the value is too long or not text; give one value of one line")
	}
	if n, err := strconv.Atoi(value); err == nil {
		return literal{kind: unstable.Integer, text: strconv.Itoa(n)}, nil
	}
	r := &reader{data: []byte("x = " + value + "\n"), starts: []int{0}}
	p := &unstable.Parser{}
	p.Reset(r.data)
	if p.NextExpression() && p.Expression().Kind == unstable.KeyValue {
		l := r.literal(p.Expression().Value(), 0, place{})
		if !p.NextExpression() && p.Error() == nil {
			return l, nil
		}
	}
	return literal{kind: unstable.String, text: value}, nil
}
