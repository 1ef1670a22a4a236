package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"dustwright/plant"
	"dustwright/sense"
)

func open(t testing.TB) *Store {
	t.Helper()
	s, err := Open(context.Background(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func put(t testing.TB, s *Store, tags ...string) {
	t.Helper()
	for i, tag := range tags {
		if err := s.PutCollector(context.Background(), plant.Machine{Tag: tag, TOML: "tag = \"" + tag + "\"", Walk: i, Created: time.UnixMilli(1)}); err != nil {
			t.Fatal(err)
		}
	}
}

func note(id, text string) plant.Record {
	body, _ := json.Marshal(plant.Note{Text: text}) // a note always marshals
	return plant.Record{ID: id, Kind: plant.KindNote, Collector: "DC-1", By: "a person", Body: body,
		At: time.Date(2026, 6, 1, 7, 0, 0, 0, time.FixedZone("", -6*3600)), Entered: time.Date(2026, 6, 1, 13, 0, 1, 0, time.UTC)}
}

// minuteLog makes a log of n rows a minute apart with a gap in one channel and firings.
func minuteLog(start time.Time, n int) *sense.Series {
	s := &sense.Series{}
	dp, amps := make([]float64, n), make([]float64, n)
	for i := range n {
		s.Time = append(s.Time, start.Add(time.Duration(i)*time.Minute).UnixNano())
		dp[i] = 500 + 300*math.Sin(float64(i)/50)
		amps[i] = math.NaN()
		if i%5 == 0 {
			amps[i] = 15 + float64(i%7)/10
		}
		if i%10 == 0 {
			for v := uint8(1); v <= 6; v++ {
				s.Pulses = append(s.Pulses, sense.Firing{Row: int32(i), Valve: v})
			}
		}
	}
	s.Col[sense.DP], s.Col[sense.FanCurrent] = dp, amps
	return s
}

func same(t *testing.T, got, want *sense.Series) {
	t.Helper()
	if len(got.Time) != len(want.Time) || len(got.Pulses) != len(want.Pulses) {
		t.Fatalf("%d rows and %d firings, want %d and %d", len(got.Time), len(got.Pulses), len(want.Time), len(want.Pulses))
	}
	for i := range want.Time {
		if got.Time[i] != want.Time[i] {
			t.Fatalf("row %d is at %d, want %d", i, got.Time[i], want.Time[i])
		}
		for _, c := range []sense.Channel{sense.DP, sense.FanCurrent} {
			a, b := got.At(c, i), want.At(c, i)
			if math.Abs(a-b) > 1e-6*math.Abs(b) || math.IsNaN(a) != math.IsNaN(b) {
				t.Fatalf("row %d %s is %v, want %v", i, c, a, b)
			}
		}
	}
	for i, f := range want.Pulses {
		if got.Pulses[i] != f {
			t.Fatalf("firing %d is %+v, want %+v", i, got.Pulses[i], f)
		}
	}
}

func TestSeriesComeBackHoweverTheyWereCutAndSentTwice(t *testing.T) {
	ctx := context.Background()
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	want := minuteLog(start, 3000)
	rapid.Check(t, func(rt *rapid.T) {
		s := open(t)
		put(t, s, "DC-1")
		cuts := rapid.SliceOfN(rapid.IntRange(0, 3000), 0, 6).Draw(rt, "cuts")
		pieces := [][2]int{{0, 3000}}
		for _, c := range cuts {
			pieces = append(pieces, [2]int{min(c, 2900), min(c, 2900) + 100})
		}
		for _, p := range rapid.Permutation(pieces).Draw(rt, "order") {
			part := minuteLog(start.Add(time.Duration(p[0])*time.Minute), p[1]-p[0])
			part.Pulses = nil
			for i := range part.Time { // the values of the whole log at these times
				for _, c := range []sense.Channel{sense.DP, sense.FanCurrent} {
					part.Col[c][i] = want.At(c, p[0]+i)
				}
			}
			for _, f := range want.Pulses {
				if int(f.Row) >= p[0] && int(f.Row) < p[1] {
					part.Pulses = append(part.Pulses, sense.Firing{Row: f.Row - int32(p[0]), Valve: f.Valve})
				}
			}
			if _, err := s.AddSeries(ctx, "DC-1", part); err != nil {
				rt.Fatal(err)
			}
		}
		if n, err := s.AddSeries(ctx, "DC-1", want); err != nil || n != 0 {
			rt.Fatalf("the same log again: %d new readings, %v; want none", n, err)
		}
		got, err := s.Series(ctx, "DC-1", time.Time{}, time.Time{})
		if err != nil {
			rt.Fatal(err)
		}
		same(t, got, want)
	})
}

func TestEnvelopeHoldsEveryReading(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	put(t, s, "DC-1")
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	log := minuteLog(start, 20000)
	if _, err := s.AddSeries(ctx, "DC-1", log); err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{1, 7, 100, 5000} {
		env, err := s.Envelope(ctx, "DC-1", sense.DP, start, start.Add(20000*time.Minute), n)
		if err != nil {
			t.Fatal(err)
		}
		count, sum, lo, hi := 0, 0.0, math.Inf(1), math.Inf(-1)
		for i, b := range env {
			count, sum, lo, hi = count+b.N, sum+b.Sum, math.Min(lo, b.Min), math.Max(hi, b.Max)
			if i > 0 && b.From <= env[i-1].To && n < 5000 {
				t.Errorf("%d buckets: bucket %d begins before the one before ends", n, i)
			}
		}
		if count != 20000 || len(env) > n+1 {
			t.Errorf("%d buckets asked for: got %d with %d readings, want at most one more with 20000", n, len(env), count)
		}
		if math.Abs(lo-200) > 0.5 || math.Abs(hi-800) > 0.5 || math.Abs(sum/20000-500) > 3 {
			t.Errorf("%d buckets: min %.1f, max %.1f, mean %.1f; want 200, 800, 500", n, lo, hi, sum/20000)
		}
	}
}

func TestRecordsAreKeptOnceAndTheChainHolds(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	for i := range 5 {
		if _, err := s.Append(ctx, note(fmt.Sprint("r", i), "text")); err != nil {
			t.Fatal(err)
		}
	}
	again, err := s.Append(ctx, note("r2", "sent again, with other words"), note("r5", "new"))
	if err != nil {
		t.Fatal(err)
	}
	if again[0].Seq != 3 || again[1].Seq != 6 || !strings.Contains(string(again[0].Body), `"text"`) {
		t.Errorf("a record sent again got place %d and body %s, want its first place and words", again[0].Seq, again[0].Body)
	}
	n, head, err := s.Verify(ctx)
	if err != nil || n != 6 || head != again[1].Hash {
		t.Fatalf("verify: %d records, %v", n, err)
	}
	newest, err := s.Records(ctx, plant.RecordQuery{Collector: "DC-1", Kinds: []plant.Kind{plant.KindNote}, Limit: 2})
	if err != nil || len(newest) != 2 || newest[1].ID != "r5" {
		t.Errorf("the two newest: %d, %v", len(newest), err)
	}
	for text, want := range map[string]int{"new": 1, "TEXT": 6, "note": 6, "elsewhere": 0} { // what a record says, and its kind
		if found, err := s.Records(ctx, plant.RecordQuery{Text: text}); err != nil || len(found) != want {
			t.Errorf("looked for %q: %d found, want %d; %v", text, len(found), want, err)
		}
	}
	found, err := s.Records(ctx, plant.RecordQuery{Text: "ne%"})
	if err != nil || len(found) != 0 {
		t.Errorf("a per cent sign is looked for as such: %d found, %v", len(found), err)
	}
}

func TestARecordChangedByHandIsFoundAndNamed(t *testing.T) {
	ctx := context.Background()
	for _, change := range []string{
		"UPDATE record SET body = '{\"text\":\"other\"}' WHERE id = 'r2'",
		"UPDATE record SET at = '2026-05-01T00:00:00Z' WHERE id = 'r2'",
		"UPDATE record SET by = 'somebody' WHERE id = 'r2'",
		"UPDATE record SET hash = 'x' WHERE id = 'r2'",
	} {
		s := open(t)
		for i := range 5 {
			if _, err := s.Append(ctx, note(fmt.Sprint("r", i), "text")); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := s.w.ExecContext(ctx, change); err != nil {
			t.Fatal(err)
		}
		_, _, err := s.Verify(ctx)
		var broken *plant.Broken
		if !errors.As(err, &broken) || broken.ID != "r2" {
			t.Errorf("%s: %v, want r2 named", change, err)
		}
	}
}

func TestUnknownThingsHaveTheirErrors(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	if _, err := s.Series(ctx, "DC-9", time.Time{}, time.Time{}); !errors.Is(err, plant.ErrNoCollector) {
		t.Errorf("readings of an unknown collector: %v", err)
	}
	if _, err := s.AddSeries(ctx, "DC-9", minuteLog(time.Unix(0, 0), 3)); !errors.Is(err, plant.ErrNoCollector) {
		t.Errorf("readings for an unknown collector: %v", err)
	}
	for _, name := range []string{"", "../plant.db", strings.Repeat("ab", 32)} {
		if _, err := s.Blob(name); !errors.Is(err, plant.ErrNoBlob) {
			t.Errorf("blob %q: %v", name, err)
		}
	}
}

func TestBlobsComeBack(t *testing.T) {
	s := open(t)
	a, err := s.PutBlob(context.Background(), strings.NewReader("a photo"))
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.PutBlob(context.Background(), strings.NewReader("a photo"))
	if err != nil || a != b {
		t.Fatalf("the same bytes twice: %s and %s, %v", a, b, err)
	}
	f, err := s.Blob(a)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	buf := make([]byte, 16)
	if n, _ := f.Read(buf); string(buf[:n]) != "a photo" {
		t.Errorf("got %q", buf[:n])
	}
}

func FuzzUnpack(f *testing.F) {
	c, err := newCodec()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(c.pack(samples{[]int64{1, 2, 3}, []float32{1, 2, 3}}))
	f.Add([]byte{compressed})
	f.Add([]byte{tabled})
	f.Fuzz(func(t *testing.T, data []byte) {
		var s samples
		if err := c.unpack(data, &s); err == nil && len(s.t) != len(s.v) {
			t.Fatal("as many times as values")
		}
	})
}

// Channels with times of their own are laid on all times there are; of two readings of one time the first stands.
func TestWeave(t *testing.T) {
	nan := math.NaN()
	var w weaver
	got := &w.out
	w.weave(map[int]samples{int(sense.Header): {[]int64{7, 8, 9}, []float32{1, 1, 1}}, firings: {[]int64{7}, []float32{1}}}) // gone when used again
	w.weave(map[int]samples{
		int(sense.DP):         {[]int64{1, 2, 4}, []float32{10, 20, 40}},
		int(sense.FanCurrent): {[]int64{2, 2, 3, 5}, []float32{2, 9, 3, 5}},
		firings:               {[]int64{4, 4, 6}, []float32{1, 2, 3}},
	})
	for name, c := range map[string]struct{ got, want any }{
		"times":   {got.Time, []int64{1, 2, 3, 4, 5, 6}},
		"dp":      {got.Col[sense.DP], []float64{10, 20, nan, 40, nan, nan}},
		"current": {got.Col[sense.FanCurrent], []float64{nan, 2, 3, nan, 5, nan}},
		"header":  {got.Col[sense.Header] == nil, true},
		"pulses":  {got.Pulses, []sense.Firing{{Row: 3, Valve: 1}, {Row: 3, Valve: 2}, {Row: 5, Valve: 3}}},
	} {
		if fmt.Sprint(c.got) != fmt.Sprint(c.want) {
			t.Errorf("%s: %v, want %v", name, c.got, c.want)
		}
	}
}

func TestExtents(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	put(t, s, "DC-1", "DC-2")
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	if _, err := s.AddSeries(ctx, "DC-1", minuteLog(start, 3000)); err != nil {
		t.Fatal(err)
	}
	at := func(minute int) int64 { return start.Add(time.Duration(minute) * time.Minute).UnixNano() }
	want := []plant.Extent{{Channel: sense.DP, First: at(0), Last: at(2999)}, {Channel: sense.FanCurrent, First: at(0), Last: at(2995)}, {Channel: sense.Pulse, First: at(0), Last: at(2990)}}
	if got, err := s.Extents(ctx, "DC-1"); err != nil || fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v %v, want %v", got, err, want)
	}
	if got, err := s.Extents(ctx, "DC-2"); err != nil || len(got) > 0 {
		t.Errorf("without readings: %v %v", got, err)
	}
}

// What Replay hands over, put together, is what Series reads at once, whatever the stretch asked for.
func TestReplayIsSeriesInStretches(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	put(t, s, "DC-1", "DC-2")
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	if _, err := s.AddSeries(ctx, "DC-1", minuteLog(start, 40*24*60)); err != nil {
		t.Fatal(err)
	}
	for _, span := range [][2]time.Time{{}, {start.Add(90 * time.Minute), time.Time{}}, {start.AddDate(0, 0, 3), start.AddDate(0, 0, 33)}, {start.AddDate(0, 2, 0), time.Time{}}} {
		want, err := s.Series(ctx, "DC-1", span[0], span[1])
		if err != nil {
			t.Fatal(err)
		}
		got := &sense.Series{}
		err = s.Replay(ctx, "DC-1", span[0], span[1], func(part *sense.Series) error {
			for _, f := range part.Pulses {
				got.Pulses = append(got.Pulses, sense.Firing{Row: f.Row + int32(got.Len()), Valve: f.Valve})
			}
			got.Time = append(got.Time, part.Time...)
			for ch, col := range part.Col {
				got.Col[ch] = append(got.Col[ch], col...)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		same(t, got, want)
	}
	if err := s.Replay(ctx, "DC-2", time.Time{}, time.Time{}, func(*sense.Series) error { return errors.New("handed over") }); err != nil {
		t.Errorf("without readings: %v", err)
	}
}
