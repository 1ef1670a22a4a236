package judge

import (
	"encoding/csv"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats"
)

// Net is a fitted table: how the terms of what is seen become log odds. A part of it is linear in the terms; beside it
// stand two layers of hidden units, each of which passes on what its weighed sum lies above nothing, so that what one
// sight says can depend on the others. METHOD.md gives the equations.
type Net struct {
	Outputs []Cause
	Terms   map[string]NetTerm // by name; "1" is always there
	Between [][]float64        // from each unit of the first layer to those of the second
	Bias    []float64          // of the second layer
	Last    [][]float64        // from each unit of the second layer to the outputs

	leads []span // from each unit of the first layer: to which of the second; none where all are multiplied
}

// span is a stretch of units, from one to before another.
type span struct{ from, to int }

// NetTerm is what a term weighs: for the outputs by itself, and for the first hidden layer.
type NetTerm struct{ Direct, Hidden []float64 }

// Names of the lines of a table.
const (
	lineOutputs = "outputs"
	lineTerm    = "term"
	lineBetween = "between"
	lineBias    = "bias"
	lineLast    = "last"
)

// ReadNet reads a table as String writes it. Its lines name what they hold: the outputs, a term with its weights, and the
// weights from one layer to the next, a line for each unit they come from.
func ReadNet(text string) (*Net, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment, r.FieldsPerRecord = '#', -1
	rows, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	n := &Net{Terms: map[string]NetTerm{}}
	for i, row := range rows {
		if err := n.line(row); err != nil {
			return nil, fmt.Errorf("line %d without those of remarks, %s: %w", i+1, row[0], err)
		}
	}
	if err := n.check(); err != nil {
		return nil, err
	}
	n.lead()
	return n, nil
}

// lead notes to which units each of the first layer leads: in a mean of nets that stand side by side, to those of its own.
func (n *Net) lead() {
	weighs := func(w float64) bool { return w != 0 }
	for _, w := range n.Between {
		s := span{max(0, slices.IndexFunc(w, weighs)), len(w)}
		for s.to > s.from && w[s.to-1] == 0 {
			s.to--
		}
		n.leads = append(n.leads, s)
	}
}

// line takes one line of a table in.
func (n *Net) line(row []string) error {
	name, cells := row[0], row[1:]
	if name == lineOutputs {
		for _, c := range cells {
			n.Outputs = append(n.Outputs, Cause(strings.Clone(c)))
		}
		return nil
	}
	term := ""
	if name == lineTerm && len(cells) > 0 {
		term, cells = strings.Clone(cells[0]), cells[1:]
	}
	w := make([]float64, len(cells))
	for j, c := range cells {
		var err error
		if w[j], err = strconv.ParseFloat(c, 64); err != nil {
			return err
		}
	}
	switch name {
	case lineTerm:
		if len(w) < len(n.Outputs) {
			return fmt.Errorf("term %s has %d weights for %d outputs", term, len(w), len(n.Outputs))
		}
		n.Terms[term] = NetTerm{w[:len(n.Outputs)], w[len(n.Outputs):]}
	case lineBetween:
		n.Between = append(n.Between, w)
	case lineBias:
		n.Bias = w
	case lineLast:
		n.Last = append(n.Last, w)
	default:
		return fmt.Errorf("no table has such a line; it must begin with %s, %s, %s, %s or %s", lineOutputs, lineTerm, lineBetween, lineBias, lineLast)
	}
	return nil
}

// check reports whether the parts of a table fit each other.
func (n *Net) check() error {
	units := len(n.Bias)
	if len(n.Outputs) == 0 || len(n.Between) != units || len(n.Last) != units {
		return fmt.Errorf("%d outputs, %d and %d lines between layers of %d units", len(n.Outputs), len(n.Between), len(n.Last), units)
	}
	for name, t := range n.Terms {
		if len(t.Hidden) != units {
			return fmt.Errorf("term %s has %d weights for %d units", name, len(t.Hidden), units)
		}
	}
	for i := range units {
		if len(n.Between[i]) != units || len(n.Last[i]) != len(n.Outputs) {
			return fmt.Errorf("unit %d leads to %d units of %d and to %d outputs of %d", i+1, len(n.Between[i]), units, len(n.Last[i]), len(n.Outputs))
		}
	}
	return nil
}

// String writes the table, its weights to three figures.
func (n *Net) String() string {
	var b strings.Builder
	line := func(name string, parts ...[]float64) {
		b.WriteString(name)
		for _, part := range parts {
			for _, v := range part {
				b.WriteByte(',')
				b.WriteString(strconv.FormatFloat(v, 'g', 3, 64))
			}
		}
		b.WriteByte('\n')
	}
	b.WriteString(lineOutputs)
	for _, c := range n.Outputs {
		b.WriteString("," + string(c))
	}
	b.WriteByte('\n')
	for _, name := range slices.Sorted(maps.Keys(n.Terms)) {
		line(lineTerm+","+name, n.Terms[name].Direct, n.Terms[name].Hidden)
	}
	for _, w := range n.Between {
		line(lineBetween, w)
	}
	line(lineBias, n.Bias)
	for _, w := range n.Last {
		line(lineLast, w)
	}
	return b.String()
}

// sums is how far a net has got with the terms of a record: the linear part of the log odds, and the weighed sums of the
// first hidden layer.
type sums struct{ direct, hidden []float64 }

func (s sums) clone() sums { return sums{slices.Clone(s.direct), slices.Clone(s.hidden)} }

// begin is a record of which nothing is seen.
func (n *Net) begin() sums {
	s := sums{make([]float64, len(n.Outputs)), make([]float64, len(n.Bias))}
	n.add(s, bias, 1)
	return s
}

// add takes a term in; one that the net does not know adds nothing.
func (n *Net) add(s sums, name string, x float64) {
	t := n.Terms[name]
	floats.AddScaled(s.direct[:len(t.Direct)], x, t.Direct)
	floats.AddScaled(s.hidden[:len(t.Hidden)], x, t.Hidden)
}

// odds returns the log odds of the outputs.
func (n *Net) odds(s sums) []float64 {
	second, out := slices.Clone(n.Bias), slices.Clone(s.direct)
	for i, x := range s.hidden {
		to := span{0, len(second)}
		if n.leads != nil {
			to = n.leads[i]
		}
		pass(x, n.Between[i][to.from:to.to], second[to.from:to.to])
	}
	for i, x := range second {
		pass(x, n.Last[i], out)
	}
	return out
}

// pass adds to what a unit leads to what it passes on: its sum, where that lies above nothing.
func pass(sum float64, weights, to []float64) {
	if sum > 0 {
		floats.AddScaled(to, sum, weights)
	}
}

// Odds returns the log odds of the outputs for terms by name.
func (n *Net) Odds(seen map[string]float64) []float64 {
	s := n.begin()
	for _, name := range slices.Sorted(maps.Keys(seen)) { // sums of one order
		n.add(s, name, seen[name])
	}
	return n.odds(s)
}

// without returns the log odds as they would be without some terms.
func (n *Net) without(s sums, gone []term) []float64 {
	less := s.clone()
	for _, t := range gone {
		n.add(less, t.name, -t.x)
	}
	return n.odds(less)
}

// explain returns the log odds of the outputs, and what each of them owes to each of several sights, as terms tell them: by
// how much it would be less if the sight stood at 0, where a sound collector's does. What a sight says by being seen at all
// is left out.
func (n *Net) explain(s sums, all []term, sights int) (whole []float64, out [][]float64) {
	whole, out = n.odds(s), make([][]float64, len(n.Outputs))
	for j := range out {
		out[j] = make([]float64, sights)
	}
	for from := 0; from < len(all); {
		to := from
		var bent []term
		for ; to < len(all) && all[to].from == all[from].from; to++ {
			if !all[to].known() {
				bent = append(bent, all[to])
			}
		}
		if len(bent) > 0 {
			for j, o := range n.without(s, bent) {
				out[j][all[from].from] = whole[j] - o
			}
		}
		from = to
	}
	return whole, out
}
