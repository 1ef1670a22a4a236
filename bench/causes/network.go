package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"dustwright/judge"
)

// network is a judge.Net that is being fitted: terms are numbered, and all weights stand in one slice, of which the
// others are parts. What comes from a term, or from a unit, stands together.
type network struct {
	in, units, out int
	all            []float64
	direct         []float64 // terms by outputs; those of term 0, which is always there, are not drawn to nothing
	first          []float64 // terms by units
	between        []float64 // units by units
	bias           []float64 // of the second layer
	last           []float64 // units by outputs
}

// newNetwork returns a network that says nothing.
func newNetwork(in, units, out int) *network {
	n := &network{in: in, units: units, out: out}
	sizes := [...]int{in * out, in * units, units * units, units, units * out}
	total := 0
	for _, s := range sizes {
		total += s
	}
	n.all = make([]float64, total)
	rest := n.all
	for i, part := range [...]*[]float64{&n.direct, &n.first, &n.between, &n.bias, &n.last} {
		*part, rest = rest[:sizes[i]], rest[sizes[i]:]
	}
	return n
}

// scatter draws the weights into the hidden layers, evenly within one over the root of how many lead to a unit (LeCun,
// Bottou, Orr and Müller, Efficient BackProp, 1998, from memory). What they lead to stays nothing.
func (n *network) scatter(r *rand.Rand) {
	for _, part := range [...]struct {
		w  []float64
		of int
	}{{n.first, n.in}, {n.between, n.units}, {n.bias, n.units}} {
		for i := range part.w {
			part.w[i] = (2*r.Float64() - 1) / math.Sqrt(float64(part.of))
		}
	}
}

// table names what the network has learned.
func (n *network) table(outputs, terms []string) *judge.Net {
	cut := func(w []float64, i, width int) []float64 { return w[i*width : i*width+width] }
	t := &judge.Net{Outputs: named(outputs), Terms: map[string]judge.NetTerm{}, Bias: n.bias}
	for i, name := range terms {
		t.Terms[name] = judge.NetTerm{Direct: cut(n.direct, i, n.out), Hidden: cut(n.first, i, n.units)}
	}
	for i := range n.units {
		t.Between, t.Last = append(t.Between, cut(n.between, i, n.units)), append(t.Last, cut(n.last, i, n.out))
	}
	return t
}

// resumed returns the network of a table, its terms numbered as given; a term that the table has not weighs nothing yet.
func resumed(t *judge.Net, outputs, terms []string) (*network, error) {
	n := newNetwork(len(terms), len(t.Bias), len(outputs))
	if want := named(outputs); !slices.Equal(t.Outputs, want) {
		return nil, fmt.Errorf("the table to go on from tells %v, and the lessons are of %v", t.Outputs, want)
	}
	for i, name := range terms {
		if known, is := t.Terms[name]; is {
			copy(n.direct[i*n.out:], known.Direct)
			copy(n.first[i*n.units:], known.Hidden)
		}
	}
	for i := range n.units {
		copy(n.between[i*n.units:], t.Between[i])
		copy(n.last[i*n.out:], t.Last[i])
	}
	copy(n.bias, t.Bias)
	return n, nil
}

// named are causes by their names.
func named(outputs []string) []judge.Cause {
	out := make([]judge.Cause, len(outputs))
	for i, o := range outputs {
		out[i] = judge.Cause(o)
	}
	return out
}

// input is one term as the network numbers it.
type input struct {
	at int32
	x  float64
}

// run is one way through a network, and back.
type run struct {
	net        *network
	drop       *dropper
	everything []input // the terms of the last way forward; their room is used for the next
	inputs     []input // those that lead to the hidden layers, as they were taken
	one, two   layer
	odds       []float64
	others     []*run // of the same network, for lessons that run it several times
}

// layer is the units of one hidden layer.
type layer struct {
	units []float64 // their weighed sums, and then what they pass on
	kept  []float64 // by what each is multiplied
	slope []float64 // by their weighed sums
}

func newLayer(units int) layer {
	return layer{make([]float64, units), make([]float64, units), make([]float64, units)}
}

// newRun returns a run of a network. While one is fitted, terms and units are dropped at random, so that none relies on
// another being there (Srivastava and others, Dropout, Journal of Machine Learning Research 15, 2014, from memory); drop is nil
// where none are.
func newRun(n *network, drop *dropper) *run {
	return &run{net: n, drop: drop, one: newLayer(n.units), two: newLayer(n.units), odds: make([]float64, n.out)}
}

// dropper leaves out a share at random.
type dropper struct {
	share float64
	rand  *rand.Rand
}

// keep is by what a term or unit is multiplied: nothing where it is left out.
func (d *dropper) keep() float64 {
	switch {
	case d == nil:
		return 1
	case d.rand.Float64() < d.share:
		return 0
	}
	return 1 / (1 - d.share)
}

// forward returns the log odds for some terms, on top of what is given; they hold until the next call.
func (r *run) forward(terms []input, given []float64) []float64 {
	n := r.net
	clear(r.odds)
	copy(r.odds, given)
	floats.Add(r.odds, n.direct[:n.out])
	copy(r.one.units, n.first[:n.units])
	r.inputs, r.everything = r.inputs[:0], terms
	for _, t := range terms {
		i := int(t.at)
		floats.AddScaled(r.odds, t.x, n.direct[i*n.out:i*n.out+n.out])
		if k := r.drop.keep(); k > 0 {
			r.inputs = append(r.inputs, input{t.at, t.x * k})
			floats.AddScaled(r.one.units, t.x*k, n.first[i*n.units:i*n.units+n.units])
		}
	}
	copy(r.two.units, n.bias)
	r.one.forward(r.drop, n.between, r.two.units)
	r.two.forward(r.drop, n.last, r.odds)
	return r.odds
}

// forward lets the units of a layer pass on what lies above nothing.
func (l *layer) forward(drop *dropper, weights, out []float64) {
	k := len(out)
	for i, x := range l.units {
		l.kept[i] = 0
		if x > 0 {
			l.kept[i] = drop.keep()
		}
		l.units[i] = x * l.kept[i]
		if l.units[i] > 0 {
			floats.AddScaled(out, l.units[i], weights[i*k:i*k+k])
		}
	}
}

// backward adds the slopes of all weights to grad, for slopes by the log odds of the last way forward.
func (r *run) backward(byOdds []float64, grad *network) {
	n := r.net
	r.two.backward(byOdds, n.last, grad.last)
	floats.Add(grad.bias, r.two.slope)
	r.one.backward(r.two.slope, n.between, grad.between)
	floats.Add(grad.direct[:n.out], byOdds)
	floats.Add(grad.first[:n.units], r.one.slope)
	for _, t := range r.everything {
		i := int(t.at)
		floats.AddScaled(grad.direct[i*n.out:i*n.out+n.out], t.x, byOdds)
	}
	for _, t := range r.inputs {
		i := int(t.at)
		floats.AddScaled(grad.first[i*n.units:i*n.units+n.units], t.x, r.one.slope)
	}
}

// backward works out the slopes by the weighed sums of a layer, and adds those by its weights to grad.
func (l *layer) backward(byOut, weights, grad []float64) {
	k := len(byOut)
	for i, x := range l.units {
		l.slope[i] = 0
		if x > 0 {
			l.slope[i] = l.kept[i] * floats.Dot(weights[i*k:i*k+k], byOut)
			floats.AddScaled(grad[i*k:i*k+k], x, byOut)
		}
	}
}
