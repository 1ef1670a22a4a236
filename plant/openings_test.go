package plant

import (
	"encoding/json"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

const trimmable = `tag = "DC-1"
[duty]
flow = "4200 cfm"
inlet_sp = "-3.5 in.w.g."
[filters]
rows = 6
per_row = 1
area_each = "215 ft2"
clean_dp = "0.7 in.w.g."
max_dp = "6 in.w.g."
[fan]
speed = "3550 rpm"
density = "0.075 lb/ft3"
curve = [["0 cfm", "14.5 in.w.g."], ["2500 cfm", "14.3 in.w.g."], ["3500 cfm", "13.0 in.w.g."], ["4200 cfm", "11.8 in.w.g."], ["5000 cfm", "9.9 in.w.g."], ["7000 cfm", "2.9 in.w.g."]]
[damper]
points = [["30 %", "2900 cfm", "0.5 in.w.g."], ["50 %", "4100 cfm", "0.7 in.w.g."], ["100 %", "5250 cfm", "0.9 in.w.g."]]
`

func TestTheNextOpeningIsPlanned(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable))
	if err != nil {
		t.Fatal(err)
	}
	plan, err := c.Trim(collector.NewTrimRequest())
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 6, 16, 8, 0, 0, 0, time.UTC)
	body, err := json.Marshal(DamperMove{From: -1, To: plan.New.Open})
	if err != nil {
		t.Fatal(err)
	}
	next := plan.Steps[len(plan.Steps)-1]
	for _, s := range plan.Steps {
		if s.Open >= plan.New.Open+leastOpening {
			next = s
			break
		}
	}
	// the forecast rises by 0.1 in. w.g. a day from nothing: the step is reached after so many days
	days := float64(next.FilterDP) / (0.1 * unit.InchWater)
	var fan []FanPoint
	for d := range 90 {
		v := 0.1 * unit.InchWater * float64(d)
		fan = append(fan, FanPoint{now.AddDate(0, 0, d), v, v, v})
	}
	in := TaskInput{Collector: c, Started: now, Records: []Record{{ID: "m1", Kind: KindDamperMove, At: now, Body: body}},
		Judgement: &Judgement{Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 1}}, Life: &Life{Fan: fan}}}
	list := openingTask(in, now)
	if len(list) != 1 {
		t.Fatalf("%d openings planned, want one", len(list))
	}
	if got := list[0].Due.Sub(now).Hours() / 24; got < days-0.01 || got > days+0.01 {
		t.Errorf("due in %.2f days, want %.2f", got, days)
	}
	in.Records = nil
	if list := openingTask(in, now); len(list) != 0 {
		t.Errorf("nobody set the damper on record, and %s is planned", list[0].What)
	}
}
