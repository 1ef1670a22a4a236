package plant

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

// spoken is a judgement whose every sentence tells a quantity.
func spoken() *Judgement {
	of := func(format string, pa float64) collector.Text { return collector.Say(format, unit.Pressure(pa)) }
	return &Judgement{Collector: "DC-1", At: first, Standing: judge.Drifting, Causes: []judge.Probability{{Cause: judge.None, P: 1}},
		Reasons:   []collector.Text{of("the dP stands at %s", 1500), collector.Say("once in 10 days")},
		NextCheck: &judge.Check{ID: "x", Text: of("Blow it out below %s", 170e3), Finding: of("it takes %s", 35e3), Caution: of("below %s", 170e3)},
		Changes:   []Change{{At: first, Kind: "filters", Text: of("new filters to %s", 200)}}}
}

// sentences are a judgement's, one a line.
func sentences(j *Judgement) string {
	lines := fmt.Sprintln(j.Reasons, j.NextCheck.Text, j.NextCheck.Finding, j.NextCheck.Caution)
	for _, c := range j.Changes {
		lines += c.Text.String() + "\n"
	}
	return lines
}

// A judgement is kept with its sentences in both systems, and read back it is said in either; what is printed of it is plain texts, in
// US units unless another system is asked for.
func TestAKeptJudgementIsSaidInEitherSystem(t *testing.T) {
	j := spoken()
	kept, err := json.Marshal(j.kept())
	if err != nil {
		t.Fatal(err)
	}
	var back Judgement
	if err := json.Unmarshal(kept, &back); err != nil {
		t.Fatal(err)
	}
	for units, sys := range map[string]unit.System{"us": unit.US, "si": unit.SI} {
		for name, of := range map[string]*Judgement{"made": j, "kept": &back} {
			if got := unittest.Foreign(units, sentences(of.In(sys))); len(got) > 0 {
				t.Errorf("%s, %s: %q", name, units, got)
			}
			if sentences(of.In(sys)) != sentences(j.In(sys)) {
				t.Errorf("%s: kept as %q", units, sentences(of.In(sys)))
			}
			printed, err := json.Marshal(of.In(sys))
			if err != nil {
				t.Fatal(err)
			}
			var plain struct{ Reasons []string }
			if err := json.Unmarshal(printed, &plain); err != nil || len(plain.Reasons) != 2 || strings.Contains(string(printed), `"si"`) {
				t.Errorf("%s, %s, printed: %s, %v", name, units, printed, err)
			}
		}
	}
	bare, err := json.Marshal(&back)
	if err != nil {
		t.Fatal(err)
	}
	if len(unittest.Foreign("us", string(bare))) > 0 || strings.Contains(string(bare), `"si"`) {
		t.Errorf("nobody asked for a system: %s", bare)
	}
	if len(kept) > 2*len(bare) {
		t.Errorf("%d bytes are kept of %d", len(kept), len(bare))
	}
	if (*Judgement)(nil).In(unit.SI) != nil {
		t.Error("no judgement is one in SI")
	}
}

// A judgement that an older version kept, in the units of its time, still opens and reads as it did.
func TestAnOldJudgementReadsAsItDid(t *testing.T) {
	old := `{"collector":"DC-1","at":"2026-06-11T10:32:00-06:00","standing":"drifting","causes":[{"cause":"none","probability":1}],
		"reasons":["the dP stands at 6.1 in. w.g., 50 % {above}"],"nextCheck":{"id":"x","text":"Blow it out","finding":"it is","minutes":3,"caution":"below 25 psi"},
		"changes":[{"at":"2026-06-01T10:00:00-06:00","kind":"filters","text":"new filters to 0.82 in. w.g.","logged":true}],"missing":[]}`
	var j Judgement
	if err := json.Unmarshal([]byte(old), &j); err != nil {
		t.Fatal(err)
	}
	for _, sys := range []unit.System{unit.US, unit.SI} {
		got := j.In(sys)
		if got.Reasons[0].String() != "the dP stands at 6.1 in. w.g., 50 % {above}" || got.NextCheck.Caution.String() != "below 25 psi" || got.Changes[0].Text.String() != "new filters to 0.82 in. w.g." {
			t.Errorf("%q", sentences(got))
		}
	}
}

// What is judged speaks both systems throughout, with the reasons and the tasks that follow from it.
func TestJudgementsAndTasksSpeakOneSystem(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable+"[cleaning]\nmode = \"none\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]int{}
	for name, dp := range map[string]func(i int) float64{"runs": func(i int) float64 { return 500 + float64(i%5) }, "rises": func(i int) float64 { return 300 + 2*float64(i) }, "beyond": func(int) float64 { return 60e3 },
		"stands": func(i int) float64 { return 700 - 690*float64(i/500) }} {
		j := Judge(JudgeInput{Collector: c, History: hours([sense.NumChannels]func(int) float64{sense.DP: dp})})
		tasks := Tasks(TaskInput{Collector: c, Judgement: j, Started: first}, first.Add(40*24*time.Hour))
		for units, sys := range map[string]unit.System{"us": unit.US, "si": unit.SI} {
			text, err := json.Marshal([]any{j.In(sys).Reasons, j.In(sys).NextCheck, j.In(sys).Changes, j.Missing, j.Life, TasksIn(tasks, sys)})
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range unittest.Foreign(units, string(text)) {
				t.Errorf("%s, %s: %s", name, units, what)
			}
			told[units] += len(unittest.Foreign(map[string]string{"us": "si", "si": "us"}[units], string(text)))
		}
	}
	if told["us"] < 4 || told["si"] < 4 {
		t.Errorf("quantities are told only %v times", told)
	}
}
