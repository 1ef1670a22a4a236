package main

import (
	"errors"
	"fmt"
	"os"
	"slices"

	"dustwright/judge"
)

// average writes the mean of several tables to a file.
func average(paths []string, out string) error {
	nets := make([]*judge.Net, len(paths))
	for i, path := range paths {
		var err error
		if nets[i], err = readTable(path); err != nil {
			return err
		}
	}
	n, err := meanOf(nets)
	if err != nil {
		return err
	}
	return os.WriteFile(out, fmt.Appendf(nil, "# source: bench/causes -mean of %d tables\n%s", len(nets), n), 0o644)
}

// meanOf returns the net whose log odds are the mean of those of several: their units stand side by side, none leads to
// those of another, and all lead to the outputs by as much less as there are nets.
func meanOf(nets []*judge.Net) (*judge.Net, error) {
	if len(nets) == 0 {
		return nil, errors.New("a mean is taken of tables: name them")
	}
	share := 1 / float64(len(nets))
	out := &judge.Net{Outputs: nets[0].Outputs, Terms: map[string]judge.NetTerm{}}
	units := 0
	for _, n := range nets {
		if !slices.Equal(n.Outputs, out.Outputs) {
			return nil, fmt.Errorf("the tables have other outputs: %v and %v", out.Outputs, n.Outputs)
		}
		units += len(n.Bias)
	}
	for _, n := range nets {
		at := len(out.Bias)
		for name, t := range n.Terms {
			if _, met := out.Terms[name]; !met {
				out.Terms[name] = judge.NetTerm{Direct: make([]float64, len(out.Outputs)), Hidden: make([]float64, units)}
			}
			for i, w := range t.Direct {
				out.Terms[name].Direct[i] += share * w
			}
			copy(out.Terms[name].Hidden[at:], t.Hidden)
		}
		for i := range n.Bias {
			row := make([]float64, units)
			copy(row[at:], n.Between[i])
			out.Between = append(out.Between, row)
			last := slices.Clone(n.Last[i])
			for j := range last {
				last[j] *= share
			}
			out.Last = append(out.Last, last)
		}
		out.Bias = append(out.Bias, n.Bias...)
	}
	return out, nil
}
