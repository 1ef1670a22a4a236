package text

import (
	"io"
	"strings"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// Plant prints several collectors, in the order given: a line each, then the whole page of those that
// are not steady.
func Plant(w io.Writer, sys unit.System, list []*plant.Judgement) error {
	p := &page{sys: sys}
	p.row("collector", "dP", "airflow", "change between", "standing, and what is likely the matter")
	for _, j := range list {
		dp, air, change := "-", "-", "-"
		if j.Reading != nil {
			dp = p.q(unit.Pressure(j.Reading.Value))
		}
		if j.Airflow != nil {
			air = unit.Share(j.Airflow.DesignShare).In(sys)
		}
		if j.Life != nil {
			change = shortLife(j.Life)
		}
		p.row(j.Collector, dp, air, change, StandingWord(j.Standing)+": "+likely(j))
	}
	if err := p.print(w); err != nil {
		return err
	}
	for _, j := range list {
		if j.Standing == judge.Steady {
			continue
		}
		if _, err := io.WriteString(w, "\n"); err != nil {
			return err
		}
		if err := Judgement(w, sys, j); err != nil {
			return err
		}
	}
	return nil
}

// likely is the likeliest cause in words, with its probability.
func likely(j *plant.Judgement) string {
	if says, ok := worn(j); ok {
		text, _, _ := strings.Cut(says.String(), ":") // the date stands on the collector's own page
		return text
	}
	top := j.Causes[0]
	if top.Cause == judge.None && top.P < judge.Believed {
		if j.Standing == judge.Steady {
			return "no cause stands out"
		}
		top = j.Causes[1]
	}
	if j.Standing == judge.Steady && top.Cause != judge.None {
		return "if anything, " + causeText(top)
	}
	return causeText(top)
}

// shortLife is the span of the change of filters in few characters.
func shortLife(l *plant.Life) string {
	day := func(d plant.Date) string {
		if d.IsZero() {
			return "later"
		}
		return d.Format("2 Jan 2006")
	}
	if l.P10.IsZero() {
		return "not in 3 years"
	}
	return day(l.P10) + " and " + day(l.P90)
}
