package paper

import (
	"encoding/json"
	"fmt"
	"io"

	"dustwright/collector"
	"dustwright/plant"
)

// FilterChange prints the record of a filter change: old and new lots row by row, the dP before and
// after, and the damper set afterwards where a later record says so.
func FilterChange(w io.Writer, s Setup, c *collector.Collector, change plant.Record, later []plant.Record) error {
	d, err := newSheet(s, "Filter-change record", subject(c))
	if err != nil {
		return err
	}
	body, err := plant.Open(change)
	if err != nil {
		return err
	}
	b, ok := body.(*plant.FilterChange)
	if !ok {
		return fmt.Errorf("record %s is a %s, no filter change", change.ID, change.Kind)
	}
	d.caution("open-collector")
	d.pair("done", fmt.Sprintf("%s by %s", d.when(change.At), change.By))
	if b.Reason != "" {
		d.pair("why", b.Reason)
	}
	if b.DPBefore > 0 {
		d.pair("dP before", b.DPBefore.In(s.Units))
	}
	if b.DPAfter > 0 {
		d.pair("dP after", b.DPAfter.In(s.Units))
	}
	d.heading("Row by row")
	var rows [][]string
	for _, r := range b.Rows {
		rows = append(rows, []string{fmt.Sprint(r.Row), r.OldLot, r.OldState, r.NewLot})
	}
	d.table([]column{{"row", 0.08, "L"}, {"old lot", 0.22, "L"}, {"what the old one looked like", 0.44, "L"}, {"new lot", 0.26, "L"}}, rows)
	if b.Note != "" {
		d.say(b.Note)
	}
	d.heading("Damper")
	d.say(d.trimmed(later))
	d.pair("record", fmt.Sprintf("%d, hash %s", change.Seq, short(change.Hash)))
	d.sign("Done by")
	return d.write(w)
}

// trimmed says how the damper was set after the change.
func (d *sheet) trimmed(later []plant.Record) string {
	for _, r := range later {
		body, err := plant.Open(r)
		if err != nil {
			continue
		}
		if m, ok := body.(*plant.DamperMove); ok {
			text := fmt.Sprintf("Set to %.0f %% open on %s", 100*float64(m.To), d.when(r.At))
			if m.Flow > 0 {
				text += ", measured " + m.Flow.In(d.s.Units)
			}
			return text + "."
		}
	}
	return "Not trimmed yet: new filters let more air through until they season, so the damper has to be closed down now."
}

// heardValve is what the valve check keeps of one valve, whatever found it.
type heardValve struct {
	Number      int            `json:"number"`
	State       string         `json:"state"`
	Count       int            `json:"count"`
	Expected    int            `json:"expected"`
	Probability float64        `json:"probability"`
	Why         collector.Text `json:"why"`
}

// ValveCheck prints the result of a valve check, valve by valve.
func ValveCheck(w io.Writer, s Setup, c *collector.Collector, check plant.Record) error {
	d, err := newSheet(s, "Valve check", subject(c))
	if err != nil {
		return err
	}
	body, err := plant.Open(check)
	if err != nil {
		return err
	}
	b, ok := body.(*plant.ValveCheck)
	if !ok {
		return fmt.Errorf("record %s is a %s, no valve check", check.ID, check.Kind)
	}
	var result struct {
		Valves []heardValve `json:"valves"`
	}
	if err := json.Unmarshal(b.Result, &result); err != nil {
		return fmt.Errorf("record %s: its valves can't be read: %w", check.ID, err)
	}
	d.caution("live")
	d.pair("checked", fmt.Sprintf("%s by %s, by %s", d.when(check.At), check.By, b.By))
	bad := 0
	var rows [][]string
	for _, v := range result.Valves {
		state := "In order"
		if v.State != "ok" {
			state = words(v.State)
			bad++
		}
		rows = append(rows, []string{fmt.Sprint(v.Number), state, fmt.Sprintf("%d of %d", v.Count, v.Expected), v.Why.In(d.s.Units)})
	}
	d.heading(fmt.Sprintf("%d of %d valves in order", len(result.Valves)-bad, len(result.Valves)))
	d.table([]column{{"valve", 0.09, "L"}, {"state", 0.15, "L"}, {"pulses", 0.12, "L"}, {"why", 0.64, "L"}}, rows)
	if bad > 0 {
		d.caution("compressed-air")
		d.say("Take each valve that is not in order through the bench check: pilot or diaphragm.")
	}
	d.pair("record", fmt.Sprintf("%d, hash %s", check.Seq, short(check.Hash)))
	return d.write(w)
}

// Inspections prints the inspection history of a collector, newest first.
func Inspections(w io.Writer, s Setup, c *collector.Collector, records []plant.Record) error {
	d, err := newSheet(s, "Inspection history", subject(c))
	if err != nil {
		return err
	}
	n := 0
	for i := len(records) - 1; i >= 0; i-- {
		body, err := plant.Open(records[i])
		if err != nil {
			continue
		}
		switch b := body.(type) {
		case *plant.Inspection:
			d.heading(fmt.Sprintf("%s, by %s", d.when(records[i].At), records[i].By))
			d.items(b.Items)
			n++
		case *plant.Arrival:
			d.heading(fmt.Sprintf("Arrival, %s, by %s", d.when(records[i].At), records[i].By))
			if b.Damage != "" {
				d.say("Damage: " + b.Damage)
			}
			d.items(b.Items)
			n++
		}
	}
	if n == 0 {
		d.say("No inspection is on record.")
	}
	return d.write(w)
}
