package plant

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

func checkedAt(t *testing.T, id string, day int, values map[string]float64) Record {
	t.Helper()
	body, err := json.Marshal(AirCheck{Values: values})
	if err != nil {
		t.Fatal(err)
	}
	return Record{ID: id, Kind: KindAirCheck, Collector: "DC-1", By: "a person", At: time.Date(2026, 6, day, 9, 0, 0, 0, time.UTC), Body: body}
}

func TestAirCheckIsValid(t *testing.T) {
	if err := (AirCheck{Values: map[string]float64{"dewPoint": 276, "receiver": 0.1}}).Valid(); err != nil {
		t.Error(err)
	}
	for name, c := range map[string]struct {
		values map[string]float64
		want   string
	}{
		"nothing":        {nil, "at least one figure"},
		"not a number":   {map[string]float64{"leak": math.NaN()}, "measured leak is not a number"},
		"infinite":       {map[string]float64{"leak": math.Inf(1)}, "is not a number"},
		"misspelt":       {map[string]float64{"dewpoint": 276}, `did you mean "dewPoint"?`},
		"half a test":    {map[string]float64{"decayFrom": 4e5}, "three figures"},
		"absurd":         {map[string]float64{"coldest": 5000}, "cannot be"},
		"rising headers": {map[string]float64{"decayFrom": 3e5, "decayTo": 4e5, "decayTime": 60}, "the header rose"},
	} {
		if err := (AirCheck{Values: c.values}).Valid(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// The newest of each figure counts, by when it was read and not by when it was entered; what tells of one thing goes together.
func TestNewestMeasurementCounts(t *testing.T) {
	records := []Record{
		checkedAt(t, "c", 9, map[string]float64{"decayFrom": 4.1e5, "decayTo": 3.1e5, "decayTime": 90}),
		checkedAt(t, "a", 3, map[string]float64{"leak": 0.002, "dewPoint": 276, "coldest": 270}),
		checkedAt(t, "b", 5, map[string]float64{"dewPoint": 280}),
		{ID: "n", Kind: KindNote, Collector: "DC-1", Body: json.RawMessage(`{"text":"x"}`)},
	}
	m := MeasuredAir(records)
	if m.Request.DewPoint != 280 || m.Request.Coldest != 270 || m.Request.Decay.Time != 90 || !math.IsNaN(float64(m.Request.Leak)) {
		t.Errorf("%+v", m.Request)
	}
	if m.At["dewPoint"].Day() != 5 || m.At["coldest"].Day() != 3 || m.At["decayFrom"].Day() != 9 || !m.At["leak"].IsZero() {
		t.Errorf("%v", m.At)
	}
	now := m.With(AirCheck{Values: map[string]float64{"leak": 0.001}}, time.Date(2026, 6, 12, 0, 0, 0, 0, time.UTC))
	if now.Request.Leak != 0.001 || !math.IsNaN(float64(now.Request.Decay.Time)) || now.Request.DewPoint != 280 {
		t.Errorf("what is typed does not lie over what is on record: %+v", now.Request)
	}
	if m.Request.Decay.Time != 90 || m.At["decayFrom"].IsZero() {
		t.Error("what was typed changed what is on record")
	}
	records = append(records, checkedAt(t, "d", 5, map[string]float64{"dewPoint": 275}))
	records[len(records)-1].Corrects = "b"
	if m := MeasuredAir(records); m.Request.DewPoint != 275 {
		t.Errorf("a correction does not count: %v", m.Request.DewPoint)
	}
	if m := MeasuredAir(nil); len(m.At) != 0 || m.Request.Faults() != nil {
		t.Errorf("nothing on record gives %+v", m)
	}
}

// The bands of the start-up are those by which the compressed air is judged.
func TestCommissioningGoesByTheAirsOwnBands(t *testing.T) {
	c := collector.New()
	c.Header.Set = 60 * unit.Psi
	for _, s := range CommissioningSteps() {
		for _, i := range s.Items {
			if i.ID != "pressure" && i.ID != "before" {
				continue
			}
			if low, high := i.Range(c); low != float64(c.Recovered()) || math.Abs(low+high-120*unit.Psi) > 1 {
				t.Errorf("%s: %g to %g Pa", i.What, low, high)
			}
		}
	}
}
