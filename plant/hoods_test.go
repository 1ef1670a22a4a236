package plant

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/unit"
)

// TestHoodReadingsThatCannotBe are refused in a sentence, and what can be is asked of the collector as it was read.
func TestHoodReadingsThatCannotBe(t *testing.T) {
	for _, x := range []struct{ body, want string }{
		{`{"hoods":[]}`, "at least one branch"},
		{`{"hoods":[{"branch":"a","sp":-300},{"branch":"a","sp":-310}]}`, `"a" stands twice`},
		{`{"hoods":[{"branch":"","sp":-300}]}`, "has no name"},
		{`{"hoods":[{"branch":"a","sp":300}]}`, "suction is written with a minus"},
		{`{"hoods":[{"branch":"a","sp":-300,"flow":-1}]}`, "not below zero"},
		{`{"hoods":[{"branch":"a","sp":-300}],"temperature":-5}`, "in kelvin"},
		{`{"hoods":[{"branch":"a","sp":-300}],"temperature":300}`, ""},
	} {
		_, err := Open(Record{ID: "r", Kind: KindHoodReading, Body: json.RawMessage(x.body)})
		if x.want == "" && err != nil || x.want != "" && (err == nil || !strings.Contains(err.Error(), x.want)) {
			t.Errorf("%s: %v, want %q", x.body, err, x.want)
		}
	}
	c, err := collector.Parse("test", []byte(trimmable+twoDucts))
	if err != nil {
		t.Fatal(err)
	}
	b := HoodReading{Hoods: []HoodPressure{{Branch: "zone 2", SP: -250}}}
	if r := b.Request(c); r.AirGiven || len(r.Readings) != 1 || r.Readings[0] != (collector.HoodReading{Name: "zone 2", SP: -250}) {
		t.Errorf("asked %+v", r)
	}
	b.Temperature = 320
	r := b.Request(c)
	cold := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	if !r.AirGiven || !(r.Air.Density() < 0.95*cold.Density()) {
		t.Errorf("asked of air of %v, at 20 degC it is %v", r.Air.Density(), cold.Density())
	}
}
