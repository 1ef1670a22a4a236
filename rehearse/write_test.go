package rehearse

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"dustwright/unit"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if runtime.GOARCH != "amd64" {
		t.Skip("golden logs hold the last digits of one processor family")
	}
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s differs; if that is meant, run the test with -update and look at the difference", path)
	}
}

// A day's log of every channel, in both systems of units, in the format of the contract.
func TestLogGolden(t *testing.T) {
	c := contract(t)
	for name, sys := range map[string]unit.System{"log_us.csv": unit.US, "log_si.csv": unit.SI} {
		o := NewOptions(c)
		o.Start = time.Date(2026, 3, 3, 0, 0, 0, 0, time.FixedZone("CST", -6*3600))
		o.Length, o.Sample, o.Channels = days(1), 10*time.Minute, AllChannels()
		o.Instruments = map[Channel]Instrument{DP: {Dropout: 0.1}}
		var b bytes.Buffer
		rec, err := NewCSV(&b, o.Channels, sys, o.Start.Location())
		if err != nil {
			t.Fatal(err)
		}
		o.Recorder = rec
		run(t, c, o)
		golden(t, name, b.Bytes())
	}
}

// What is written reads back as the same quantities.
func TestLogReadsBack(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.Sample, o.Channels = days(2), true, 7*time.Minute, AllChannels()
	var b bytes.Buffer
	rec, err := NewCSV(&b, o.Channels, unit.US, nil)
	if err != nil {
		t.Fatal(err)
	}
	o.Recorder = rec
	r := run(t, c, o)
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	head := strings.Split(lines[0], ",")
	if len(lines)-1 != len(r.Series.Time) {
		t.Fatalf("%d lines, %d rows", len(lines)-1, len(r.Series.Time))
	}
	for i, line := range lines[1:] {
		cells := strings.Split(line, ",")
		at, err := time.Parse(time.RFC3339, cells[0])
		if err != nil || at.UnixNano() != r.Series.Time[i] {
			t.Fatalf("row %d: time %q, %v", i, cells[0], err)
		}
		for k, name := range head[1:] {
			name, symbol, _ := strings.Cut(strings.TrimSuffix(name, "]"), "[")
			ch, ok := ParseChannel(name)
			want := r.Series.Col[ch][i]
			if !ok || ch == Pulse || (cells[k+1] == "") != math.IsNaN(want) {
				if ch != Pulse {
					t.Fatalf("row %d: cell %q of %s, truth %g", i, cells[k+1], name, want)
				}
				continue
			}
			if cells[k+1] == "" {
				continue
			}
			v, err := strconv.ParseFloat(cells[k+1], 64)
			if err != nil {
				t.Fatal(err)
			}
			tol := 0.05
			if symbol != "" {
				kind, _, decimals := unitsOf(ch, unit.US)
				u, err := unit.Lookup(kind, symbol)
				if err != nil {
					t.Fatal(err)
				}
				v, tol = v*u.Factor+u.Offset, 0.5001*u.Factor*math.Pow(10, -float64(decimals))
			}
			if math.Abs(v-want) > tol*(1+1e-9)+1e-12 {
				t.Fatalf("row %d %s: %q is %g, want %g", i, head[k+1], cells[k+1], v, want)
			}
		}
	}
}

func TestFixed(t *testing.T) {
	for _, x := range []struct {
		v    float64
		d    int
		want string
	}{{0, 0, "0"}, {1.005, 2, "1.00"}, {-0.004, 2, "0.00"}, {-3.519, 2, "-3.52"}, {12345.6789, 3, "12345.679"}, {999.95, 1, "1000.0"}, {1e18, 1, "1000000000000000000.0"}} {
		if got := string(fixed(nil, x.v, x.d)); got != x.want {
			t.Errorf("%g with %d decimals: %q, want %q", x.v, x.d, got, x.want)
		}
	}
}

func TestTruthIsJSON(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Sample = days(10), 0
	f, err := ParseFault("valve-weak:2@3d:0.4", o.Start)
	if err != nil {
		t.Fatal(err)
	}
	f.Until = days(8)
	o.Faults = []Fault{f}
	o.Events = []Event{{Kind: SetPoints, After: days(2), Value: math.NaN(), Second: 900}, {Kind: Drift, After: days(1), Until: days(4), Value: 1, Channel: DP}}
	r := run(t, c, o)
	var b bytes.Buffer
	if err := r.WriteTruth(&b); err != nil {
		t.Fatal(err)
	}
	var back struct {
		Faults []struct {
			Cause       string
			Number      int
			From, Until time.Time
		}
		Events []struct{ Kind, Channel string }
		Daily  []struct{ Pulses int }
	}
	if err := json.Unmarshal(b.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if f := back.Faults[0]; f.Cause != ValveWeak || f.Number != 2 || !f.From.Equal(o.Start.Add(days(3))) || !f.Until.Equal(o.Start.Add(days(8))) {
		t.Errorf("fault %+v", f)
	}
	if len(back.Daily) < 10 || back.Events[0].Channel != "dp" {
		t.Errorf("%d days, events %+v", len(back.Daily), back.Events)
	}
	if _, err := json.Marshal(r.Summary); err != nil {
		t.Error(err)
	}
}

// A zone half an hour off and rows within the second are written in full.
func TestOddTimes(t *testing.T) {
	var b bytes.Buffer
	rec, err := NewCSV(&b, []Channel{DP}, unit.SI, time.FixedZone("", 5*3600+1800))
	if err != nil {
		t.Fatal(err)
	}
	for _, ns := range []int64{0, 90e9, 3600e9, 3600e9 + 250e6} {
		row := Row{Unix: ns}
		if err := rec.Record(&row); err != nil {
			t.Fatal(err)
		}
	}
	want := "time,dp[Pa]\n1970-01-01T05:30:00+05:30,0\n1970-01-01T05:31:30+05:30,0\n1970-01-01T06:30:00+05:30,0\n1970-01-01T06:30:00.25+05:30,0\n"
	if b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}
