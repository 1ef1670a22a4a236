package plant

import (
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

func TestBenchVerdict(t *testing.T) {
	for _, c := range []struct {
		b    Bench
		want string
	}{
		{Bench{true, true, true}, ""}, {Bench{false, true, true}, "pilot"}, {Bench{false, true, false}, "diaphragm"},
		{Bench{false, false, false}, "diaphragm"}, {Bench{true, false, true}, "diaphragm"}, {Bench{true, true, false}, "diaphragm"},
	} {
		part, why := c.b.Verdict()
		if part != c.want || why == "" {
			t.Errorf("%+v: %q (%s), want %q", c.b, part, why, c.want)
		}
	}
}

func TestStartUpStopsAtAStepThatFails(t *testing.T) {
	done := map[string]*Commissioning{"arrival": {Accepted: true}, "setting": {Accepted: false}, "electrical": {Accepted: true}}
	if s, ok := NextCommissioning(done); !ok || s.ID != "setting" {
		t.Errorf("next is %s, want the step that failed", s.ID)
	}
	for _, s := range CommissioningSteps() {
		if judge.Caution(s.Caution).IsZero() || len(s.Items) == 0 || len(s.Do) == 0 {
			t.Errorf("step %s has no caution, nothing to do or nothing to look at", s.ID)
		}
		done[s.ID] = &Commissioning{Accepted: true}
	}
	if s, ok := NextCommissioning(done); ok {
		t.Errorf("all is accepted and %s is asked for", s.ID)
	}
}

func TestMeasurementsAreJudgedByTheFile(t *testing.T) {
	c := collector.New()
	c.Duty.Flow, c.Header.Set = 2, 413685
	accept := func(step, item string, si float64) string {
		for _, s := range CommissioningSteps() {
			for _, i := range s.Items {
				if s.ID == step && i.ID == item {
					_, why := i.Accepts(c, si)
					return why.In(unit.SI)
				}
			}
		}
		t.Fatalf("no item %s of step %s", item, step)
		return ""
	}
	if why := accept("airflow", "flow", 1.99); why != "" {
		t.Error(why)
	}
	if why := accept("airflow", "flow", 1.7); !strings.Contains(why, "at least") {
		t.Errorf("85 %% of design flow: %q", why)
	}
	if why := accept("header", "pressure", 460000); !strings.Contains(why, "at most") {
		t.Errorf("11 %% over the set pressure: %q", why)
	}
	if why := accept("rotation", "current", 30); why != "" {
		t.Errorf("the file gives no full-load current, and still: %s", why)
	}
}
