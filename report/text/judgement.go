package text

import (
	"fmt"
	"io"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// Judgement prints what is concluded about one collector: the standing and the likely cause first,
// then why, what to check next, and the numbers.
func Judgement(w io.Writer, sys unit.System, j *plant.Judgement) error {
	p := &page{sys: sys}
	name := j.Collector
	if j.Service != "" {
		name += ", " + j.Service
	}
	p.say("%s, %s", name, clock(j.At))
	p.headline(j)
	p.gap()
	for i, r := range j.Reasons {
		prefix := "       "
		if i == 0 {
			prefix = "  why  "
		}
		p.indented(prefix, "%s", stop(capital(r.In(p.sys))))
	}
	if n := j.NextCheck; n != nil && j.Standing != judge.Steady {
		p.indented("  next ", "%s (%s). If %s, that tells.", n.Text, minutes(n.Minutes), n.Finding)
		if !n.Caution.IsZero() {
			p.indented("       CAUTION  ", "%s. %s", n.Caution, deference)
		}
	}
	p.gap()
	p.figures(j)
	p.otherCauses(j)
	p.missing(j.Missing)
	return p.print(w)
}

// StandingWord is the standing as it is said.
func StandingWord(s judge.Standing) string {
	return capital(strings.ReplaceAll(string(s), "-", " "))
}

// unsettled is the belief in any trouble at all from which the page says that something is probably wrong.
const unsettled = 0.7

// vague is the belief in the likeliest trouble below which the page does not say that this is it.
const vague = 0.25

// headline is the sentence to read if only one is read.
func (p *page) headline(j *plant.Judgement) {
	top := j.Causes[0]
	since := ""
	if j.Since != nil {
		since = sinceText(j.Since)
	}
	if says, ok := worn(j); ok {
		p.say("%s. %s", StandingWord(j.Standing), stop(capital(says.In(p.sys))))
		return
	}
	if top.Cause == judge.None && 1-top.P < unsettled && j.Standing.Rank() > 0 && len(j.Reasons) > 0 {
		p.say("%s. %s", StandingWord(j.Standing), stop(capital(j.Reasons[0].In(p.sys))))
		return
	}
	if top.Cause == judge.None && top.P < judge.Believed && 1-top.P < unsettled {
		p.say("%s. No cause stands out; likeliest is that %s.", StandingWord(j.Standing), causeText(top))
		return
	}
	if trouble, sound := troubled(j.Causes); j.Standing.Rank() > 0 && (top.Cause == judge.None && top.P < judge.Believed || trouble.P < vague && sound < judge.Believed) {
		p.say("%s. Something is probably not as it should be (%s), and what it is can't be told yet; first comes: %s.",
			StandingWord(j.Standing), percent(1-sound), causeText(trouble))
		return
	}
	if top.Cause != judge.None && j.Standing == judge.Steady {
		p.say("%s. If anything, %s.", StandingWord(j.Standing), causeText(top))
		return
	}
	p.say("%s. %s%s.", StandingWord(j.Standing), capital(causeText(top)), since)
	if top.Cause != judge.None && j.Standing.Rank() > 0 {
		entry, _ := judge.CauseOf(top.Cause)
		p.say("If so: %s.", entry.Advise(top.Number))
	}
}

// troubled is the likeliest trouble, and the probability that nothing is wrong.
func troubled(causes []judge.Probability) (trouble judge.Probability, sound float64) {
	for _, c := range causes {
		switch {
		case c.Cause == judge.None:
			sound = c.P
		case c.P > trouble.P:
			trouble = c
		}
	}
	return trouble, sound
}

// worn is the reason of a collector that is not steady only because its filters have to be ordered.
func worn(j *plant.Judgement) (says collector.Text, ok bool) {
	top := j.Causes[0]
	if top.Cause != judge.None || 1-top.P >= unsettled || j.Standing == judge.Steady || !j.EndsSoon() {
		return collector.Text{}, false
	}
	return j.Reasons[0], true // EndsSoon: the first reason says so
}

// causeText is a cause in words, with its probability.
func causeText(c judge.Probability) string {
	e, _ := judge.CauseOf(c.Cause)
	return e.Describe(c.Number) + " (" + percent(c.P) + ")"
}

// fact writes a label and what belongs to it, wrapped.
func (p *page) fact(label, text string) { p.indented(fmt.Sprintf("  %-34s", label), "%s", text) }

// figures are the numbers that go with the judgement.
func (p *page) figures(j *plant.Judgement) {
	if r := j.Reading; r != nil {
		p.fact("dP as read", p.q(unit.Pressure(r.Value)))
	}
	if d := j.Drag; d != nil {
		p.fact("dP after cleaning, at design flow", p.q(unit.Pressure(d.DPAtDesignFlow)))
	}
	if a := j.AfterFilter; a != nil {
		p.fact("after-filter, at design flow", p.q(unit.Pressure(a.DPAtDesignFlow)))
	}
	if a := j.Airflow; a != nil {
		p.fact("airflow", fmt.Sprintf("%s, %s of design (%s to %s; %s)", p.q(unit.Flow(a.Value)), unit.Share(a.DesignShare).In(p.sys),
			p.q(unit.Flow(a.Low)), p.q(unit.Flow(a.High)), a.Method))
	}
	if t := j.Trim; t != nil {
		text := unit.Share(t.Open).In(p.sys) + " open for design flow"
		if !t.Holds {
			text = "fully open, and still short of design flow"
		}
		p.fact("damper", text)
	}
	if d := j.Ducts; d != nil {
		p.fact("ducts", d.Says(p.sys))
	}
	if l := j.Life; l != nil {
		p.fact("change the filters", lifeText(l))
		switch {
		case j.TooEarly():
			p.fact("order them", "now, to be on the safe side; it is too early to say")
		case !l.OrderBy.IsZero():
			p.fact("order them by", orderText(l.OrderBy, j.At))
		}
		if c := l.Cured; c != nil {
			p.fact("once that is put right", lifeText(&plant.Life{P10: c.P10, P50: c.P50, P90: c.P90}))
		}
	}
}

// sinceText says since when, as near as it is known.
func sinceText(s *plant.Span) string {
	switch {
	case s.Wide() && s.From.Year() == s.To.Year():
		return ", since some time between " + s.From.Format("2 January") + " and " + s.To.Format("2 January 2006")
	case s.Wide():
		return ", since some time between " + s.From.Format("2 January 2006") + " and " + s.To.Format("2 January 2006")
	case s.Hourly():
		return ", since " + clock(s.At)
	}
	return ", since about " + s.At.Format("2 January 2006")
}

// orderText says by when to order, or that it is late.
func orderText(d plant.Date, at time.Time) string {
	if d.Before(at) {
		return "now: " + date(d) + " is past"
	}
	return date(d)
}

// lifeText says when the filters have to go.
func lifeText(l *plant.Life) string {
	limit := map[string]string{"dp": "their dP", "flow": "the airflow", "air": "the pulse air", "afterfilter": "the after-filter"}[l.Limit]
	if limit != "" {
		limit = "; first limit: " + limit
	}
	switch {
	case l.P10.IsZero():
		return "not within three years" + limit
	case l.P50.IsZero():
		return "not before " + date(l.P10) + limit
	case l.P90.IsZero():
		return fmt.Sprintf("from %s on, most likely about %s%s", date(l.P10), date(l.P50), limit)
	}
	return fmt.Sprintf("between %s and %s, most likely about %s%s", date(l.P10), date(l.P90), date(l.P50), limit)
}

// otherCauses lists what else it may be.
func (p *page) otherCauses(j *plant.Judgement) {
	var list []string
	for _, c := range j.Causes[1:] {
		if c.P < 0.02 || len(list) == 4 {
			break
		}
		list = append(list, causeText(c))
	}
	if len(list) > 0 {
		p.gap()
		p.indented("  or   ", "%s.", capital(strings.Join(list, "; ")))
	}
}

// missing lists what is not there and what that costs.
func (p *page) missing(list []judge.Missing) {
	if len(list) == 0 {
		return
	}
	p.gap()
	p.say("Not in the record:")
	for _, m := range list {
		p.indented("  - ", "%s: %s.", m.Channel, m.Costs)
	}
}

// stop ends a sentence, unless an abbreviation has ended it already.
func stop(s string) string {
	if strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

func percent(p float64) string {
	switch {
	case p > 0.995:
		return "over 99 %"
	case p < 0.01:
		return "below 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

func minutes(m float64) string {
	if m == 1 {
		return "1 minute"
	}
	return fmt.Sprintf("%.0f minutes", m)
}

func clock(t time.Time) string { return t.Format("2 January 2006 15:04") }

func date(d plant.Date) string {
	if d.Fine {
		return d.Format("2 January 2006 15:04")
	}
	return d.Format("2 January 2006")
}
