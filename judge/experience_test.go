package judge

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// The example in the documentation is read, every line of it.
func TestExperienceOfTheDocumentation(t *testing.T) {
	page, err := os.ReadFile("../docs/experience.md")
	if err != nil {
		t.Fatal(err)
	}
	_, text, _ := strings.Cut(string(page), "```toml\n")
	text, _, _ = strings.Cut(text, "```")
	e, err := ParseExperience("experience.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if len(e.Rates) != 3 || len(e.Checks) != 1 {
		t.Fatalf("%d rates and %d checks", len(e.Rates), len(e.Checks))
	}
	if r := e.Rates[1]; r.Service != "quarry" || r.Times != 6 || len(r.Months) != 4 || r.Months[0] != time.November {
		t.Errorf("second rate %+v", r)
	}
	if r := e.Rates[2]; r.From != 365*24*time.Hour || r.PerYear != 1.5 || r.To != 0 {
		t.Errorf("third rate %+v", r)
	}
	c, known := e.CheckOf("drain-pot")
	if !known || c.Yes[CakeDamp] != 0.8 || c.Else != 0.03 || c.Minutes != 1 || c.Caution != "live" {
		t.Errorf("check %+v", c)
	}
}

// Every fault is a sentence with its place.
func TestExperienceFaults(t *testing.T) {
	rate := func(lines string) string { return "# ours\n[[rate]]\n" + lines }
	check := func(lines string) string {
		return "[[check]]\nid = \"pot\"\ntext = \"Look\"\nfinding = \"wet\"\nminutes = 1\nchances = { cake-damp = 0.8 }\n" + lines
	}
	for name, c := range map[string]struct{ text, says string }{
		"no cause":        {rate("causes = [\"cake-dump\"]\ntimes = 2"), `e.toml, line 3, column 1: causes: there is no cause "cake-dump"; did you mean "cake-damp"?`},
		"none":            {rate("causes = [\"none\"]\ntimes = 2"), `there is no cause "none"`},
		"both":            {rate("times = 2\nper_year = 2"), "e.toml, line 4, column 1: per_year: a rate has either per_year"},
		"neither":         {rate("months = [1]"), "e.toml, line 2, column 3: per_year: a rate has either per_year"},
		"never":           {rate("times = 0"), "line 3, column 1: times: 0 must lie between 0.001 and 1000"},
		"month":           {rate("times = 2\n  months = [0]"), "line 4, column 3: months: 0 is no month"},
		"no unit":         {rate("times = 2\nfilters_from = \"200\""), "line 4, column 1: filters_from: "},
		"turned round":    {rate("times = 2\nfilters_from = \"200 days\"\nfilters_to = \"20 days\""), "line 5, column 1: filters_to:"},
		"unknown key":     {rate("tmies = 2"), `line 3, column 1: there is no key "tmies"; did you mean "times"?`},
		"unknown table":   {"[[rates]]\ntimes = 2", `there is no key "rates"; did you mean "rate"?`},
		"kind":            {rate("times = \"2\""), "line 3, column 9: times takes a number, such as 3"},
		"kind of a list":  {rate("times = 2\nmonths = \"May\""), "line 4, column 10: months takes a list of months"},
		"work":            {check("settled_by = \"sweeping\""), `line 7, column 1: settled_by: there is no work "sweeping"; there are filters, damper`},
		"kind of chance":  {check("[check.chances]\nfan-weak = \"often\""), "chances"},
		"single brackets": {"[rate]\ntimes = 3", "line 1, column 2: each rate begins with a line [[rate]]"},
		"no tables":       {"rate = 3", "line 1, column 8: each rate begins with a line [[rate]]"},
		"no TOML":         {rate("times = = 2"), "line 3, column 9: "},
		"no text":         {"[[rate]]\ntimes = \xff", "plain text"},
		"second of two":   {rate("times = 2\n[[rate]]\ntimes = -1"), "line 5, column 1: times"},
		"caution":         {check("caution = \"careful\""), `line 7, column 1: caution: there is no caution "careful"; there are bin,`},
		"chance":          {check("otherwise = 1"), "line 7, column 1: otherwise: 1 must lie between 0.001 and 0.999"},
		"twice":           {check(check("")), `line 8, column 1: id: there are two checks "pot"`},
		"id":              {strings.Replace(check(""), "\"pot\"", "\"Drain pot\"", 1), `line 2, column 1: id: "Drain pot" is no id`},
		"number of what":  {strings.Replace(check(""), "Look", "Look at %d", 1), "line 3, column 1: text: %d stands for a number"},
		"chances missing": {"[[check]]\nid = \"pot\"\ntext = \"Look\"\nfinding = \"wet\"\nminutes = 1", "line 1, column 3: chances: it says"},
		"no time":         {strings.Replace(check(""), "= 1\n", "= 0\n", 1), "line 5, column 1: minutes: 0 must lie"},
	} {
		_, err := ParseExperience("e.toml", []byte(c.text))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v\nwant %s", name, err, c.says)
		}
	}
}

// A rate holds for the causes, collectors, months and ages of filters it names, and the last one that holds counts.
func TestRates(t *testing.T) {
	at := time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC)
	old := func(days int) time.Time { return at.AddDate(0, 0, -days) }
	damp, _ := CauseOf(CakeDamp)
	for name, c := range map[string]struct {
		rates     []Rate
		service   string
		installed time.Time
		changed   time.Time
		want      float64
	}{
		"nothing said":       {nil, "", old(10), time.Time{}, 1},
		"times":              {[]Rate{{Times: 3}}, "", old(10), time.Time{}, 3},
		"per year":           {[]Rate{{PerYear: 2 * damp.Rate}}, "", old(10), time.Time{}, 2},
		"another cause":      {[]Rate{{Causes: []Cause{FanWeak}, Times: 3}}, "", old(10), time.Time{}, 1},
		"this cause":         {[]Rate{{Causes: []Cause{FanWeak, CakeDamp}, Times: 3}}, "", old(10), time.Time{}, 3},
		"month":              {[]Rate{{Months: []time.Month{12, 1}, Times: 3}}, "", old(10), time.Time{}, 3},
		"another month":      {[]Rate{{Months: []time.Month{12, 2}, Times: 3}}, "", old(10), time.Time{}, 1},
		"service":            {[]Rate{{Service: "quarry", Times: 3}}, "Quarry, crusher 2", old(10), time.Time{}, 3},
		"another service":    {[]Rate{{Service: "quarry", Times: 3}}, "Saw", old(10), time.Time{}, 1},
		"old filters":        {[]Rate{{From: 200 * 24 * time.Hour, Times: 3}}, "", old(300), time.Time{}, 3},
		"too young":          {[]Rate{{From: 200 * 24 * time.Hour, Times: 3}}, "", old(100), time.Time{}, 1},
		"too old":            {[]Rate{{To: 200 * 24 * time.Hour, Times: 3}}, "", old(300), time.Time{}, 1},
		"changed since":      {[]Rate{{To: 200 * 24 * time.Hour, Times: 3}}, "", old(300), old(100), 3},
		"age not known":      {[]Rate{{To: 200 * 24 * time.Hour, Times: 3}}, "", time.Time{}, time.Time{}, 1},
		"last counts":        {[]Rate{{Times: 3}, {Times: 5}}, "", old(10), time.Time{}, 5},
		"last that is meant": {[]Rate{{Times: 3}, {Service: "saw", Times: 5}}, "", old(10), time.Time{}, 3},
	} {
		machine := &collector.Collector{Service: c.service}
		machine.Filters.Installed = c.installed
		f := &sense.Features{At: at}
		if !c.changed.IsZero() {
			f.Lives = []sense.Life{{Start: c.changed, StartKnown: true}}
		}
		e := Experience{Rates: c.rates}
		if got := e.times(damp, machine, f); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %v times as often, want %v", name, got, c.want)
		}
	}
}

// The odds of a cause against nothing being wrong move by its rate over the list's, those of all others stay, and where the
// cause comes first a reason says so.
func TestRateMovesTheOdds(t *testing.T) {
	in := Input{Collector: bare(t), Features: &sense.Features{}}
	odds := func(r Result, c Cause) float64 { return of(r, c) / of(r, None) }
	before := Judge(in)
	in.Experience.Rates = []Rate{{Causes: []Cause{CakeDamp}, Times: 1000}}
	after := Judge(in)
	if got, want := odds(after, CakeDamp), 1000*odds(before, CakeDamp); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("odds %v, want %v", got, want)
	}
	if got, want := odds(after, FanWeak), odds(before, FanWeak); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("odds of another cause %v, want %v", got, want)
	}
	said := false
	for _, r := range after.Reasons {
		said = said || r.Text.String() == "at this plant it comes up 1000 times as often as usual"
	}
	if after.Causes[0].Cause != CakeDamp || !said {
		t.Errorf("first %s, reasons %v", after.Causes[0].Cause, after.Reasons)
	}
}

// A plant's own check is proposed where it tells most per minute, its answer moves the causes, and one with an id of the
// list takes that one's place.
func TestOwnCheck(t *testing.T) {
	in := Input{Collector: bare(t), Features: &sense.Features{}}
	in.Experience = Experience{
		Rates:  []Rate{{Causes: []Cause{CakeDamp}, Times: 60}},
		Checks: []CheckEntry{{ID: "pot", Text: "Look", Finding: "wet", Minutes: 0.2, Caution: "live", Yes: map[Cause]float64{CakeDamp: 0.99}, Else: 0.01}, {ID: "doors", Minutes: 77}},
	}
	before := Judge(in)
	if before.Next == nil || before.Next.ID != "pot" {
		t.Fatalf("next check %+v", before.Next)
	}
	in.Answers = []Answer{{Check: "pot", Yes: true}}
	if after := Judge(in); of(after, CakeDamp) <= of(before, CakeDamp) || after.Next != nil && after.Next.ID == "pot" {
		t.Errorf("cake damp went from %v to %v, next %+v", of(before, CakeDamp), of(after, CakeDamp), after.Next)
	}
	if c, _ := in.Experience.CheckOf("doors"); c.Minutes != 77 || len(in.Experience.AllChecks()) != len(Checks())+1 {
		t.Errorf("doors takes %v minutes, %d checks", c.Minutes, len(in.Experience.AllChecks()))
	}
}

// Any text is read or refused.
func FuzzParseExperience(f *testing.F) {
	f.Add("[[rate]]\ntimes = 2\n[[check]]\nid = \"a\"\nchances = { cake-damp = 0.8 }")
	f.Add("[[check]]\n[check.chances]\ncake-damp = 2")
	f.Add("[rate]\ntimes = 2")
	f.Fuzz(func(t *testing.T, text string) {
		e, err := ParseExperience("e.toml", []byte(text))
		if err != nil {
			return
		}
		for _, c := range e.Checks {
			Caution(c.Caution)
			if !(c.Minutes > 0) || !(c.Else > 0 && c.Else < 1) {
				t.Errorf("%q: check %+v", text, c)
			}
		}
		for _, r := range e.Rates {
			if (r.PerYear > 0) == (r.Times > 0) {
				t.Errorf("%q: rate %+v", text, r)
			}
		}
	})
}
