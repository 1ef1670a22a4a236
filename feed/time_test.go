package feed

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestTimes: the usual spellings of times, one row each. Times without an offset are of Chicago.
func TestTimes(t *testing.T) {
	zone := chicago(t)
	cases := []struct{ cell, want string }{
		{"2026-03-02T07:00:00-06:00", "2026-03-02T13:00:00Z"},
		{"2026-03-02T07:00:00Z", "2026-03-02T07:00:00Z"},
		{"2026-03-02t07:00:00z", "2026-03-02T07:00:00Z"},
		{"2026-03-02T07:00:00.123456789-06:00", "2026-03-02T13:00:00.123456789Z"},
		{"2026-03-02T07:00:00.5+05:30", "2026-03-02T01:30:00.5Z"},
		{"2026-03-02T07:00:00-0600", "2026-03-02T13:00:00Z"},
		{"2026-03-02T07:00:00-06", "2026-03-02T13:00:00Z"},
		{"2026-03-02 07:00:00 -0600", "2026-03-02T13:00:00Z"},
		{"2026-03-02 07:00:00 UTC", "2026-03-02T07:00:00Z"},
		{"2026-03-02 07:00", "2026-03-02T13:00:00Z"},
		{"2026-03-02 07:00:00", "2026-03-02T13:00:00Z"},
		{"2026-07-02 07:00:00", "2026-07-02T12:00:00Z"}, // daylight saving
		{"2026-03-02 7:00", "2026-03-02T13:00:00Z"},
		{"2026-03-02 24:00", "2026-03-03T06:00:00Z"},
		{"2026-03-02", "2026-03-02T18:00:00Z"}, // a date alone stands for noon
		{"2026/03/02 07:00", "2026-03-02T13:00:00Z"},
		{"2026.03.02 07:00:00,250", "2026-03-02T13:00:00.25Z"},
		{"02.03.2026 07:00", "2026-03-02T13:00:00Z"},
		{"2.3.26 7:00", "2026-03-02T13:00:00Z"},
		{"3/22/2026 7:00 AM", "2026-03-22T12:00:00Z"},
		{"3/22/2026 12:30:00 a.m.", "2026-03-22T05:30:00Z"},
		{"3/22/26 12:30 PM", "2026-03-22T17:30:00Z"},
		{"22/3/2026 19:00", "2026-03-23T00:00:00Z"},
		{"3/3/2026 7:00 AM", "2026-03-03T13:00:00Z"},
		{"02-Mar-2026 07:00:00", "2026-03-02T13:00:00Z"},
		{"2 March 2026 07:00", "2026-03-02T13:00:00Z"},
		{"Mar 2, 2026 7:00 AM", "2026-03-02T13:00:00Z"},
		{"2. Dez. 2026 07:00", "2026-12-02T13:00:00Z"},
		{"20260302T070000Z", "2026-03-02T07:00:00Z"},
		{"20260302 0700", "2026-03-02T13:00:00Z"},
		{"20260302070000", "2026-03-02T13:00:00Z"},
		{"1772456400", "2026-03-02T13:00:00Z"},
		{"1772456400.25", "2026-03-02T13:00:00.25Z"},
		{"1772456400000", "2026-03-02T13:00:00Z"},
		{"46083.2916666667", "2026-03-02T13:00:00Z"},
		{"2024-02-29 07:00", "2024-02-29T13:00:00Z"},
		{"2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z"},
	}
	for _, c := range cases {
		t.Run(c.cell, func(t *testing.T) {
			s, report := readText(t, "time\tdp[Pa]\n"+c.cell+"\t1\n", Options{Zone: zone})
			if report.FaultCount > 0 {
				t.Fatal(report.Sentences(9))
			}
			if got := time.Unix(0, s.Time[0]).UTC().Format(time.RFC3339Nano); got != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
}

func TestNoTimes(t *testing.T) {
	for _, cell := range []string{
		"", "soon", "07:00", "2026-02-29 07:00", "2026-13-02 07:00", "2026-03-02 25:00", "2026-03-02 07:61", "2026-03-02 13:00 PM",
		"2026-03-02 07:00 and a bit", "1970-01-01 00:00", "1969", "3/2", "32.1.2026", "2026-03-02T07:00:00-99:00", "99999999999999999999", "-5", "0.5",
	} {
		if m, ok := looseTime([]byte(cell), monthFirst); ok {
			t.Errorf("%q: read as %s, want no time", cell, time.Unix(0, m.ns).UTC())
		}
	}
}

// TestDayAndMonth: whether day or month stands first is decided over the whole column.
func TestDayAndMonth(t *testing.T) {
	rows := func(cells ...string) string {
		text := "time;dp[Pa]\n"
		for i, c := range cells {
			text += fmt.Sprintf("%s;%d\n", c, i+1)
		}
		return strings.ReplaceAll(text, ";", ",")
	}
	cases := map[string]struct {
		text, first, last string
		told              bool
	}{
		"proved month":           {rows("3/2/2026 7:00", "3/13/2026 7:00"), "2026-03-02", "2026-03-13", false},
		"proved day":             {rows("3/2/2026 7:00", "13/2/2026 7:00"), "2026-02-03", "2026-02-13", false},
		"days follow each other": {rows("1/2/2026 7:00", "2/2/2026 7:00", "3/2/2026 7:00", "4/2/2026 7:00"), "2026-02-01", "2026-02-04", false},
		"months would be gaps":   {rows("2/1/2026 7:00", "2/2/2026 7:00", "2/3/2026 7:00", "2/4/2026 7:00"), "2026-02-01", "2026-02-04", false},
		"one day only":           {rows("3/2/2026 7:00", "3/2/2026 7:01"), "2026-03-02", "2026-03-02", true},
		"one day, semicolons":    {strings.ReplaceAll(rows("3/2/2026 7:00", "3/2/2026 7:01"), ",", ";"), "2026-02-03", "2026-02-03", true},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			s, report := readText(t, c.text, Options{Zone: time.UTC})
			if s.Time[0] > s.Time[s.Len()-1] {
				t.Fatal("not in order")
			}
			first, last := s.When(0).Format("2006-01-02"), s.When(s.Len()-1).Format("2006-01-02")
			if first != c.first || last != c.last {
				t.Errorf("got %s to %s, want %s to %s", first, last, c.first, c.last)
			}
			told := false
			for _, n := range report.Notes {
				told = told || strings.Contains(n, "nothing in the dates tells day from month")
			}
			if told != c.told {
				t.Errorf("told of the doubt: %v, want %v: %v", told, c.told, report.Notes)
			}
		})
	}
}

// TestDaylightSaving: a log of a clock on the wall through both changes is a log without gap, jump or
// double row.
func TestDaylightSaving(t *testing.T) {
	zone := chicago(t)
	for _, change := range []time.Time{time.Date(2026, 3, 8, 8, 0, 0, 0, time.UTC), time.Date(2026, 11, 1, 7, 0, 0, 0, time.UTC)} {
		for _, step := range []time.Duration{time.Minute, 10 * time.Minute, time.Hour} {
			for _, falling := range []bool{false, true} {
				var want []int64
				var rows []string
				for at := change.Add(-30 * time.Hour); at.Before(change.Add(30 * time.Hour)); at = at.Add(step) {
					want = append(want, at.UnixNano())
					rows = append(rows, at.In(zone).Format("2006-01-02 15:04:05")+",1")
				}
				if falling {
					for i, j := 0, len(rows)-1; i < j; i, j = i+1, j-1 {
						rows[i], rows[j] = rows[j], rows[i]
					}
				}
				s, report := readText(t, "time,dp[Pa]\n"+strings.Join(rows, "\n"), Options{Zone: zone})
				if len(s.Time) != len(want) {
					t.Fatalf("change %s, step %s: %d rows, want %d; %v", change, step, len(s.Time), len(want), report.Sentences(9))
				}
				for i := range want {
					if s.Time[i] != want[i] {
						t.Fatalf("change %s, step %s, falling %v: row %d is %s, want %s", change, step, falling, i, s.When(i), time.Unix(0, want[i]).In(zone))
					}
				}
			}
		}
	}
}

func TestSkippedHour(t *testing.T) {
	text := "time,dp[Pa]\n2026-03-08 01:30,1\n2026-03-08 02:30,2\n2026-03-08 04:30,3\n"
	s, report := readText(t, text, Options{Zone: chicago(t)})
	if got := s.When(1).Format(time.RFC3339); got != "2026-03-08T03:30:00-05:00" {
		t.Errorf("got %s", got)
	}
	want := "1 time lies in an hour that daylight saving skips in America/Chicago, the first at 2026-03-08 02:30; if the logger's clock does not follow " +
		"daylight saving, give its offset as zone in a mapping, for example zone = \"-06:00\""
	if len(report.Notes) < 1 || !strings.HasSuffix(report.Notes[0], want) {
		t.Errorf("got %q, want the end to be %q", report.Notes, want)
	}
}

// TestMixedOffsets: some rows with, some without an offset are one clock.
func TestMixedOffsets(t *testing.T) {
	for _, text := range []string{
		"time,dp[Pa]\n2026-07-02 07:00,1\n2026-07-02T07:01:00-05:00,2\n2026-07-02 07:02,3\n",
		"time,dp[Pa]\n2026-07-02T07:00:00-05:00,1\n2026-07-02 07:01,2\n2026-07-02T07:02:00-05:00,3\n",
	} {
		s, report := readText(t, text, Options{Zone: chicago(t)})
		for i := range 3 {
			if got, want := s.When(i).Format(time.RFC3339), fmt.Sprintf("2026-07-02T07:0%d:00-05:00", i); got != want {
				t.Errorf("row %d: got %s, want %s; %v", i, got, want, report.Notes)
			}
		}
	}
}

// TestSparseHandLog: one or two readings a day, dates only, as a person writes them down.
func TestSparseHandLog(t *testing.T) {
	text := "date;dp\n;in.w.g.\n02.03.2026;1,9\n02.03.2026;2,1\n03.03.2026;2,0\n05.03.2026;\n06.03.2026;2,2\n"
	s, report := readText(t, text, Options{Zone: time.UTC})
	var got []string
	for i := range s.Time {
		got = append(got, fmt.Sprintf("%s %.4g", s.When(i).Format("01-02 15:04"), s.Col[0][i]/249.08891))
	}
	want := "03-02 08:00 1.9, 03-02 16:00 2.1, 03-03 12:00 2, 03-05 12:00 NaN, 03-06 12:00 2.2"
	if strings.Join(got, ", ") != want || report.FaultCount != 0 {
		t.Errorf("got %s, want %s; %v", strings.Join(got, ", "), want, report.Sentences(9))
	}
}

// TestDateAndClock: date and time of day in two columns, also as a spreadsheet keeps them.
func TestDateAndClock(t *testing.T) {
	for _, text := range []string{
		"Date,Time,dp[Pa]\n2026-03-02,07:00,1\n",
		"Time,Date,dp[Pa]\n7:00 AM,3/2/2026,1\n",
		"date,time,dp[Pa]\n46083,0.2916666667,1\n",
		"date,time,dp[Pa]\n02.03.2026,2026-03-02 07:00:00,1\n",
	} {
		s, report := readText(t, text, Options{Zone: time.UTC})
		if got := s.When(0).Format(time.RFC3339); got != "2026-03-02T07:00:00Z" {
			t.Errorf("%q: got %s; %v", text, got, report.Sentences(9))
		}
	}
}

// TestZoneOfSeries: the series is shown in the log's own clock.
func TestZoneOfSeries(t *testing.T) {
	cases := []struct{ text, want string }{
		{"time,dp[Pa]\n2026-03-02T07:00:00-06:00,1\n", "2026-03-02T07:00:00-06:00"},
		{"time,dp[Pa]\n2026-03-02T07:00:00Z,1\n", "2026-03-02T07:00:00Z"},
		{"time[UTC],dp[Pa]\n2026-03-02 07:00,1\n", "2026-03-02T07:00:00Z"},
		{"time[America/Chicago],dp[Pa]\n2026-03-02 07:00,1\n", "2026-03-02T07:00:00-06:00"},
		{"time (-06:00),dp[Pa]\n2026-03-02 07:00,1\n", "2026-03-02T07:00:00-06:00"},
	}
	for _, c := range cases {
		s, _ := readText(t, c.text, Options{})
		if got := s.When(0).Format(time.RFC3339); got != c.want {
			t.Errorf("%q: got %s, want %s", c.text, got, c.want)
		}
	}
}

func TestPatterns(t *testing.T) {
	cases := []struct{ pattern, cell, want string }{
		{"YYYY-MM-DD hh:mm:ss", "2026-03-02 07:00:30", "2026-03-02T07:00:30"},
		{"DD.MM.YY hh:mm", "02.03.26 07:00", "2026-03-02T07:00:00"},
		{"YYMMDD hhmm", "260302 0700", "2026-03-02T07:00:00"},
		{"M/D/YYYY h:mm:ss AM", "3/2/2026 7:00:00 pm", "2026-03-02T19:00:00"},
		{"h:mm D/M/YYYY", "7:00 2/3/2026", "2026-03-02T07:00:00"},
		{"DD-MMM-YYYY hh:mm:ss.fff", "02-Mar-2026 07:00:00.250", "2026-03-02T07:00:00.25"},
		{"YYYY-MM-DDThh:mm:ssZ", "2026-03-02T07:00:00+01:00", "2026-03-02T06:00:00"},
		{"DD.MM.YYYY", "02.03.2026", "2026-03-02T00:00:00"},
		{"unix", "1772434800", "2026-03-02T07:00:00"},
		{"unix ms", "1772434800000", "2026-03-02T07:00:00"},
		{"excel", "46083.2916666667", "2026-03-02T07:00:00"},
	}
	for _, c := range cases {
		p, err := newPattern(c.pattern)
		if err != nil {
			t.Errorf("%s: %v", c.pattern, err)
			continue
		}
		m, ok := p.read([]byte(c.cell))
		if got := time.Unix(0, m.ns).UTC().Format("2006-01-02T15:04:05.999"); !ok || got != c.want {
			t.Errorf("%s of %q: got %s %v, want %s", c.pattern, c.cell, got, ok, c.want)
		}
		for _, bad := range []string{"", "x", c.cell + "x", c.cell[1:] + " "} {
			if m, ok := p.read([]byte(bad)); ok {
				t.Errorf("%s of %q: read as %s", c.pattern, bad, time.Unix(0, m.ns).UTC())
			}
		}
	}
	for pattern, want := range map[string]string{
		"yyyy-MM-DD": `the time format "yyyy-MM-DD" has "yyyy", which is no part of a time; the nearest is "YYYY"`,
		"hh:mm":      `the time format "hh:mm" must name year, month and day, for example "YYYY-MM-DD hh:mm"`,
		"DD/DD/YYYY": `the time format "DD/DD/YYYY" names "DD" twice`,
	} {
		if _, err := newPattern(pattern); err == nil || err.Error() != want {
			t.Errorf("%s: got %v, want %s", pattern, err, want)
		}
	}
}

func TestDays(t *testing.T) {
	for n := days(1990, 1, 1); n < days(2199, 12, 31); n++ {
		y, m, d := civil(n)
		at := time.Unix(n*86400, 0).UTC()
		if y != at.Year() || m != int(at.Month()) || d != at.Day() || days(y, m, d) != n || !validDate(y, m, d) {
			t.Fatalf("day %d: got %d-%d-%d, want %s", n, y, m, d, at)
		}
	}
}
