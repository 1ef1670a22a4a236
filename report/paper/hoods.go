package paper

import (
	"fmt"
	"math"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// ducts prints the ducts at design flow, and the newest readings behind the hoods where there are any.
func (d *sheet) ducts(c *collector.Collector, records []plant.Record) {
	list := c.BranchVelocities(c.Duty.Flow)
	if len(list) == 0 {
		return
	}
	sys := d.s.Units
	d.heading("Ducts and hoods")
	if least, _ := c.LeastVelocity(); least > 0 {
		d.say("At design flow, and what keeps this dust moving: at least " + least.In(sys) + ".")
	}
	last, told := plant.LastHoods(records, c)
	read := map[string]collector.Hood{}
	if told != nil {
		for _, h := range told.Hoods {
			read[h.Name] = h
		}
	}
	rows := make([][]string, len(list))
	for i, b := range list {
		into := b.Into
		if into == "" {
			into = "the collector"
		}
		rows[i] = []string{b.Name, into, known(b.Flow, sys), known(b.Velocity, sys), "", "", ""}
		if h, ok := read[b.Name]; ok && h.State != collector.HoodUnread {
			rows[i][4], rows[i][5] = h.Read.Finely(sys), known(h.Flow, sys)
			if share := h.Share(); !math.IsNaN(share) {
				rows[i][6] = fmt.Sprintf("%.0f %%", 100*share)
			}
		}
	}
	d.table([]column{{"branch", 0.22, "L"}, {"joins", 0.17, "L"}, {"design", 0.12, "R"}, {"velocity", 0.13, "R"}, {"hood read", 0.14, "R"}, {"airflow", 0.12, "R"}, {"of design", 0.10, "R"}}, rows)
	if told != nil {
		d.font("", 8, inkQuiet)
		d.CellFormat(d.width, 4.5, fmt.Sprintf("hoods read by %s, %s, record %d, hash %s", last.By, d.when(last.At), last.Seq, short(last.Hash)), "", 1, "L", false, 0, "")
	}
	d.say("Whether a hood catches is seen at the work and not told by its airflow.")
}

// known prints a quantity, nothing where it is not known.
func known[Q interface {
	~float64
	In(unit.System) string
}](x Q, sys unit.System) string {
	if math.IsNaN(float64(x)) {
		return ""
	}
	return x.In(sys)
}
