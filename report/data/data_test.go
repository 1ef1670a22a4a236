package data

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/unit"
)

func TestNumber(t *testing.T) {
	for _, tt := range []struct {
		in   float64
		want string
	}{{1.98217926, "1.98218"}, {0, "0"}, {-871.811185, "-871.811"}, {math.NaN(), "null"}, {math.Inf(1), "null"}, {1e-9, "1e-9"}} {
		got, err := json.Marshal(number(unit.Flow(tt.in)))
		if err != nil || string(got) != tt.want {
			t.Errorf("number(%v) = %s (%v), want %s", tt.in, got, err, tt.want)
		}
	}
}

// TestUnknownIsNullNeverMissing: a program that reads a field finds it, with null for what is not known, and lists are
// never null.
func TestUnknownIsNullNeverMissing(t *testing.T) {
	c, err := collector.Parse("least.toml", []byte(`tag = "X"
duty.flow = "1000 cfm"
filters = {rows = 4, per_row = 1, area_each = "200 ft2"}
fan.curve = [["0 cfm", "8 in.w.g."], ["2000 cfm", "1 in.w.g."]]`))
	if err != nil {
		t.Fatal(err)
	}
	answer, err := c.Trim(collector.NewTrimRequest())
	if err != nil {
		t.Fatal(err)
	}
	raw, err := json.Marshal(NewTrim(c, answer, unit.SI))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"now":null`, `"open":null`, `"branches":[]`, `"warnings":[]`, `"current":{"value":null,"unit":"A"}`, `"leftAlone":null`} {
		if !strings.Contains(string(raw), want) {
			t.Errorf("no %s in %s", want, raw)
		}
	}
}
