package feed

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"dustwright/sense"
	"dustwright/unit"
)

// TestOverlap: two exports that overlap are one history; the later file is believed where they
// disagree, and empty cells take nothing away.
func TestOverlap(t *testing.T) {
	a := write(t, "a.csv", "time,dp[Pa],pulse\n2026-03-02T07:00:00Z,1,\n2026-03-02T07:01:00Z,2,1\n2026-03-02T07:02:00Z,3,2 3\n2026-03-02T07:03:00Z,4,4\n")
	b := write(t, "b.csv", "time,dp[Pa],header[Pa],pulse\n2026-03-02T07:02:00Z,3,9,\n2026-03-02T07:03:00Z,5,9,5\n2026-03-02T07:04:00Z,6,9,6\n")
	c := write(t, "c.csv", "time,dp[Pa]\n2026-03-02T07:02:30Z,7\n2026-03-02T07:03:00Z,\n")
	s, report, err := Read(context.Background(), []string{a, b, c}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	wantDP, wantHeader := []float64{1, 2, 3, 7, 5, 6}, []float64{nan, nan, 9, nan, 9, 9}
	for i := range wantDP {
		if s.Col[sense.DP][i] != wantDP[i] || s.Col[sense.Header][i] != wantHeader[i] && !math.IsNaN(wantHeader[i]) {
			t.Errorf("row %d: dp %v, header %v", i, s.Col[sense.DP][i], s.Col[sense.Header][i])
		}
	}
	fired := []sense.Firing{{Row: 1, Valve: 1}, {Row: 2, Valve: 2}, {Row: 2, Valve: 3}, {Row: 4, Valve: 5}, {Row: 5, Valve: 6}}
	if diff := cmp.Diff(fired, s.Pulses); diff != "" {
		t.Errorf("firings (-want +got):\n%s", diff)
	}
	if report.Duplicates != 3 || report.Conflicts != 1 || report.OutOfOrder != 0 || report.Rows != 6 {
		t.Errorf("report: %+v", report)
	}
	// The other way round the first file is believed.
	s, _, err = Read(context.Background(), []string{c, b, a}, Options{})
	if err != nil || s.Col[sense.DP][4] != 4 {
		t.Errorf("files turned round: %v, dp %v", err, s.Col[sense.DP])
	}
}

// pieced reads with Stream and puts the pieces together.
func pieced(t testing.TB, paths []string, opts Options) (*sense.Series, *Report, int, error) {
	t.Helper()
	var whole *sense.Series
	begins := 0
	report, err := Stream(context.Background(), paths, opts, func() func(*sense.Series) error {
		begins++
		whole = &sense.Series{}
		return func(s *sense.Series) error {
			base := len(whole.Time)
			whole.Zone = s.Zone
			whole.Time = append(whole.Time, s.Time...)
			for c := range sense.NumChannels {
				if s.Col[c] == nil {
					continue
				}
				if whole.Col[c] == nil {
					whole.Col[c] = missingRows(base, c)
				}
				whole.Col[c] = append(whole.Col[c], s.Col[c]...)
			}
			for _, f := range s.Pulses {
				whole.Pulses = append(whole.Pulses, sense.Firing{Row: f.Row + int32(base), Valve: f.Valve})
			}
			return nil
		}
	})
	return whole, report, begins, err
}

// TestStreamIsRead: the pieces of Stream make the series of Read, for logs in order and others.
func TestStreamIsRead(t *testing.T) {
	dir := t.TempDir()
	year := filepath.Join(dir, "year.csv")
	writeYear(t, year, 40000)
	data, err := os.ReadFile(year)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(data), "\n")
	head, body := lines[0], lines[1:len(lines)-1]
	file := func(name string, lines ...[]string) string {
		text := head
		for _, l := range lines {
			text += strings.Join(l, "")
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	first, second, overlap := file("1.csv", body[:20000]), file("2.csv", body[20000:]), file("3.csv", body[19999:])
	local := file("local.csv")
	if err := os.WriteFile(local, []byte(strings.ReplaceAll(string(data), "-06:00", "")), 0o600); err != nil {
		t.Fatal(err)
	}
	cases := map[string]struct {
		paths  []string
		begins int
		zone   *time.Location // nil: Chicago
	}{
		"a clock that ignores daylight saving": {[]string{local}, 2, nil},

		"one file":          {[]string{year}, 1, nil},
		"two files":         {[]string{first, second}, 1, nil},
		"turned round":      {[]string{second, first}, 1, nil},
		"one row shared":    {[]string{first, overlap}, 1, nil},
		"shared, turned":    {[]string{overlap, first}, 2, nil},
		"overlapping":       {[]string{year, second}, 2, nil},
		"rows repeated":     {[]string{file("4.csv", body[:20000], body[19990:])}, 1, nil},
		"a late block":      {[]string{file("5.csv", body[:10000], body[30000:], body[10000:30000])}, 2, nil},
		"local times":       {[]string{local}, 1, time.FixedZone("", -7*3600)},
		"gzip":              {[]string{write(t, "year.gz", zipped(t, string(data)))}, 1, nil},
		"dates either way":  {[]string{write(t, "d.csv", "time,dp[Pa]\n3/2/2026 7:00,1\n3/3/2026 7:00,2\n")}, 2, nil},
		"contract, one row": {[]string{"testdata/contract.csv"}, 1, nil},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			opts := Options{Zone: chicago(t)}
			if c.zone != nil {
				opts.Zone = c.zone
			}
			want, wantReport, err := Read(context.Background(), c.paths, opts)
			if err != nil {
				t.Fatal(err)
			}
			got, report, begins, err := pieced(t, c.paths, opts)
			if err != nil {
				t.Fatal(err)
			}
			if begins != c.begins {
				t.Errorf("begun %d times, want %d", begins, c.begins)
			}
			sameRows(t, got, want, 0)
			if report.Rows != wantReport.Rows || report.Duplicates != wantReport.Duplicates || report.OutOfOrder != wantReport.OutOfOrder || report.FaultCount != wantReport.FaultCount {
				t.Errorf("report %+v, want %+v", report, wantReport)
			}
		})
	}
}

// TestStreamStops: an error of the taker ends the reading and comes back as it is.
func TestStreamStops(t *testing.T) {
	path := filepath.Join(t.TempDir(), "year.csv")
	writeYear(t, path, 60000)
	full := errors.New("full")
	pieces := 0
	_, err := Stream(context.Background(), []string{path}, Options{}, func() func(*sense.Series) error {
		return func(*sense.Series) error { pieces++; return full }
	})
	if !errors.Is(err, full) || pieces != 1 {
		t.Errorf("got %v after %d pieces", err, pieces)
	}
}

// Pulses that the log counts and puts to no valve, by a column of their own, by a mapping or among the numbers of valves, are
// counts and no firings, and writing them and reading them back changes nothing.
func TestPulsesThatAreCounted(t *testing.T) {
	mapping, err := ParseMapping("m.toml", []byte("[columns]\n\"Puls\" = \"pulse_count\"\n\"dp\" = \"dp[Pa]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	scaled, err := ParseMapping("m.toml", []byte("[columns]\n\"Puls\" = { channel = \"pulse_count\", scale = 0.5, offset = -1.0 }\n\"dp\" = \"dp[Pa]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	for name, c := range map[string]struct {
		log  string
		opts Options
		want []float64
	}{
		"scaled":  {"time,dp,Puls\n2026-03-02T07:00:00Z,1,8\n2026-03-02T07:01:00Z,2,2\n", Options{Mapping: scaled}, []float64{3, 0}},
		"column":  {"time,dp[Pa],Pulse count\n2026-03-02T07:00:00Z,1,0\n2026-03-02T07:01:00Z,2,3\n2026-03-02T07:02:00Z,3,\n2026-03-02T07:03:00Z,3,12\n", Options{}, []float64{0, 3, nan, 12}},
		"mapping": {"time,dp,Puls\n2026-03-02T07:00:00Z,1,4\n2026-03-02T07:01:00Z,2,0\n", Options{Mapping: mapping}, []float64{4, 0}},
		"cells":   {"time,dp[Pa],pulse\n2026-03-02T07:00:00Z,1,x3\n2026-03-02T07:01:00Z,2,\n2026-03-02T07:02:00Z,3,nan\n", Options{}, []float64{3, 0, nan}},
	} {
		t.Run(name, func(t *testing.T) {
			s, report, err := Read(context.Background(), []string{write(t, "a.csv", c.log)}, c.opts)
			if err != nil || len(report.Sentences(9)) > 0 {
				t.Fatalf("%v, %v", err, report.Sentences(9))
			}
			if diff := cmp.Diff(c.want, s.Col[sense.Pulse], cmpopts.EquateNaNs()); diff != "" || len(s.Pulses) > 0 {
				t.Errorf("%d firings, counts (-want +got):\n%s", len(s.Pulses), diff)
			}
			var text strings.Builder
			if err := WriteCSV(&text, s, unit.SI); err != nil {
				t.Fatal(err)
			}
			again, _, err := Read(context.Background(), []string{write(t, "b.csv", text.String())}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, again.Col[sense.Pulse], cmpopts.EquateNaNs()); diff != "" {
				t.Errorf("read back (-want +got):\n%s%s", diff, text.String())
			}
		})
	}
	_, report, err := Read(context.Background(), []string{write(t, "c.csv", "time,dp[Pa],pulse\n2026-03-02T07:00:00Z,1,xa\n")}, Options{})
	if says := strings.Join(report.Sentences(9), "\n"); err != nil || !strings.Contains(says, "is no list of valve numbers") {
		t.Errorf("%v, %q", err, says)
	}
}

// A foreign column that counts pulses is offered as such a count, one that names a valve as firings.
func TestCounterIsOfferedAsACount(t *testing.T) {
	for name, want := range map[string]string{"Pulse counter": "pulse_count", "No. of valves": "pulse_count", "Valve": "pulse", "Pulsing": "pulse", "Part count": ""} {
		if got := nearestChannel(name); got != want {
			t.Errorf("%q: %q is offered, want %q", name, got, want)
		}
	}
}
