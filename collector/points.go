package collector

import (
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"dustwright/unit"
)

// column is one column of a list of points.
type column struct {
	name    string
	kind    unit.Kind
	bounds  bounds
	example string
}

// points is a list of points, each a list of quantities; it is kept sorted by the first column, in
// which no value may come twice.
type points[T any] struct {
	columns []column
	get     func(*T) [][]float64
	set     func(*T, [][]float64)
}

const mostPoints = 500

func (p points[T]) read(owner *T, l literal, example string) []problem {
	if l.kind != unstable.Array {
		return []problem{{l.at, fmt.Sprintf("%s stands where a list of points is due; write it like %s", l.describe(), example)}}
	}
	if len(l.items) > mostPoints {
		return []problem{{l.at, fmt.Sprintf("the list has %d points, at most %d are read", len(l.items), mostPoints)}}
	}
	var bad []problem
	rows := make([][]float64, 0, len(l.items))
	for i, item := range l.items {
		row, faults := p.readRow(i+1, item)
		bad = append(bad, faults...)
		for j := range rows {
			if faults == nil && rows[j][0] == row[0] {
				bad = append(bad, problem{item.at, fmt.Sprintf("point %d has the same %s as an earlier point; keep one of the two", i+1, p.columns[0].name)})
				break
			}
		}
		if faults == nil {
			rows = append(rows, row)
		}
	}
	if len(bad) == 0 && len(rows) < 2 {
		bad = append(bad, problem{l.at, fmt.Sprintf("a list of %d cannot give a curve; at least two points are needed, like %s", len(rows), example)})
	}
	if bad != nil {
		return bad
	}
	sort.Slice(rows, func(i, j int) bool { return rows[i][0] < rows[j][0] })
	p.set(owner, rows)
	return nil
}

// readRow reads one point.
func (p points[T]) readRow(n int, l literal) ([]float64, []problem) {
	if l.kind != unstable.Array || len(l.items) != len(p.columns) {
		names, examples := make([]string, len(p.columns)), make([]string, len(p.columns))
		for i, c := range p.columns {
			names[i], examples[i] = c.name, strconv.Quote(c.example)
		}
		what := l.describe()
		if l.kind == unstable.Array {
			what = fmt.Sprintf("a list of %d", len(l.items))
		}
		return nil, []problem{{l.at, fmt.Sprintf("point %d is %s; it must be %s, like [%s]", n, what, strings.Join(names, ", "), strings.Join(examples, ", "))}}
	}
	row := make([]float64, len(p.columns))
	var bad []problem
	for i, c := range p.columns {
		v, text := readQuantity(c.kind, c.bounds, l.items[i], strconv.Quote(c.example))
		if text != "" {
			bad = append(bad, problem{l.items[i].at, fmt.Sprintf("%s of point %d: %s", c.name, n, text)})
		}
		row[i] = v
	}
	return row, bad
}

func (p points[T]) print(owner *T, sys unit.System) string {
	rows := p.get(owner)
	if len(rows) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("[\n")
	for _, row := range rows {
		b.WriteString("  [")
		for i, c := range p.columns {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(strconv.Quote(exactly(c.kind, row[i], sys)))
		}
		b.WriteString("],\n")
	}
	b.WriteString("]")
	return b.String()
}

// orderField is the firing order; that it names every row once is checked with the rest of the file.
type orderField struct{}

func (orderField) read(c *Collector, l literal, example string) []problem {
	if l.kind != unstable.Array || len(l.items) > 500 {
		return []problem{{l.at, fmt.Sprintf("%s stands where the list of valves in firing order is due; write it like %s", l.describe(), example)}}
	}
	var bad []problem
	order := make([]int, 0, len(l.items))
	for _, item := range l.items {
		n := 0
		if faults := (whole[int]{func(p *int) *int { return p }, 1, 500}).read(&n, item, "3"); faults != nil {
			bad = append(bad, faults...)
			continue
		}
		if slices.Contains(order, n) {
			bad = append(bad, problem{item.at, fmt.Sprintf("valve %d stands in the order twice; name every valve once, like %s", n, example)})
		}
		order = append(order, n)
	}
	if bad != nil {
		return bad
	}
	c.Cleaning.Order = order
	return nil
}

func (orderField) print(c *Collector, _ unit.System) string {
	if c.Cleaning.Order == nil {
		return ""
	}
	words := make([]string, len(c.Cleaning.Order))
	for i, n := range c.Cleaning.Order {
		words[i] = strconv.Itoa(n)
	}
	return "[" + strings.Join(words, ", ") + "]"
}
