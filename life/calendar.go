package life

import (
	"math"
	"time"
)

// calendar turns running hours to come into dates.
type calendar struct {
	at    time.Time
	share float64 // of the clock during which the machine runs
	shift float64 // running hours in a day: what is left of life within one shift runs straight on
}

// newCalendar takes the running time to come from the input or the record.
func newCalendar(in Input, n *now) calendar {
	share := runShare(n.current.Points, in)
	return calendar{at: in.At, share: share, shift: 24 * share}
}

// clock returns the time that passes while the machine runs for some hours [h]. The first shift is
// taken to run straight on, whole days after that at the usual share.
func (c calendar) clock(hours float64) float64 {
	if hours <= c.shift {
		return hours
	}
	return c.shift + (hours-c.shift)/c.share
}

// hours returns the running hours in a span of time from now.
func (c calendar) hours(d time.Duration) float64 {
	h := d.Hours()
	if h <= c.shift {
		return h
	}
	return c.shift + (h-c.shift)*c.share
}

// date returns when some running hours will have passed; zero beyond the horizon.
func (c calendar) date(hours float64) time.Time {
	h := c.clock(hours)
	if math.IsNaN(h) || h > horizon.Hours() {
		return time.Time{}
	}
	return c.at.Add(time.Duration(h * float64(time.Hour))).Round(time.Second)
}

// dates returns the dates of three quantiles.
func (c calendar) dates(q []float64) Dates {
	return Dates{c.date(q[0]), c.date(q[1]), c.date(q[2])}
}

// OrderBy returns the last day on which an order still arrives before due: due less the lead time,
// in calendar days of due's zone where the lead time is whole days. A zero due stays zero.
// Source: arithmetic; check values in testdata/order_by_dates.csv.
func OrderBy(due time.Time, lead time.Duration) time.Time {
	if due.IsZero() {
		return due
	}
	const day = 24 * time.Hour
	if lead%day == 0 {
		return due.AddDate(0, 0, -int(lead/day))
	}
	return due.Add(-lead)
}
