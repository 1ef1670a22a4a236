package web

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"sort"
	"strings"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// todayPage is the page of all collectors, worst standing first.
type todayPage struct {
	List  []card
	Tasks []taskLine // of all collectors, due within a week
	More  int        // tasks due that are not shown
	Stops int
}

// card is one collector on Today.
type card struct {
	Tag, Service string
	Standing     judge.Standing
	Tube         template.HTML
	Say          string
	Facts        []fact
	Due          []taskLine // overdue or due today
}

// fact is a number with its name and unit.
type fact struct{ Name, Value, Unit string }

// taskLine is a task on a page.
type taskLine struct {
	Tag, What, Why, When, Page string
	Minutes                    string
	Over                       bool
}

// today shows every collector, or greets where there is none.
func (s *Server) today(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(_ context.Context, v *plant.View) (*answer, error) {
		if len(v.List) == 0 {
			return s.html("welcome", s.page(r, "Dustwright"))
		}
		p := s.page(r, "Today")
		p.Sub = headline(p.Now, v)
		body := todayPage{Stops: len(v.Walk)}
		for _, o := range v.List {
			body.List = append(body.List, cardOf(o, p.Now, p.Units))
		}
		body.Tasks, body.More = dueTasks(v, p)
		p.Body = body
		return s.html("today", p)
	})
}

// headline counts what there is.
func headline(now time.Time, v *plant.View) string {
	count := map[judge.Standing]int{}
	for _, o := range v.List {
		count[o.Standing()]++
	}
	parts := []string{now.Format("Mon 2 January"), plural(len(v.List), "collector", "collectors")}
	if n := count[judge.MakeSafe]; n > 0 {
		parts = append(parts, fmt.Sprintf("%d to make safe", n))
	}
	if n := count[judge.NeedsHands]; n == 1 {
		parts = append(parts, "1 needs hands")
	} else if n > 1 {
		parts = append(parts, fmt.Sprintf("%d need hands", n))
	}
	return strings.Join(parts, " · ")
}

// cardOf is what Today says of a collector.
func cardOf(o *plant.Overview, now time.Time, sys unit.System) card {
	c := card{Tag: o.Machine.Tag, Service: o.Collector.Service, Standing: o.Standing(), Tube: gaugeOf(o, sys, false).svg(), Say: say(now, o.Judgement, sys)}
	c.Facts = factsOf(o, now, sys)
	for _, t := range o.Tasks {
		if dueNow(t, now) && t.Page != "check" { // the sentence says the check already
			c.Due = append(c.Due, lineOf(t, now, sys))
		}
	}
	return c
}

// factsOf are the quiet numbers below the sentence.
func factsOf(o *plant.Overview, now time.Time, sys unit.System) []fact {
	var out []fact
	j := o.Judgement
	if j != nil {
		if j.Reading != nil {
			n := show(unit.KindPressure, j.Reading.Value, sys)
			out = append(out, fact{"dP", n.Number, n.Unit})
		}
		if j.Drag != nil {
			n := show(unit.KindPressure, j.Drag.DPAtDesignFlow, sys)
			out = append(out, fact{"after cleaning", n.Number, n.Unit + " at design flow"})
		}
		if j.Airflow != nil {
			out = append(out, fact{"air", ofDesign(j.Airflow.DesignShare), "of design"})
		} else {
			out = append(out, fact{"air", "not known", ""})
		}
		out = append(out, fact{"change", between(now, j.Life), ""})
	}
	if !o.BinDue.IsZero() {
		out = append(out, fact{"bin", inDays(now, o.BinDue), ""})
	}
	if !o.Last.IsZero() && now.Sub(o.Last) > 26*time.Hour {
		out = append(out, fact{"last reading", clock(now, o.Last), ""})
	}
	return out
}

// dueNow reports whether a task is due today or overdue.
func dueNow(t plant.Task, now time.Time) bool { return t.Due.Before(midnight(now).AddDate(0, 0, 1)) }

// lineOf is a task on a page.
func lineOf(t plant.Task, now time.Time, sys unit.System) taskLine {
	return taskLine{Tag: t.Collector, What: t.What.In(sys), Why: t.Why.In(sys), When: inDays(now, t.Due), Page: t.Page, Minutes: minutes(t.Minutes), Over: t.Due.Before(midnight(now))}
}

// tasksShown is how many tasks Today lists; the rest is counted.
const tasksShown = 12

// dueTasks are the tasks of the coming week over all collectors but the daily reading, which the round
// does, and the next checks, which each collector's card says.
func dueTasks(v *plant.View, p *page) (list []taskLine, more int) {
	now := p.Now
	var due []plant.Task
	for _, o := range v.List {
		for _, t := range o.Tasks {
			if t.Page == "round" || t.Page == "check" || t.Due.After(now.AddDate(0, 0, 7)) {
				continue
			}
			due = append(due, t)
		}
	}
	sort.SliceStable(due, func(i, j int) bool { return due[i].Due.Before(due[j].Due) })
	for i, t := range due {
		if i == tasksShown {
			return list, len(due) - i
		}
		list = append(list, lineOf(t, now, p.Units))
	}
	return list, 0
}
