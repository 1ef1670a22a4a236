package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// writeExperience puts a file of what the plant knows better into a folder.
func writeExperience(t *testing.T, folder string) string {
	t.Helper()
	path := filepath.Join(folder, experienceFile)
	text := `[[rate]]
causes = ["cake-damp"]
times = 20

[[check]]
id = "drain-pot"
text = "Look into the drain pot of the pulse air"
finding = "there is water in it"
minutes = 1
chances = { cake-damp = 0.9 }
`
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// judged is what these tests read of a judgement.
type judged struct {
	Collector string
	Causes    []struct {
		Cause       string
		Probability float64
	}
}

// odds of a cause against nothing being wrong.
func (j *judged) odds(cause string) float64 {
	p := map[string]float64{}
	for _, c := range j.Causes {
		p[c.Cause] += c.Probability
	}
	return p[cause] / p["none"]
}

// What a plant knows better moves the judgement alike whether its file is named or stands in the folder, where it is not
// taken for a collector's.
func TestExperienceIsRead(t *testing.T) {
	dir := t.TempDir()
	text, err := os.ReadFile(sparse)
	if err != nil {
		t.Fatal(err)
	}
	file, log := filepath.Join(dir, "DC-9.toml"), filepath.Join(dir, "DC-9.csv")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(writeMinutes(t, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), 7*24*60), log); err != nil {
		t.Fatal(err)
	}
	ask := func(args ...string) judged {
		t.Helper()
		stdout, stderr, code := do(t, append([]string{"judge", "--json"}, args...)...)
		if code != exitDone {
			t.Fatal(stderr)
		}
		var j judged
		if err := json.Unmarshal([]byte(strings.Trim(stdout, "[] \n")), &j); err != nil {
			t.Fatal(err, stdout)
		}
		return j
	}
	before := ask(file, log)
	named := writeExperience(t, t.TempDir())
	writeExperience(t, dir)
	for name, after := range map[string]judged{"named": ask("--experience", named, file, log), "in the folder": ask(dir)} {
		if got := after.odds("cake-damp") / before.odds("cake-damp"); got < 19.9 || got > 20.1 {
			t.Errorf("%s: the odds of damp cake are %v times as high, want 20", name, got)
		}
	}
}

// A fault in the file is told with its place, and nothing is judged, imported or served without what it says.
func TestExperienceFaultIsTold(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, experienceFile)
	if err := os.WriteFile(path, []byte("[[rate]]\ncauses = [\"damp-cake\"]\ntimes = 2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"judge":  {"judge", "--experience", path, sparse, "log.csv"},
		"import": {"import", "--data", dir, "--collector", sparse},
		"serve":  {"serve", "--data", dir},
	} {
		_, stderr, code := do(t, args...)
		if code != exitUnusable || !strings.Contains(stderr, experienceFile+", line 2, column 1: causes: there is no cause \"damp-cake\"") {
			t.Errorf("%s: code %d, %s", name, code, stderr)
		}
	}
}
