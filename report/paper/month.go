package paper

import (
	"fmt"
	"io"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// Month is what the dP log of a month is printed from.
type Month struct {
	Collector *collector.Collector
	First     time.Time      // any moment of the month
	Hourly    []plant.Bucket // dP drawn together for the chart, whole month
	Daily     []plant.Bucket // dP drawn together by days, in order
	Records   []plant.Record // of the collector, oldest first
}

// MonthLog prints the daily pressure-drop log of a month: a chart, a line a day with lowest, mean and
// highest dP, and the work done. Days without a reading are shown as such.
func MonthLog(w io.Writer, s Setup, m Month) error {
	d, err := newSheet(s, "Pressure-drop log", fmt.Sprintf("%s, %s", subject(m.Collector), m.First.Format("January 2006")))
	if err != nil {
		return err
	}
	y, mon, _ := m.First.In(d.s.Zone).Date()
	from := time.Date(y, mon, 1, 0, 0, 0, 0, d.s.Zone)
	to := from.AddDate(0, 1, 0)
	sp := m.Collector.SetPoints
	d.heading("dP across the filters")
	d.chart(from, to, m.Hourly, unit.KindPressure, []level{{float64(sp.Low), "low"}, {float64(sp.High), "high"}, {float64(sp.Alarm), "alarm"}})
	d.heading("Day by day")
	d.say("Readings of a logger are drawn together by days. A day without a reading has dashes; nothing is filled in.")
	d.table([]column{{"day", 0.14, "L"}, {"lowest", 0.13, "R"}, {"mean", 0.13, "R"}, {"highest", 0.13, "R"}, {"readings", 0.1, "R"}, {"work and notes", 0.37, "L"}},
		d.days(m, from, to))
	return d.write(w)
}

// days is a row for each day of the month.
func (d *sheet) days(m Month, from, to time.Time) [][]string {
	byDay := map[string]plant.Bucket{}
	for _, b := range m.Daily {
		byDay[time.Unix(0, b.From).In(d.s.Zone).Format(time.DateOnly)] = b
	}
	work := map[string]string{}
	for _, r := range m.Records {
		day := r.At.In(d.s.Zone).Format(time.DateOnly)
		if text := workWord(r); text != "" {
			if work[day] != "" {
				work[day] += "; "
			}
			work[day] += text
		}
	}
	var rows [][]string
	for t := from; t.Before(to); t = t.AddDate(0, 0, 1) {
		day := t.Format(time.DateOnly)
		row := []string{t.Format("Mon 2 Jan"), "–", "–", "–", "", work[day]}
		if b, ok := byDay[day]; ok && b.N > 0 {
			p := func(v float64) string { return unit.Print(unit.KindPressure, v, d.s.Units) }
			row = []string{row[0], p(b.Min), p(b.Mean()), p(b.Max), fmt.Sprint(b.N), work[day]}
		}
		rows = append(rows, row)
	}
	return rows
}

// workWord says in a few words what a record is, "" for one that is no work.
func workWord(r plant.Record) string {
	body, err := plant.Open(r)
	if err != nil {
		return ""
	}
	switch b := body.(type) {
	case *plant.FilterChange:
		return fmt.Sprintf("new filters in %d rows (%s)", len(b.Rows), r.By)
	case *plant.DamperMove:
		return fmt.Sprintf("damper to %.0f %%", 100*float64(b.To))
	case *plant.SetPointChange:
		return "set points changed"
	case *plant.ValveRepair:
		return fmt.Sprintf("valve %d: %s put right", b.Valve, b.Part)
	case *plant.ValveCheck:
		return "valves checked by " + b.By
	case *plant.BinEmptied:
		return "bin emptied"
	case *plant.Inspection:
		return "inspected"
	case *plant.AirCheck:
		return "compressed air measured"
	case *plant.Note:
		return b.Text
	}
	return ""
}
