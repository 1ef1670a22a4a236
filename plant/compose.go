package plant

import (
	"fmt"
	"math"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/life"
	"dustwright/sense"
	"dustwright/unit"
)

// JudgeInput is what a judgement is composed from.
type JudgeInput struct {
	Collector *collector.Collector
	History   *sense.History
	At        time.Time // zero: as of the last reading
	Answers   []judge.Answer
	Zone      *time.Location // of the site, for the times in the judgement; nil leaves them in UTC

	Experience judge.Experience // what the plant knows better than the lists
	Sisters    []life.Record    // lives of the filters of collectors of the same kind that ended, oldest first
}

// Judge composes the judgement of one collector: what was seen, what causes it, how long the filters
// last and where the damper goes. What can't be answered is nil and named under Missing. It is a
// pure function of its input.
func Judge(in JudgeInput) *Judgement {
	return compose(in).Judgement
}

// JudgeAndPast is Judge, with the lives of the collector's filters that ended, for its sisters.
func JudgeAndPast(in JudgeInput) (*Judgement, []life.Record) {
	made := compose(in)
	return made.Judgement, pastOf(made.lives)
}

// composed is a judgement with what it follows from.
type composed struct {
	*Judgement
	features *sense.Features
	lives    []life.Record // of the collector's own filters; nil where the dP is not believed
}

// compose is Judge, with what the judgement follows from.
func compose(in JudgeInput) *composed {
	c := in.Collector
	zone := in.Zone
	if zone == nil {
		zone = time.UTC
	}
	at := in.At
	if at.IsZero() {
		at = time.Unix(0, in.History.Last)
	}
	f := sense.At(in.History, c, at.In(zone))
	for i := range f.Valves {
		v := &f.Valves[i]
		v.Since, v.SilentSince, v.LastDrop = onSite(v.Since, zone), onSite(v.SilentSince, zone), onSite(v.LastDrop, zone)
	}
	r := judge.Judge(judge.Input{Collector: c, Features: f, Answers: in.Answers, Experience: in.Experience})
	j := &Judgement{Collector: c.Tag, Service: c.Service, At: at.In(zone), Standing: r.Standing, Causes: r.Causes, Pair: r.Pair,
		NextCheck: r.Next, Missing: r.Missing, Experience: in.Experience.Mark}
	for _, reason := range r.Reasons {
		j.Reasons = append(j.Reasons, reason.Text)
	}
	if !r.Since.IsZero() {
		j.Since = &Span{onSite(r.Since, zone), onSite(r.SinceLow, zone), onSite(r.SinceTop, zone)}
	}
	j.reading(f, zone)
	j.airflow(f, c)
	j.drag(f, c)
	j.afterFilter(f, c)
	out := &composed{Judgement: j, features: f}
	if reads, makes, is := beyond(f, c); is {
		j.disbelieve(reads, makes)
	} else {
		j.trim(f, c)
		j.ducts(c)
		out.lives = j.life(in, f, r, zone)
		j.ending(at)
		j.ductReason()
	}
	j.changes(f, zone)
	if j.Missing == nil {
		j.Missing = []judge.Missing{}
	}
	return out
}

// onSite is a time of the record by the clock of the site. A record's days begin at midnight by the offset that its first reading had,
// so that what is known by the day stays that day when daylight saving has come or gone since.
func onSite(t time.Time, zone *time.Location) time.Time {
	at := t.In(zone)
	if h, m, s := t.Clock(); h+m+s > 0 || t.IsZero() {
		return at
	}
	year, month, day := t.Date()
	if begins := time.Date(year, month, day, 0, 0, 0, 0, zone); begins.Sub(at).Abs() <= time.Hour {
		return begins
	}
	return at
}

// lack names something that can't be answered.
func (j *Judgement) lack(channel, costs string) {
	j.Missing = append(j.Missing, judge.Missing{Channel: channel, Costs: costs})
}

// nearEnd is how long before the order-by date the end of the filters' life becomes what a collector is about.
const nearEnd = 14 * 24 * time.Hour

// farEnd is how far off the likeliest end of the filters' life is at least where it is too early to say. Common practice, no source.
const farEnd = 6 * 7 * 24 * time.Hour

// EndsSoon reports that the filters have to be ordered within a fortnight, or should have been; a reason then says so,
// the first one unless a trouble comes before it.
func (j *Judgement) EndsSoon() bool { return j.ordersSoon() && !j.TooEarly() }

func (j *Judgement) ordersSoon() bool {
	return j.Life != nil && !j.Life.OrderBy.IsZero() && j.Life.OrderBy.Sub(j.At) <= nearEnd
}

// TooEarly reports that new filters would have to be ordered by now to be on the safe side, and that this is only so because so
// little is known: most likely there is a month or more to spare.
func (j *Judgement) TooEarly() bool {
	l := j.Life
	if !j.ordersSoon() || l.P10.IsZero() {
		return false
	}
	lead := max(0, l.P10.Sub(l.OrderBy.Time))
	return l.P50.IsZero() || l.P50.Sub(j.At) > max(farEnd, lead+2*nearEnd)
}

// ending turns a steady collector whose filters have to be ordered soon into a drifting one, and says so: first, or
// after the reasons of a trouble that was called.
func (j *Judgement) ending(at time.Time) {
	if j.TooEarly() {
		until := "more than three years"
		if !j.Life.P90.IsZero() {
			until = "until " + j.Life.P90.Format("2 January 2006")
		}
		j.Reasons = append(j.Reasons, collector.Say("it is too early to say how long the filters last: perhaps only until %s, perhaps %s", j.Life.P10.Format("2 January 2006"), until))
	}
	if !j.EndsSoon() {
		return
	}
	trouble := j.Standing != judge.Steady && j.Causes[0].Cause != judge.None
	if j.Standing == judge.Steady {
		j.Standing = judge.Drifting
	}
	by := j.Life.OrderBy.Format("2 January 2006")
	text := collector.Say("the filters are near the end of their life: order new ones by %s", by)
	if j.Life.OrderBy.Before(at) {
		text = collector.Say("the filters are near the end of their life: new ones should have been ordered by %s", by)
	}
	if trouble {
		j.Reasons = append(j.Reasons, text)
		return
	}
	j.Reasons = append([]collector.Text{text}, j.Reasons...)
}

// reading gives the dP as it was read of late.
func (j *Judgement) reading(f *sense.Features, zone *time.Location) {
	if raw := f.Get(sense.DPRaw).Now; raw.Known() {
		j.Reading = &Pressure{rounded(raw.Value, 4), "Pa", f.Last.In(zone)}
	}
}

// z80 is the half width of an 80 % interval in standard deviations.
const z80 = 1.2816

// airflow gives the airflow with its width and how it was had.
func (j *Judgement) airflow(f *sense.Features, c *collector.Collector) {
	q := f.FlowNow
	if !q.Known() || len(f.FlowBy) == 0 || f.FlowBy[0].Name == "design" {
		j.lack("flow", "the airflow is not known: neither measured nor to be inferred; design flow is assumed for the drag")
		return
	}
	a := &Airflow{Value: rounded(q.Value, 4), Low: rounded(math.Max(0, q.Value-z80*q.Sigma), 4), High: rounded(q.Value+z80*q.Sigma, 4),
		Unit: "m3/s", Method: "inferred", DesignShare: rounded(q.Value/float64(c.Duty.Flow), 4)}
	var by []string
	for _, m := range f.FlowBy {
		if m.Name == "measured" {
			a.Method = "measured"
		}
		by = append(by, m.Name)
	}
	a.By = strings.Join(by, ", ")
	if a.Method == "inferred" {
		j.lack("flow", fmt.Sprintf("airflow is inferred from %s, within %.0f %%", a.By, 100*z80*q.Sigma/q.Value))
	}
	j.Airflow = a
}

// drag gives the state of the filters just after cleaning.
func (j *Judgement) drag(f *sense.Features, c *collector.Collector) {
	d := f.Get(sense.DragAfter).Now
	if !d.Known() {
		j.lack("dp", "the drag just after cleaning is not known: no cleaning was seen in the record")
		return
	}
	face := float64(c.Duty.Flow) / float64(c.Filters.Area())
	sigma := d.Sigma
	if !finite(sigma) { // seen once: no better than itself
		sigma = math.Abs(d.Value)
	}
	j.Drag = &Drag{AfterCleaning: rounded(d.Value, 4), Sigma: rounded(sigma, 2), Unit: "Pa.s/m", DPAtDesignFlow: rounded(d.Value*face, 4), DPUnit: "Pa"}
}

// afterFilter gives the state of the after-filter.
func (j *Judgement) afterFilter(f *sense.Features, c *collector.Collector) {
	if m := f.Get(sense.AfterfilterLevel).Now; m.Known() && c.AfterFilter.Fitted {
		j.AfterFilter = &AfterFilter{DPAtDesignFlow: rounded(math.Max(0, m.Value), 4), DPUnit: "Pa"}
	}
}

// TrimRequest asks where the damper goes with the after-filter as it stands. Where nobody reads it, or j is nil, it counts as new.
func (j *Judgement) TrimRequest() collector.TrimRequest {
	r := collector.NewTrimRequest()
	if j != nil && j.AfterFilter != nil {
		r.AfterFilterDP = unit.Pressure(j.AfterFilter.DPAtDesignFlow)
	}
	return r
}

// trim gives the damper position for design flow with the filters as they are.
func (j *Judgement) trim(f *sense.Features, c *collector.Collector) {
	raw := f.Get(sense.DPRaw).Now
	if !raw.Known() {
		return
	}
	least := 0.0
	if clean := float64(c.Filters.CleanDP); clean > 0 {
		least = leastOfClean * clean
	}
	if raw.Value <= least || j.doubted() {
		j.lack("damper", "no trim can be given: it goes by the dP, and the gauge or one of its sensing lines is likely wrong; see to that first")
		return
	}
	r := j.TrimRequest()
	r.FilterDP = unit.Pressure(raw.Value)
	if open := f.Get(sense.DamperOpen).Now; open.Known() {
		r.Damper = unit.Share(math.Min(1, math.Max(0, open.Value)))
	}
	t, err := c.TrimNow(r)
	if err != nil || t.Now == nil || !finite(float64(t.Now.Open)) || !finite(float64(t.Now.Point.Flow)) {
		j.lack("damper", "no trim can be given: it needs the fan's curve and the damper's commissioning points in the collector file")
		return
	}
	j.Trim = &Trim{Open: rounded(float64(t.Now.Open), 3), Flow: rounded(float64(t.Now.Point.Flow), 4), FlowUnit: "m3/s", Holds: t.Now.Held}
}

// leastOfClean is the share of the dP of new filters at design flow below which a reading with the fan running is none:
// it goes with the airflow, and less than a quarter of that is no operation. Common practice, no source.
const leastOfClean = 0.25

// doubted reports that the dP is read over a sensing line that is more likely wrong than right.
func (j *Judgement) doubted() bool {
	sum := 0.0
	for _, p := range j.Causes {
		if p.Cause == judge.GaugeLineBlocked || p.Cause == judge.GaugeLineOff {
			sum += p.P
		}
	}
	return sum > 0.5
}

// changeWords says what each kind of change is.
var changeWords = map[string]string{
	"filters": "new filters", "damper": "damper moved", "setpoint-high": "high set point moved", "setpoint-low": "low set point moved",
	"header-set": "header pressure reset", "gauge": "dP gauge re-zeroed",
}

// changes lists the work of the last months, logged or found. What is rather doubted is no fact to be told.
func (j *Judgement) changes(f *sense.Features, zone *time.Location) {
	for _, ch := range f.Changes {
		if !ch.Likely() {
			continue
		}
		word := changeWords[ch.Kind]
		if word == "" {
			word = ch.Kind
		}
		text := collector.Plain(word)
		if kind, ok := map[string]unit.Kind{"Pa": unit.KindPressure, "1": unit.KindShare}[ch.Unit]; ok && finite(ch.After) {
			if finite(ch.Before) { // who notes a move need not know where it stood
				text = collector.Say("%s from %s", text, amount{kind, ch.Before})
			}
			text = collector.Say("%s to %s", text, amount{kind, ch.After})
		}
		if !ch.Logged {
			text = collector.Say("%s, found in the record", text)
		}
		j.Changes = append(j.Changes, Change{At: onSite(ch.At, zone), Kind: ch.Kind, Text: text, Logged: ch.Logged})
	}
}

// amount is a value of a kind known only when it runs, as a sentence tells it.
type amount struct {
	kind unit.Kind
	si   float64
}

// In is the value in the units of a system.
func (a amount) In(sys unit.System) string { return unit.Print(a.kind, a.si, sys) }
