package judge

import (
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

func TestRatiosAndHoursAreSaidAsPeopleDo(t *testing.T) {
	for r, want := range map[float64]string{1.2: "20 % above", 0.8: "20 % below", 0.5: "half", 0.15: "15 % of", 0.012: "1.2 % of", 2: "twice", 5.8: "5.8 times"} {
		if got := against(r); got != want {
			t.Errorf("a ratio of %g is %q, want %q", r, got, want)
		}
	}
	for h, want := range map[float64]string{0.3: "less than an hour", 1.2: "an hour", 2.4: "2 hours", 30: "30 hours"} {
		if got := hoursText(h); got != want {
			t.Errorf("%g h is %q, want %q", h, got, want)
		}
	}
	if got := print(unit.KindPressure, 0.02, unit.US); got != "0.0 in. w.g." {
		t.Errorf("hardly any pressure is %q", got)
	}
}

// A morning on which nothing was cleaned yet does not end what was so the day before, where it cleans now.
func TestCleaningThatHardlyStopsOutlastsAMorning(t *testing.T) {
	at := time.Date(2026, 10, 5, 12, 0, 0, 0, time.UTC) // a Monday
	for name, c := range map[string]struct {
		now, fresh, before float64
		days               int // the day before was so many days ago
		want               bool
	}{
		"a morning":      {0.4, 0.9, 0.85, 3, true},
		"it has stopped": {0.4, 0.2, 0.85, 3, false},
		"new today":      {0.4, 0.9, 0.1, 3, false},
		"long ago":       {0.4, 0.9, 0.85, 9, false},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Cleaning.Mode = collector.OnDemand
		f := in.Features
		f.At = at
		m := f.Get(sense.CleaningShare)
		m.Now, m.Fresh, m.Normal = sense.Estimate{Value: c.now, N: 9}, sense.Estimate{Value: c.fresh, N: 9}, sense.Estimate{Value: 0.1, N: 9}
		day := sense.Day{Start: at.Truncate(24*time.Hour).AddDate(0, 0, -c.days), Hours: 16}
		day.Value[sense.CleaningShare] = c.before
		today := sense.Day{Start: at.Truncate(24 * time.Hour), Hours: 6}
		today.Value[sense.CleaningShare] = c.now
		f.Days = []sense.Day{day, {Start: day.Start.AddDate(0, 0, 1)}, today}
		if got := standing(in, []Probability{{None, 0, 1}}) == Drifting; got != c.want {
			t.Errorf("%s: drifting %v, want %v", name, got, c.want)
		}
		if got := strings.Contains(reasons(in, hypothesis{cause: None}, nil)[0].Text.String(), "85 % of the running time"); got != c.want {
			t.Errorf("%s: told %v, want %v", name, got, c.want)
		}
	}
}

// A collector that cleans most of the time is not said to clean once in days, and one whose fan never ran not to have been read
// too little.
func TestWhatIsCalmIsSaidAsItIs(t *testing.T) {
	in := Input{Collector: collector.New(), Features: valveSeen(1)}
	f := in.Features
	f.Get(sense.DPRaw).Now = sense.Estimate{Value: 3 * unit.InchWater, N: 9}
	f.Get(sense.CyclesPerHour).Now = sense.Estimate{Value: 0, N: 9}
	m := f.Get(sense.CleaningShare)
	m.Now, m.Normal = sense.Estimate{Value: 0.78, N: 9}, sense.Estimate{Value: 0.75, N: 9}
	seen := []sight{{"raw", 1, nil}}
	const busy = "the dP runs at 3.0 in. w.g., and it cleans 78 % of the running time, as before"
	if got := calm(in, seen)[0].Text.String(); got != busy {
		t.Errorf("%q, want %q", got, busy)
	}
	f.Days, f.Idle = []sense.Day{{Hours: 0}}, 200*time.Hour
	if got := calm(in, seen)[0].Text.String(); !strings.HasPrefix(got, "the fan stood through all that was read") {
		t.Errorf("the fan never ran: %q", got)
	}
	f.Days[0].Hours = 3
	if got := calm(in, seen)[0].Text.String(); got != busy {
		t.Errorf("the fan ran once: %q", got)
	}
}
