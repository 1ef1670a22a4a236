package text

import (
	"fmt"
	"io"
	"math"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// Rehearsed is one run to print, with what tells it from the run beside it.
type Rehearsed struct {
	Setting string
	Result  *rehearse.Result
}

// aboutRehearsal closes both pages.
const aboutRehearsal = "A rehearsal is the usual machine with these set points, dust and air; what the file does not say is taken as it usually is. Read differences, not dates, out of it."

// Rehearsal prints one run.
func Rehearsal(w io.Writer, sys unit.System, c *collector.Collector, r *rehearse.Result) error {
	p := &page{sys: sys}
	p.title(c)
	t, s := r.Truth, r.Summary
	p.say("Rehearsed from %s to %s: %.0f days, the fan on for %.0f hours; seed %d.", t.Start.Format("2 January 2006"), t.End.Format("2 January 2006"), s.Days, s.Ran, t.Seed)
	p.gap()
	first, last := cleaned(t.Daily)
	if !math.IsNaN(float64(first)) {
		p.say("Just after cleaning, at design flow, the filters stood at %s on the first day and at %s on the last; %s.", first, last, life(s))
	}
	p.gap()
	p.row("mean airflow", p.q(s.MeanFlow), share(s.MeanFlow, c.Duty.Flow)+" of design")
	p.row("lowest airflow", p.q(s.LowestFlow), share(s.LowestFlow, c.Duty.Flow)+" of design")
	p.row("pulses", unit.Grouped(s.Pulses))
	p.row("compressed air", p.std(s.Air))
	p.row("fan electricity", p.q(s.FanEnergy))
	p.row("compressor electricity", p.q(s.AirEnergy))
	p.row("dust", p.q(s.Dust))
	if !math.IsNaN(float64(s.Cost)) {
		what := "electricity and compressed air"
		if !math.IsNaN(float64(s.LifeDays)) && known(unit.Share(c.Filters.PriceEach)) {
			what += ", filters worn"
		}
		p.row("cost", money(c, float64(s.Cost)), what)
	}
	p.happened(t)
	p.notes(t)
	return p.print(w)
}

// happened lists faults and hands.
func (p *page) happened(t rehearse.Truth) {
	const most = 12
	if len(t.Faults) == 0 && len(t.Work) == 0 {
		return
	}
	p.gap()
	for _, f := range t.Faults {
		name := f.Cause
		if f.Number > 0 {
			name += fmt.Sprintf(" %d", f.Number)
		}
		p.indented("  ! ", "%s from %s, %s as bad as it gets.", name, f.From.Format("2 January 15:04"), f.Severity)
	}
	n, bins := 0, 0
	for _, w := range t.Work {
		if w.What == rehearse.EmptyBin {
			bins++
			continue
		}
		if n++; n <= most {
			p.indented("  - ", "%s: %s.", w.At.Format("2 January"), did(w, p.sys))
		}
	}
	if n > most {
		p.say("  and %d more.", n-most)
	}
	if bins > 0 {
		p.indented("  - ", "the bin was emptied %d times.", bins)
	}
}

func did(w rehearse.Work, sys unit.System) string {
	switch w.What {
	case rehearse.MoveDamper:
		return "damper set to " + w.Value.In(sys) + " open"
	case rehearse.ChangeFilters:
		return "new filters"
	case rehearse.ChangeAfter:
		return "new after-filter"
	case rehearse.SetPoints:
		return "set points changed"
	case rehearse.HeaderSet:
		return "header pressure set anew"
	}
	return string(w.What)
}

// notes says what was taken where the file is silent, and what a rehearsal is.
func (p *page) notes(t rehearse.Truth) {
	p.gap()
	if len(t.Notes) > 0 {
		p.say("The collector file does not say:")
		for _, n := range t.Notes {
			p.indented("  - ", "%s.", n)
		}
	}
	if t.Strained {
		p.say("For a part of the time the flow lay outside the fan curve; there it was carried on.")
	}
	p.say(aboutRehearsal)
}

// Rehearsals prints runs side by side, per year where they differ in length.
func Rehearsals(w io.Writer, sys unit.System, c *collector.Collector, runs []Rehearsed) error {
	p := &page{sys: sys}
	p.title(c)
	p.say("Rehearsed side by side from %s, with the same weather, work and dust (seed %d), until the first limit of the filters' life or for three years.",
		runs[0].Result.Truth.Start.Format("2 January 2006"), runs[0].Result.Truth.Seed)
	p.gap()
	cells := func(label string, f func(rehearse.Summary) string) {
		line := []string{label}
		for _, r := range runs {
			line = append(line, f(r.Result.Summary))
		}
		p.row(append(line, "")...)
	}
	head := []string{""}
	for _, r := range runs {
		head = append(head, r.Setting)
	}
	p.row(append(head, "")...)
	perYear := func(s rehearse.Summary) float64 { return 365.25 / s.Days }
	cells("life of the filters", func(s rehearse.Summary) string {
		if math.IsNaN(float64(s.LifeDays)) {
			return fmt.Sprintf("over %.0f days", s.Days)
		}
		return fmt.Sprintf("%.0f days (%s)", float64(s.LifeDays), s.Limit)
	})
	cells("pulses a year", func(s rehearse.Summary) string { return unit.Grouped(int(float64(s.Pulses) * perYear(s))) })
	cells("compressed air a year", func(s rehearse.Summary) string { return p.std(s.Air * unit.Volume(perYear(s))) })
	cells("fan electricity a year", func(s rehearse.Summary) string { return p.q(s.FanEnergy * unit.Energy(perYear(s))) })
	cells("mean airflow", func(s rehearse.Summary) string { return p.q(s.MeanFlow) })
	cells("lowest airflow", func(s rehearse.Summary) string { return p.q(s.LowestFlow) })
	if !math.IsNaN(float64(runs[0].Result.Summary.CostPerYear)) {
		cells("cost a year", func(s rehearse.Summary) string { return money(c, float64(s.CostPerYear)) })
	}
	p.gap()
	p.say(aboutRehearsal)
	return p.print(w)
}

// cleaned is the filters' dP just after cleaning on the first and the last running day; NaN without any.
func cleaned(days []rehearse.Day) (first, last unit.Pressure) {
	first, last = unit.Pressure(math.NaN()), unit.Pressure(math.NaN())
	for _, d := range days {
		if d.Ran > 3600 {
			if math.IsNaN(float64(first)) {
				first = d.AfterClean
			}
			last = d.AfterClean
		}
	}
	return first, last
}

func life(s rehearse.Summary) string {
	word := map[string]string{"dp": "their dP reached its limit", "flow": "the airflow fell below 95 % of design with the damper fully open",
		"air": "the pulses passed 80 % of what the air supply brings", "afterfilter": "the after-filter reached its limit"}[s.Limit]
	if word == "" {
		return "no limit of their life was reached"
	}
	return fmt.Sprintf("%s after %.0f days", word, float64(s.LifeDays))
}
