package plant

import (
	"encoding/json"
	"fmt"
	"sort"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

// Task is something due on a collector.
type Task struct {
	ID        string         `json:"id"` // unchanged while the same thing is due
	Collector string         `json:"collector"`
	What      collector.Text `json:"what"` // in the reader's units: In
	Why       collector.Text `json:"why"`
	Due       time.Time      `json:"due"`
	Minutes   float64        `json:"minutes"`
	Steps     []string       `json:"steps,omitempty"`
	Tools     []string       `json:"tools,omitempty"`
	Caution   collector.Text `json:"caution,omitzero"`
	Page      string         `json:"page"` // where it is done: the last part of the collector's address
}

// In returns the task with its sentences as they are printed in a system of units. As JSON it is in US units without it.
func (t Task) In(sys unit.System) Task {
	t.What, t.Why, t.Caution = t.What.Fixed(sys), t.Why.Fixed(sys), t.Caution.Fixed(sys)
	return t
}

// TasksIn returns tasks each as In does.
func TasksIn(list []Task, sys unit.System) []Task {
	out := make([]Task, len(list))
	for i, t := range list {
		out[i] = t.In(sys)
	}
	return out
}

// Rule is work that comes round: due so long after it was last done.
type Rule struct {
	ID      string
	What    string
	Days    int
	Minutes float64
	Steps   []string
	Tools   []string
	Caution string // id in judge's list
	Page    string
	Done    func(Record) bool // whether a record fulfils it
}

// rules lists the work that comes round. Intervals and steps are common practice, no source; local
// rules and the equipment's own manual may ask for more.
var rules = [...]Rule{
	{ID: "daily-reading", What: "Read the dP", Days: 1, Minutes: 2, Caution: "live", Page: "round",
		Steps: []string{"Read the gauge while the fan runs", "Look whether it swings between its set points"},
		Done:  isReading},
	{ID: "pulse-check", What: "Check the pulse of every valve", Days: 91, Minutes: 15, Caution: "live", Page: "valves",
		Tools: []string{"phone or header-pressure logger"},
		Steps: []string{"Record one whole cleaning cycle", "Compare the valves: all sound alike, as many pulses as valves", "Take a bad one through the bench check"},
		Done:  func(r Record) bool { return r.Kind == KindValveCheck }},
	{ID: "six-month", What: "Inspect filters, fan, belts and damper", Days: 182, Minutes: 60, Caution: "open-collector", Page: "inspect",
		Tools: []string{"lock and tag", "lamp rated for the dust", "belt tension gauge"},
		Steps: []string{"Lock out and prove zero energy, stored air included", "Look at the filters and the clean side", "Fan wheel, belts and guards",
			"Damper blade, linkage and mark", "Doors, gaskets and bin seal"},
		Done: func(r Record) bool { return r.Kind == KindInspection && bodyField(r, "task") == "six-month" }},
}

// isReading reports whether a record is a dP reading.
func isReading(r Record) bool {
	body, err := Open(r)
	if err != nil {
		return false
	}
	reading, ok := body.(*Reading)
	if !ok {
		return false
	}
	_, has := reading.Values["dp"]
	return has
}

// bodyField returns a text field of a record's body, "" where there is none.
func bodyField(r Record, name string) string {
	var fields map[string]any
	if json.Unmarshal(r.Body, &fields) != nil {
		return ""
	}
	text, _ := fields[name].(string)
	return text
}

// TaskInput is what tasks follow from.
type TaskInput struct {
	Collector *collector.Collector
	Records   []Record   // of this collector, oldest first
	Judgement *Judgement // nil where there is none yet
	BinDue    time.Time  // when the bin reaches two thirds, zero unknown
	Started   time.Time  // when the collector was taken into the books
}

// Tasks returns what is due or will be, soonest first. It is worked out from the records each time
// and kept nowhere, so that it can't disagree with them.
func Tasks(in TaskInput, now time.Time) []Task {
	tag := in.Collector.Tag
	var out []Task
	for _, r := range rules {
		last := in.Started
		for _, rec := range in.Records {
			if r.Done(rec) && rec.At.After(last) {
				last = rec.At
			}
		}
		if r.ID == "daily-reading" && in.Judgement != nil && in.Judgement.At.After(last) {
			last = in.Judgement.At // a logger reads too
		}
		out = append(out, Task{ID: tag + "/" + r.ID, Collector: tag, What: collector.Plain(r.What), Why: collector.Plain(everyDays(r.Days)), Due: last.AddDate(0, 0, r.Days),
			Minutes: r.Minutes, Steps: r.Steps, Tools: r.Tools, Caution: judge.Caution(r.Caution), Page: r.Page})
	}
	out = append(out, trimTask(in)...)
	out = append(out, openingTask(in, now)...)
	out = append(out, forecastTasks(in, now)...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Due.Before(out[j].Due) })
	return out
}

func everyDays(days int) string {
	switch days {
	case 1:
		return "every day"
	case 91:
		return "every three months"
	case 182:
		return "every six months"
	}
	return fmt.Sprintf("every %d days", days)
}

// later is the later of two records: one that was entered afterwards may tell of something earlier.
func later(a, b Record) Record {
	if b.At.Before(a.At) {
		return a
	}
	return b
}

// trimTask asks for the damper to be set after new filters, until a record says that it was.
func trimTask(in TaskInput) []Task {
	var changed, moved Record
	for _, r := range in.Records {
		switch r.Kind {
		case KindFilterChange:
			changed = later(changed, r)
		case KindDamperMove:
			moved = later(moved, r)
		}
	}
	if changed.ID == "" || !moved.At.Before(changed.At) {
		return nil
	}
	return []Task{{ID: in.Collector.Tag + "/trim-after-" + changed.ID, Collector: in.Collector.Tag, What: collector.Say("Trim the damper for the new filters"),
		Why: collector.Say("new filters let more air through until they season"), Due: changed.At, Minutes: 20,
		Steps:   []string{"Close the damper to the trim for new filters", "Measure the airflow", "Enter position and airflow"},
		Tools:   []string{"pitot tube", "manometer"},
		Caution: judge.Caution("live"), Page: "trim"}}
}

// forecastTasks are those that follow from the judgement: the next check, the order, the change, the bin.
func forecastTasks(in TaskInput, now time.Time) []Task {
	tag := in.Collector.Tag
	var out []Task
	if j := in.Judgement; j != nil {
		if j.NextCheck != nil && j.Standing != judge.Steady {
			out = append(out, Task{ID: tag + "/check-" + j.NextCheck.ID, Collector: tag, What: j.NextCheck.Text, Why: firstReason(j),
				Due: now, Minutes: j.NextCheck.Minutes, Tools: j.NextCheck.Tools, Caution: j.NextCheck.Caution, Page: "check"})
		}
		if j.Life != nil && !j.Life.OrderBy.IsZero() && !j.TooEarly() {
			out = append(out, Task{ID: tag + "/order", Collector: tag, What: collector.Say("Order filters"), Why: collector.Say("so that they are here before the old ones are done"),
				Due: j.Life.OrderBy.on(now.Location()), Minutes: 10, Page: "filters"})
		}
		if j.Life != nil && !j.Life.P50.IsZero() {
			out = append(out, Task{ID: tag + "/change", Collector: tag, What: collector.Say("Change the filters"), Why: collector.Say("forecast"),
				Due: j.Life.P50.on(now.Location()), Minutes: 60 * changeHours(in.Collector), Caution: judge.Caution("open-collector"), Page: "filters"})
		}
	}
	if !in.BinDue.IsZero() {
		out = append(out, Task{ID: tag + "/bin", Collector: tag, What: collector.Say("Empty the bin"), Why: collector.Say("it reaches two thirds then"), Due: in.BinDue,
			Minutes: 10, Caution: judge.Caution("bin"), Page: "bin"})
	}
	return out
}

func firstReason(j *Judgement) collector.Text {
	if len(j.Reasons) == 0 {
		return collector.Text{}
	}
	return j.Reasons[0]
}

// changeHours is how long a filter change takes [h], one hour where the file doesn't say.
func changeHours(c *collector.Collector) float64 {
	if h := float64(c.Cost.ChangeTime) / 3600; h > 0 {
		return h
	}
	return 1
}
