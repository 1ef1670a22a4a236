package plant_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/store"
	"dustwright/unit"
)

const file = `tag = "DC-1"
service = "Weld bay"
[duty]
flow = "4200 cfm"
loading = "0.3 gr/ft3"
bulk_density = "55 lb/ft3"
hours_per_week = 80
[filters]
rows = 6
per_row = 1
area_each = "215 ft2"
clean_dp = "0.7 in.w.g."
max_dp = "6 in.w.g."
[setpoints]
low = "2.0 in.w.g."
high = "4.0 in.w.g."
alarm = "6.0 in.w.g."
[bin]
volume = "55 gal"
`

// clock is a clock that a test turns by hand.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func begin(t *testing.T) (*plant.Service, *store.Store, *clock) {
	t.Helper()
	s, err := store.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	c := &clock{time.Date(2026, 6, 16, 8, 0, 0, 0, time.UTC)}
	return plant.NewService(plant.ServiceOptions{Keeper: s, Now: c.now, Zone: time.UTC}), s, c
}

func record(t *testing.T, id string, at time.Time, body plant.Body) plant.Record {
	t.Helper()
	r, err := plant.NewRecord(body, "DC-1", "a person")
	if err != nil {
		t.Fatal(err)
	}
	r.ID, r.At = id, at
	return r
}

func dp(inches float64) plant.Reading {
	return plant.Reading{Values: map[string]float64{"dp": inches * unit.InchWater}}
}

// handReadings enters a reading a day for n days.
func handReadings(t *testing.T, s *plant.Service, c *clock, n int) {
	t.Helper()
	for i := range n {
		c.t = c.t.AddDate(0, 0, 1)
		if _, err := s.Accept(t.Context(), record(t, "r"+c.t.Format("0102"), c.t, dp(2.5+0.05*float64(i)))); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAReadingIsKeptOnceAndJudgedAtOnce(t *testing.T) {
	s, keep, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	handReadings(t, s, c, 12)
	again := record(t, "r"+c.t.Format("0102"), c.t, dp(9))
	kept, err := s.Accept(t.Context(), again)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(kept[0].Body), "2241") {
		t.Errorf("the second record under one ID took the first one's place: %s", kept[0].Body)
	}
	series, err := keep.Series(t.Context(), "DC-1", time.Time{}, time.Time{}, sense.DP)
	if err != nil {
		t.Fatal(err)
	}
	if series.Len() != 12 {
		t.Errorf("12 readings were entered, %d are in the series", series.Len())
	}
	v, err := s.View(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	o, err := v.Of("DC-1")
	if err != nil {
		t.Fatal(err)
	}
	if o.Judgement == nil || !o.Last.Equal(c.t) {
		t.Fatalf("the judgement is not of the last reading: %+v", o)
	}
	if o.BinDue.IsZero() {
		t.Error("the bin's volume, density and loading are known, and it is not said when it is due")
	}
}

func TestAReadingThatComesLateTakesItsPlace(t *testing.T) {
	s, _, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	handReadings(t, s, c, 5)
	late := record(t, "late", c.t.Add(-36*time.Hour), dp(3))
	if _, err := s.Accept(t.Context(), late); err != nil {
		t.Fatal(err)
	}
	h := history(t, s, "DC-1")
	if h.Rows != 6 || h.Late != 0 {
		t.Errorf("history of %d rows, %d late; want 6 and none", h.Rows, h.Late)
	}
}

func history(t *testing.T, s *plant.Service, tag string) *sense.History {
	t.Helper()
	h, err := s.History(t.Context(), tag)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestRefusedRecordsSayWhatWouldBeRight(t *testing.T) {
	s, _, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]struct {
		do   func(*plant.Record)
		want string
	}{
		"another tag": {func(r *plant.Record) { r.Collector = "DC-2" }, `did you mean "DC-1"`},
		"no ID":       {func(r *plant.Record) { r.ID = "" }, "carries an ID"},
		"next year":   {func(r *plant.Record) { r.At = c.t.AddDate(1, 0, 0) }, "yet to come"},
		"no check":    {func(r *plant.Record) { *r = record(t, "x", c.t, plant.CheckAnswer{Check: "door"}) }, `did you mean "doors"`},
		"no body":     {func(r *plant.Record) { r.Body = json.RawMessage(`{}`) }, "at least one value"},
	} {
		r := record(t, "x", c.t, dp(2))
		change.do(&r)
		_, err := s.Accept(context.Background(), r)
		var refused *plant.Refused
		if !errors.As(err, &refused) || !strings.Contains(refused.Why, change.want) {
			t.Errorf("%s: %v, want %q", name, err, change.want)
		}
	}
}

func TestSetPointsGoIntoTheFileAndACrashIsMadeUpFor(t *testing.T) {
	s, keep, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	handReadings(t, s, c, 3)
	// The program died after the records were kept and before anything followed from them.
	c.t = c.t.Add(time.Hour)
	reading, change := record(t, "a", c.t, dp(3)), record(t, "b", c.t, plant.SetPointChange{Keys: map[string]string{"setpoints.high": "3.5 in.w.g."}})
	reading.Entered, change.Entered = c.t, c.t
	if _, err := keep.Append(t.Context(), reading, change); err != nil {
		t.Fatal(err)
	}
	if err := s.Recover(t.Context()); err != nil {
		t.Fatal(err)
	}
	_, machine, err := s.Machine(t.Context(), "DC-1")
	if err != nil {
		t.Fatal(err)
	}
	if got := machine.SetPoints.High.In(unit.US); got != "3.5 in. w.g." {
		t.Errorf("the high set point is %s, want 3.5 in. w.g.", got)
	}
	if h := history(t, s, "DC-1"); h.Rows != 4 {
		t.Errorf("history of %d rows, want 4", h.Rows)
	}
	// It died before anything followed from a reading that was taken while another one was concluded.
	late := record(t, "c", c.t.Add(time.Hour), dp(3.1))
	late.Entered = c.t.Add(-time.Second)
	if _, err := keep.Append(t.Context(), late); err != nil {
		t.Fatal(err)
	}
	c.t = c.t.Add(2 * time.Hour)
	if err := s.Recover(t.Context()); err != nil {
		t.Fatal(err)
	}
	if h := history(t, s, "DC-1"); h.Rows != 5 {
		t.Errorf("history of %d rows, want 5", h.Rows)
	}
	// What all has followed from stays as it is: the file that came after the set point too.
	if _, err := s.Accept(t.Context(), record(t, "d", c.t, plant.SetPointChange{Keys: map[string]string{"setpoints.high": "3.2 in.w.g."}}),
		record(t, "e", c.t, plant.CollectorFile{TOML: file})); err != nil {
		t.Fatal(err)
	}
	before, _, err := s.Machine(t.Context(), "DC-1")
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Recover(t.Context()); err != nil {
		t.Fatal(err)
	}
	if after, _, err := s.Machine(t.Context(), "DC-1"); err != nil || after.TOML != before.TOML || after.TOML != file {
		t.Errorf("the file is another after nothing was to be made up for: %v\n%s", err, after.TOML)
	}
}

func TestBinDue(t *testing.T) {
	s, _, c := begin(t)
	m, err := s.Enrol(t.Context(), []byte(file), "a person", "file")
	if err != nil {
		t.Fatal(err)
	}
	// by the file: 2/3 x 0.2082 m3 x 881 kg/m3 = 122.3 kg; 0.6865 g/m3 x 1.982 m3/s x 80/168 = 0.648 g/s: 2.18 days
	due := plant.BinDue(plant.BinInput{Collector: m, Started: c.t})
	if days := due.Sub(c.t).Hours() / 24; days < 2.1 || days > 2.3 {
		t.Errorf("by the file the bin is due in %.2f days, want 2.18", days)
	}
	// by weighing: 50 kg in ten days is 122.3 kg in 24.5 days
	emptied := []plant.Record{
		record(t, "1", c.t, plant.BinEmptied{Mass: 40}),
		record(t, "2", c.t.AddDate(0, 0, 10), plant.BinEmptied{Mass: 50}),
	}
	due = plant.BinDue(plant.BinInput{Collector: m, Records: emptied, Started: c.t.AddDate(0, -1, 0)})
	if days := due.Sub(c.t.AddDate(0, 0, 10)).Hours() / 24; days < 24 || days > 25 {
		t.Errorf("by weighing the bin is due in %.2f days, want 24.5", days)
	}
	// what nobody weighed says nothing of the rate, only since when the bin fills
	emptied = append(emptied, record(t, "3", c.t.AddDate(0, 0, 14), plant.BinEmptied{}), record(t, "4", c.t.AddDate(0, 0, 24), plant.BinEmptied{Mass: 50}),
		record(t, "5", c.t.AddDate(0, 0, 30), plant.BinEmptied{}))
	due = plant.BinDue(plant.BinInput{Collector: m, Records: emptied, Started: c.t.AddDate(0, -1, 0)})
	if days := due.Sub(c.t.AddDate(0, 0, 30)).Hours() / 24; days < 24 || days > 25 {
		t.Errorf("with emptyings that nobody weighed the bin is due in %.2f days, want 24.5", days)
	}
}

func TestTheSlowLineIsKeptWithTheConclusion(t *testing.T) {
	s, keep, c := begin(t)
	if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	handReadings(t, s, c, 8)
	v, err := s.View(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	o, err := v.Of("DC-1")
	if err != nil {
		t.Fatal(err)
	}
	kept, err := s.Course(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(kept.Days) < 7 || !kept.At.Equal(o.Judgement.At) {
		t.Errorf("%d days kept for %v, want about 8 for %v", len(kept.Days), kept.At, o.Judgement.At)
	}
	// what a crash or an older program left out is worked out of the history
	if err := keep.PutCourse(t.Context(), "DC-1", []byte("no course")); err != nil {
		t.Fatal(err)
	}
	again, err := s.Course(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(again.Days) != len(kept.Days) || !again.First.Equal(kept.First) {
		t.Errorf("worked out anew: %d days from %v, kept were %d from %v", len(again.Days), again.First, len(kept.Days), kept.First)
	}
}

// What a new collector's log becomes on the way in is what the readings kept become when they are read back.
func TestAnImportOnTheWayInJudgesAsTheReadingsKept(t *testing.T) {
	log := &sense.Series{Zone: time.UTC}
	start := time.Date(2026, 5, 1, 6, 0, 0, 0, time.UTC)
	for i := range 20_000 {
		log.Time = append(log.Time, start.Add(time.Duration(i)*2*time.Minute).UnixNano())
		log.Col[sense.DP] = append(log.Col[sense.DP], (2+float64(i%100)/64)*256)
	}
	cut := func(from, to int) *sense.Series {
		s := &sense.Series{Time: log.Time[from:to], Zone: log.Zone}
		s.Col[sense.DP] = log.Col[sense.DP][from:to]
		return s
	}
	judgement := func(pieces ...*sense.Series) string {
		s, _, _ := begin(t)
		if _, err := s.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
			t.Fatal(err)
		}
		var j *plant.Judgement
		for _, imported := range pieces { // the second import and those after it go by what is kept
			var err error
			if _, j, err = s.Import(t.Context(), "DC-1", func(take func(*sense.Series) error) error { return take(imported) }); err != nil {
				t.Fatal(err)
			}
		}
		text, err := json.Marshal(j)
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	want := judgement(cut(0, 20_000))
	if got := judgement(cut(0, 9_000), cut(9_000, 20_000)); got != want {
		t.Errorf("in two imports\n%s\nin one\n%s", got, want)
	}
	if got := judgement(cut(9_000, 20_000), cut(0, 9_000)); got != want { // the late rows make it read all of it back
		t.Errorf("the later half first\n%s\nin one\n%s", got, want)
	}
}

// A check of the plant's own can be answered while it is in its file; once it is gone, a new answer is refused and the old
// one stays on record without troubling the judgement.
func TestAnAnswerToThePlantsOwnCheck(t *testing.T) {
	_, keep, c := begin(t)
	own := judge.CheckEntry{ID: "pot", Text: "Look", Finding: "wet", Minutes: 1, Yes: map[judge.Cause]float64{judge.CakeDamp: 0.99}, Else: 0.01}
	with := plant.NewService(plant.ServiceOptions{Keeper: keep, Now: c.now, Zone: time.UTC, Experience: judge.Experience{Checks: []judge.CheckEntry{own}}})
	without := plant.NewService(plant.ServiceOptions{Keeper: keep, Now: c.now, Zone: time.UTC})
	if _, err := with.Enrol(t.Context(), []byte(file), "a person", "file"); err != nil {
		t.Fatal(err)
	}
	handReadings(t, with, c, 3)
	damp := func(s *plant.Service) float64 {
		j, err := s.Judge(t.Context(), "DC-1")
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range j.Causes {
			if p.Cause == judge.CakeDamp {
				return p.P
			}
		}
		return 0
	}
	before := damp(with)
	answer := record(t, "answer", c.t, plant.CheckAnswer{Check: "pot", Yes: true})
	if _, err := with.Accept(t.Context(), answer); err != nil {
		t.Fatal(err)
	}
	if now := damp(with); now < 5*before {
		t.Errorf("damp cake went from %v to %v", before, now)
	}
	if now := damp(without); math.Abs(now-before) > 1e-9 {
		t.Errorf("without the check damp cake is %v, before the answer %v", now, before)
	}
	answer.ID = "again"
	var refused *plant.Refused
	if _, err := without.Accept(t.Context(), answer); !errors.As(err, &refused) {
		t.Errorf("an answer to a check that is not there: %v", err)
	}
}
