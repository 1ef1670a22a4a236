package paper

import (
	"fmt"
	"io"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// Certificate prints the commissioning certificate of a collector from the records of its guided
// start-up: each step as last recorded, its measurements, whether it was accepted, who and when. Steps
// that were not accepted are shown as such; the sheet says whether all were.
func Certificate(w io.Writer, s Setup, c *collector.Collector, records []plant.Record) error {
	d, err := newSheet(s, "Commissioning certificate", subject(c))
	if err != nil {
		return err
	}
	d.caution("live", "compressed-air", "open-collector")
	d.design(c)
	steps, order := lastSteps(records)
	d.heading("Result")
	d.say(result(steps))
	for _, name := range order {
		d.step(name, steps[name])
	}
	d.ducts(c, records)
	d.say("Explosion protection, electrical work and emissions are not judged here; they need the people licensed for them.")
	d.sign("Commissioned by", "Accepted by")
	return d.write(w)
}

// result says in a sentence or two whether the start-up is complete, and what is open.
func result(steps map[string]recordedStep) string {
	if len(steps) == 0 {
		return "No step of the start-up is on record."
	}
	var refused, missing []string
	all := plant.CommissioningSteps()
	for _, step := range all {
		switch s, ok := steps[step.ID]; {
		case !ok:
			missing = append(missing, step.Title)
		case !s.body.Accepted:
			refused = append(refused, step.Title)
		}
	}
	if len(refused)+len(missing) == 0 {
		return fmt.Sprintf("All %d steps of the start-up are accepted.", len(all))
	}
	text := fmt.Sprintf("The collector is not commissioned: %d of %d steps are accepted.", len(all)-len(refused)-len(missing), len(all))
	if len(refused) > 0 {
		text += " Not accepted: " + strings.Join(refused, ", ") + "."
	}
	if len(missing) > 0 {
		text += " Not on record: " + strings.Join(missing, ", ") + "."
	}
	return text
}

// subject names a collector.
func subject(c *collector.Collector) string {
	if c.Service == "" {
		return c.Tag
	}
	return c.Tag + ", " + c.Service
}

// design prints what the collector was made for.
func (d *sheet) design(c *collector.Collector) {
	d.heading("Design")
	sys := d.s.Units
	known := func(label, value string, v float64) {
		if v == v {
			d.pair(label, value)
		}
	}
	known("design airflow", c.Duty.Flow.In(sys), float64(c.Duty.Flow))
	d.pair("dust", c.Duty.Dust)
	d.pair("filters", fmt.Sprintf("%d rows of %d, %s in all", c.Filters.Rows, c.Filters.PerRow, c.Filters.Area().In(sys)))
	known("set points", fmt.Sprintf("low %s, high %s, alarm %s", c.SetPoints.Low.In(sys), c.SetPoints.High.In(sys), c.SetPoints.Alarm.In(sys)), float64(c.SetPoints.Low))
	known("header", fmt.Sprintf("%s, a pulse every %s", c.Header.Set.In(sys), c.Header.Interval.In(sys)), float64(c.Header.Set))
}

// recordedStep is a step with the record it comes from.
type recordedStep struct {
	record plant.Record
	body   *plant.Commissioning
	before []plant.Record // of the same step, not accepted
}

// lastSteps returns each step as last recorded, in the order in which they were first recorded.
func lastSteps(records []plant.Record) (map[string]recordedStep, []string) {
	steps, order := map[string]recordedStep{}, []string(nil)
	for _, r := range records {
		if r.Kind != plant.KindCommissioning {
			continue
		}
		body, err := plant.Open(r)
		if err != nil {
			continue // a record that can't be read is shown by the chain's own check
		}
		b, ok := body.(*plant.Commissioning)
		if !ok {
			continue
		}
		was, seen := steps[b.Step]
		if !seen {
			order = append(order, b.Step)
		} else if !was.body.Accepted {
			was.before = append(was.before, was.record)
		}
		steps[b.Step] = recordedStep{r, b, was.before}
	}
	return steps, order
}

// step prints one step of the start-up.
func (d *sheet) step(name string, s recordedStep) {
	word := "accepted"
	if !s.body.Accepted {
		word = "NOT accepted"
	}
	title := words(name)
	for _, known := range plant.CommissioningSteps() {
		if known.ID == name {
			title = known.Title
		}
	}
	d.heading(title + ": " + word)
	if why := s.body.Says(d.s.Units); why != "" {
		d.say(sentence(why))
	}
	d.items(s.body.Items)
	d.font("", 8, inkQuiet)
	for _, r := range s.before {
		d.CellFormat(d.width, 4.5, fmt.Sprintf("before that not accepted: %s, %s, record %d", r.By, d.when(r.At), r.Seq), "", 1, "L", false, 0, "")
	}
	d.CellFormat(d.width, 4.5, fmt.Sprintf("%s, %s, record %d, hash %s", s.record.By, d.when(s.record.At), s.record.Seq, short(s.record.Hash)), "", 1, "L", false, 0, "")
}

// items prints what was looked at, with results.
func (d *sheet) items(items []plant.Item) {
	var rows [][]string
	for _, i := range items {
		rows = append(rows, []string{i.What, resultWord(i.Result), d.value(i), i.Note})
	}
	d.table([]column{{"looked at", 0.42, "L"}, {"result", 0.13, "L"}, {"value", 0.17, "R"}, {"note", 0.28, "L"}}, rows)
}

// value prints an item's measurement in the sheet's units.
func (d *sheet) value(i plant.Item) string {
	if i.Unit == "" {
		if i.Value == 0 {
			return ""
		}
		return fmt.Sprintf("%.4g", i.Value)
	}
	for _, k := range []unit.Kind{unit.KindPressure, unit.KindFlow, unit.KindShare, unit.KindVelocity, unit.KindCurrent, unit.KindVoltage, unit.KindTemperature, unit.KindSeconds, unit.KindLength, unit.KindSpeed, unit.KindPower} {
		if u, err := unit.Lookup(k, i.Unit); err == nil && u.Factor == 1 && u.Offset == 0 {
			return unit.Print(k, i.Value, d.s.Units)
		}
	}
	return fmt.Sprintf("%.4g %s", i.Value, i.Unit)
}

func resultWord(r string) string {
	switch r {
	case "ok":
		return "✓ in order"
	case "not-ok":
		return "not in order"
	}
	return "not done"
}

// words makes a name out of an id.
func words(id string) string { return sentence(strings.ReplaceAll(id, "-", " ")) }

// sentence begins a text with a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func (d *sheet) when(t time.Time) string { return t.In(d.s.Zone).Format("2 January 2006 15:04") }
