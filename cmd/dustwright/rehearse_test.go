package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"dustwright/rehearse"
	"dustwright/sense"
)

// TestRehearsePages pins what a person reads of a rehearsal.
func TestRehearsePages(t *testing.T) {
	for name, args := range map[string][]string{
		"rehearse":               {"rehearse", dc1, "--days", "60", "--fault", "valve-dead:3@30d"},
		"rehearse_against":       {"rehearse", dc1, "--days", "30", "--against", "setpoints.high=5 in.w.g.", "--set", "afterfilter.max_dp=1.3 in.w.g."},
		"rehearse_sparse":        {"rehearse", sparse, "--days", "10"},
		"rehearse_advise":        {"rehearse", dc1, "--advise", "--days", "365", "--set", "duty.hours_per_week=6", "--set", "cost.compressed_air=40"},
		"rehearse_advise_energy": {"rehearse", sparse, "--advise", "--days", "365", "--set", "duty.hours_per_week=6"},
	} {
		for _, units := range []string{"us", "si"} {
			t.Run(name+"_"+units, func(t *testing.T) {
				out, bad, code := do(t, append(args, "--units", units)...)
				if code != exitDone || bad != "" {
					t.Fatalf("exit %d, stderr %q", code, bad)
				}
				golden(t, name+"_"+units+".golden", out)
			})
		}
	}
}

// TestRehearseWritesLogTruthAndPlot: files appear whole, and nothing beside them.
func TestRehearseWritesLogTruthAndPlot(t *testing.T) {
	dir := t.TempDir()
	log, svg := filepath.Join(dir, "log.csv"), filepath.Join(dir, "dp.svg")
	out, bad, code := do(t, "rehearse", dc1, "--days", "3", "--channels", "emission,pulse", "--every", "10m", "--out", log, "--plot", svg, "--json",
		"--fault", "filter-leak:2@1d:0.5", "--start", "2026-05-04T00:00:00-05:00")
	if code != exitDone || bad != "" {
		t.Fatalf("exit %d, stderr %q", code, bad)
	}
	var answer struct {
		Runs []struct {
			Pulses int
			Faults []struct{ Cause string }
			Life   struct{ Days *float64 }
		}
	}
	if err := json.Unmarshal([]byte(out), &answer); err != nil || len(answer.Runs) != 1 || answer.Runs[0].Faults[0].Cause != rehearse.FilterLeak {
		t.Errorf("JSON %s: %v", out, err)
	}
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	if lines := strings.Split(string(text), "\n"); lines[0] != "time,emission,pulse" || !strings.HasPrefix(lines[1], "2026-05-04T00:00:00-05:00,") || len(lines) != 3*144+3 {
		t.Errorf("%d lines, beginning %q, %q", len(lines), lines[0], lines[1])
	}
	var truth rehearse.Truth
	if text, err = os.ReadFile(filepath.Join(dir, "log.truth.json")); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil || len(truth.Faults) != 1 || truth.Faults[0].Number != 2 {
		t.Errorf("truth: %v, %+v", err, truth.Faults)
	}
	if text, err = os.ReadFile(svg); err != nil || !strings.HasPrefix(string(text), "<svg ") || !strings.Contains(string(text), "filter-leak 2") {
		t.Errorf("plot: %v", err)
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 3 {
		t.Errorf("%d files, %v", len(files), err)
	}
}

// TestRehearseRefusals: each wrong flag is one sentence that says what is right.
func TestRehearseRefusals(t *testing.T) {
	for want, args := range map[string][]string{
		"did you mean valve-dead":           {"--fault", "valve-ded:3"},
		"valves and rows 1 to 6":            {"--fault", "valve-dead:9"},
		"did you mean setpoints.high":       {"--set", "setpoints.hihg=4 in.w.g."},
		"is no KEY=VALUE":                   {"--set", "setpoints.high"},
		"is no date":                        {"--start", "monday"},
		"a run lasts more than 0":           {"--days", "0"},
		"no time between rows":              {"--every", "1us"},
		"leave --against out":               {"--advise", "--against", "setpoints.high=5 in.w.g."},
		"advice needs runs of 365 days":     {"--advise"},
		"there are no set points to advise": {"--advise", "--set", "cleaning.mode=none"},
		"did you mean dp":                   {"--channels", "dpp"},
		"the log cannot be written":         {"--out", filepath.Join(t.TempDir(), "no", "such", "log.csv")},
		"the spread between machines must":  {"--spread", "9"},
	} {
		out, bad, code := do(t, append([]string{"rehearse", dc1, "--days", "1"}, args...)...)
		if code != exitUnusable || out != "" || !strings.Contains(bad, want) {
			t.Errorf("%v: exit %d, stderr %q, want %q", args, code, bad, want)
		}
	}
}

// TestAdviceAsJSON: today's and the advised settings, and that nothing is applied.
func TestAdviceAsJSON(t *testing.T) {
	out, bad, code := do(t, "rehearse", dc1, "--advise", "--days", "365", "--set", "duty.hours_per_week=2", "--json")
	if code != exitDone || bad != "" {
		t.Fatalf("exit %d, stderr %q", code, bad)
	}
	var answer struct {
		Applied        *bool
		Basis          string
		Today, Advised struct{ CostPerYear *float64 }
		SavingPerYear  *float64
	}
	if err := json.Unmarshal([]byte(out), &answer); err != nil {
		t.Fatal(err)
	}
	if answer.Applied == nil || *answer.Applied || answer.Basis != "cost" || answer.SavingPerYear == nil || *answer.SavingPerYear < 0 ||
		answer.Today.CostPerYear == nil || answer.Advised.CostPerYear == nil {
		t.Errorf("JSON %s", out)
	}
}

// TestRehearsedChannelsAreSensed: the simulated log and the sensed one share their channels, in order.
func TestRehearsedChannelsAreSensed(t *testing.T) {
	if a, b := rehearse.ChannelNames(), sense.ChannelNames(); !slices.Equal(a, b) {
		t.Errorf("rehearse has %v, sense %v", a, b)
	}
}
