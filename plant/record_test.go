package plant

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// drawChain seals a chain of notes.
func drawChain(t *rapid.T) []Record {
	n := rapid.IntRange(1, 12).Draw(t, "records")
	chain := make([]Record, n)
	for i := range chain {
		body, err := json.Marshal(Note{Text: rapid.String().Draw(t, "text") + "."})
		if err != nil {
			t.Fatal(err)
		}
		chain[i] = Record{
			ID: fmt.Sprintf("r%d", i), Kind: KindNote, Collector: rapid.SampledFrom([]string{"", "DC-1", "DC-2"}).Draw(t, "tag"),
			At:      time.Date(2026, 3, 1, 0, 0, rapid.IntRange(0, 1e6).Draw(t, "at"), 0, time.FixedZone("", -6*3600)),
			Entered: time.Date(2026, 3, 2, 0, 0, i, 123456789, time.UTC), By: "a person", Body: body,
		}
		var before *Record
		if i > 0 {
			before = &chain[i-1]
		}
		if err := chain[i].Seal(before); err != nil {
			t.Fatal(err)
		}
	}
	return chain
}

func verify(chain []Record) error {
	var v Verifier
	for _, r := range chain {
		if err := v.Next(r); err != nil {
			return err
		}
	}
	return nil
}

func TestAChainVerifiesAlsoAfterJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chain := drawChain(t)
		for i := range chain {
			text, err := json.Marshal(chain[i])
			if err != nil {
				t.Fatal(err)
			}
			var back Record
			if err := json.Unmarshal(text, &back); err != nil {
				t.Fatal(err)
			}
			chain[i] = back
		}
		if err := verify(chain); err != nil {
			t.Fatal(err)
		}
	})
}

func TestAnyChangeIsFoundAndNamed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chain := drawChain(t)
		i := rapid.IntRange(0, len(chain)-1).Draw(t, "which")
		r := &chain[i]
		switch rapid.IntRange(0, 5).Draw(t, "what") {
		case 0:
			r.Body = json.RawMessage(strings.Replace(string(r.Body), ".", "!", 1))
		case 1:
			r.By = "somebody else"
		case 2:
			r.At = r.At.Add(time.Hour)
		case 3:
			r.Collector += "x"
		case 4:
			r.Corrects = "r0"
		case 5:
			if i == len(chain)-1 {
				t.Skip("the last record taken off leaves a shorter chain that holds; Head tells")
			}
			chain = append(chain[:i], chain[i+1:]...)
		}
		var broken *Broken
		if err := verify(chain); !errors.As(err, &broken) {
			t.Fatalf("a changed chain verified: %v", err)
		}
	})
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		kind Kind
		body string
		want string // "" for a good body
	}{
		{KindReading, `{"values":{"dp":996.4}}`, ""},
		{KindReading, `{"values":{"dpp":996.4}}`, `did you mean "dp"`},
		{KindReading, `{}`, "at least one value"},
		{"readng", `{}`, `did you mean "reading"`},
		{"zzz", `{}`, `there is no kind of record "zzz"; known are reading, filter-change, `},
		{KindCheckAnswer, `{"yes":true}`, "names the check"},
		{KindFilterChange, `{"rows":[{"row":1},{"row":1}]}`, "row 1 stands twice"},
		{KindFilterChange, `{"rows":[{"row":1,"newLot":"A7"}]}`, ""},
		{KindDamperMove, `{"from":0.4,"to":1.2}`, "120 %"},
		{KindSetPointChange, `{"keys":{"setpoints.high":"3.5 in.w.g."}}`, ""},
		{KindSetPointChange, `{"keys":{"setpoints.hihg":"3.5 in.w.g."}}`, "setpoints.high"},
		{KindInspection, `{"items":[{"what":"fan","result":"fine"}]}`, "not \"fine\""},
		{KindNote, `{"text":"x","extra":1}`, "unknown field"},
		{KindCheckAnswer, `{"check":"pilot-exhaust","number":4,"yes":true}`, ""},
		{KindValveRepair, `{"valve":0,"part":"pilot"}`, "counted from 1"},
	} {
		_, err := Open(Record{ID: "r1", Kind: c.kind, Body: json.RawMessage(c.body)})
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s %s: %v, want %q", c.kind, c.body, err, c.want)
		}
	}
}
