package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// sentence makes a clause a sentence: a capital at its head, a full stop at its end.
func sentence(clause string) string {
	clause = strings.TrimSpace(clause)
	if clause == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(clause)
	out := string(unicode.ToUpper(r)) + clause[n:]
	if !strings.ContainsAny(out[len(out)-1:], ".?:") {
		out += "."
	}
	return out
}

// dashed makes "needs-hands" "Needs hands".
func dashed(word string) string {
	return strings.TrimSuffix(sentence(strings.ReplaceAll(word, "-", " ")), ".")
}

// clock says when something was, as near as it needs saying: "13:20", "yesterday 13:20", "Sunday
// 13:20", "9 June 13:20", "9 June 2025".
func clock(now, t time.Time) string {
	t = t.In(now.Location())
	days := int(math.Round(midnight(now).Sub(midnight(t)).Hours() / 24))
	hm := t.Format("15:04")
	switch {
	case days == 0:
		return hm
	case days == 1:
		return "yesterday " + hm
	case days > 1 && days < 7:
		return t.Format("Monday ") + hm
	case t.Year() == now.Year() || now.Sub(t) < 200*24*time.Hour && t.Before(now):
		return t.Format("2 January ") + hm
	}
	return t.Format("2 January 2006")
}

// inDays says when something will be, by days.
func inDays(now, t time.Time) string {
	t = t.In(now.Location())
	days := int(math.Round(midnight(t).Sub(midnight(now)).Hours() / 24))
	switch {
	case days < -1:
		return fmt.Sprintf("%d days overdue", -days)
	case days == -1:
		return "due yesterday"
	case days == 0:
		return "today"
	case days == 1:
		return "tomorrow"
	case days < 14:
		return fmt.Sprintf("in %d days", days)
	}
	return day(now, t)
}

// day is a date without its time.
func day(now, t time.Time) string {
	t = t.In(now.Location())
	if t.Year() == now.Year() || t.After(now) && t.Sub(now) < 150*24*time.Hour {
		return t.Format("2 January")
	}
	if t.After(now.AddDate(1, 0, 0)) {
		return t.Format("January 2006")
	}
	return t.Format("2 January 2006")
}

// date is a forecast date; years away it has no day.
func date(now time.Time, d plant.Date) string {
	if d.IsZero() {
		return "more than three years away"
	}
	if d.Fine {
		return clock(now, d.Time)
	}
	t := time.Date(d.Year(), d.Month(), d.Day(), 12, 0, 0, 0, now.Location())
	return day(now, t)
}

// between says when the filters have to go.
func between(now time.Time, l *plant.Life) string {
	switch {
	case l == nil || l.P10.IsZero() && l.P50.IsZero() && l.P90.IsZero() && l.Limit == "":
		return "not known yet"
	case l.P10.IsZero():
		return "not within three years"
	case l.P90.IsZero():
		return date(now, l.P10) + " or later"
	}
	a, b := date(now, l.P10), date(now, l.P90)
	switch {
	case a == b:
		return "about " + a
	case !l.P10.Fine && l.P10.Year() != l.P90.Year() && !strings.HasSuffix(a, l.P10.Format("2006")):
		a += l.P10.Format(" 2006") // else the year behind the second would count for both
	}
	return a + " to " + b
}

// stamp is a time that shows near words and holds the exact ones.
func stamp(now, t time.Time) template.HTML {
	t = t.In(now.Location())
	return template.HTML(fmt.Sprintf(`<time datetime="%s" title="%s">%s</time>`, t.Format(time.RFC3339), t.Format("Mon 2 January 2006 15:04:05 MST"), clock(now, t)))
}

// causeSays describes a cause, also where its number is not known.
func causeSays(p judge.Probability) string {
	e, ok := judge.CauseOf(p.Cause)
	if !ok {
		return string(p.Cause)
	}
	return e.Describe(p.Number)
}

// remedyOf is what puts a cause right.
func remedyOf(p judge.Probability) collector.Text {
	e, _ := judge.CauseOf(p.Cause)
	return e.Advise(p.Number)
}

// say is the sentence to read if only one is read.
func say(now time.Time, j *plant.Judgement, sys unit.System) string {
	if j == nil {
		return "Nothing was read yet. Enter a first reading on the round, or import a log."
	}
	top := j.Causes[0]
	var b strings.Builder
	ordered := false
	switch {
	case top.Cause == judge.None && j.Standing != judge.Steady && len(j.Reasons) > 0:
		b.WriteString(sentence(j.Reasons[0].In(sys)))
		ordered = j.EndsSoon() // the first reason says it then
	case top.Cause == judge.None && top.P < judge.Believed:
		b.WriteString("No cause stands out in the readings.")
	case top.Cause == judge.None:
		b.WriteString("Nothing is wrong that shows in the readings.")
	default:
		text := causeSays(top)
		if j.Since != nil {
			text += since(now, j.Since)
		}
		if top.P < judge.Believed {
			text = "perhaps " + text
		}
		b.WriteString(sentence(text))
		if other, ok := beside(j.Pair, top.Cause); ok {
			fmt.Fprintf(&b, " Beside that, %s (both at once: %s).", causeSays(other), percent(j.Pair.P))
		}
	}
	if n := j.NextCheck; n != nil && j.Standing != judge.Steady {
		fmt.Fprintf(&b, " First: %s (%s).", uncapital(n.Text.In(sys)), minutes(n.Minutes))
	}
	if l := j.Life; l != nil && !l.OrderBy.IsZero() && l.OrderBy.Before(now.AddDate(0, 2, 0)) && !ordered && !j.TooEarly() {
		if l.OrderBy.Before(j.At) {
			b.WriteString(" Order filters now: " + date(now, l.OrderBy) + " is past.")
		} else {
			b.WriteString(" Order filters by " + date(now, l.OrderBy) + ".")
		}
	}
	return b.String()
}

// since says since when, as near as it is known.
func since(now time.Time, s *plant.Span) string {
	from, to := s.From.In(now.Location()), s.To.In(now.Location())
	switch {
	case s.Wide():
		return ", since some time between " + dated(now, from) + " and " + dated(now, to)
	case s.Hourly():
		return ", since " + clock(now, s.At)
	}
	return ", since about " + dated(now, s.At.In(now.Location()))
}

// dated is a day gone by, with its year where that is another one.
func dated(now, t time.Time) string {
	if t.Year() == now.Year() {
		return t.Format("2 January")
	}
	return t.Format("2 January 2006")
}

// beside returns the other cause of a pair; false where the cause is none of the two.
func beside(p *judge.Pair, c judge.Cause) (judge.Probability, bool) {
	switch {
	case p == nil:
		return judge.Probability{}, false
	case p.First.Cause == c:
		return p.Second, true
	}
	return p.First, p.Second.Cause == c
}

// minutes is how long a job takes.
func minutes(m float64) string {
	switch {
	case m < 1.5:
		return "1 minute"
	case m < 90:
		return fmt.Sprintf("%.0f minutes", m)
	}
	return fmt.Sprintf("%.2g hours", m/60)
}

// ofDesign is an airflow as a share of design.
func ofDesign(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// percent is a probability in words.
func percent(p float64) string {
	switch {
	case math.IsNaN(p):
		return "not known"
	case p > 0 && p < 0.01:
		return "below 1 %"
	case p > 0.99 && p < 1:
		return "above 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// plural counts things.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// shown is a number with its unit apart, for a page that sets them apart.
type shown struct{ Number, Unit string }

func show(kind unit.Kind, si float64, sys unit.System) shown {
	if math.IsNaN(si) {
		return shown{"–", ""}
	}
	v, symbol, decimals := unit.Shown(kind, si, sys)
	return shown{fmt.Sprintf("%.*f", decimals, v), symbol}
}

// uncapital takes the capital off a sentence that becomes a clause.
func uncapital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToLower(r)) + text[n:]
}
