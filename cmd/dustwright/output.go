package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// output is the pair of flags that every command has.
type output struct {
	JSON  bool   `name:"json" help:"Print JSON instead of the page (fields: docs/commands.md)."`
	Units string `enum:"us,si" default:"us" help:"Units of the page and of sentences: us or si."`
}

// system is the family of units asked for.
func (o output) system() unit.System {
	if o.Units == "si" {
		return unit.SI
	}
	return unit.US
}

// emit prints data as JSON, or the page that write makes. It prints all or nothing.
func (e *env) emit(o output, data any, write func(io.Writer, unit.System) error) error {
	var b bytes.Buffer
	if o.JSON {
		enc := json.NewEncoder(&b)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(said(data, o.system())); err != nil {
			return fmt.Errorf("the result cannot be written as JSON: %w", err)
		}
	} else if err := write(&b, o.system()); err != nil {
		return err
	}
	if _, err := e.stdout.Write(b.Bytes()); err != nil {
		return fmt.Errorf("the result cannot be printed: %w", err)
	}
	return nil
}

// said is data with the sentences of judgements in the units of a system.
func said(data any, sys unit.System) any {
	switch of := data.(type) {
	case *plant.Judgement:
		return of.In(sys)
	case []*plant.Judgement:
		out := slices.Clone(of)
		for i, j := range out {
			out[i] = j.In(sys)
		}
		return out
	}
	return data
}

// cautionTexts are the cautions of these ids, as a page opens with them.
func cautionTexts(ids []string, sys unit.System) []string {
	out := []string{}
	for _, id := range ids {
		out = append(out, judge.Caution(id).In(sys))
	}
	return out
}
