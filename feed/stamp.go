package feed

import (
	"slices"
	"time"
)

// settleTimes turns the times of one file, the rows of the table from row `from` on, into points in
// time, now that the whole column has been seen: which of day and month stands first, what a bare
// date stands for, which pass of a repeated hour is meant.
func (t *table) settleTimes(from int, lay *layout, seen marks, report *Report) error {
	times := t.times[from:]
	if lay.counted || len(times) == 0 {
		return nil
	}
	if seen&eitherWay != 0 {
		if err := settleOrder(times, lay, seen, report); err != nil {
			return err
		}
	}
	if seen&(bareDate|serialDay) != 0 && wholeDays(times) {
		spreadDates(times)
	}
	if seen&local == 0 || lay.zoned != 0 {
		return nil
	}
	clock := newWallClock(lay.zone)
	if !falls(times) {
		clock.settle(times)
	} else {
		wall := slices.Clone(times)
		if clock.settle(times); !slices.IsSorted(times) { // newest first, and not one repeated hour
			copy(times, wall)
			clock = newWallClock(lay.zone)
			slices.Reverse(times)
			clock.settle(times)
			slices.Reverse(times)
		}
	}
	clock.tell(lay.file, report)
	return nil
}

// settle turns wall readings into points in time.
func (w *wallClock) settle(times []int64) {
	for i, wall := range times {
		times[i] = w.utc(wall)
	}
}

// tell reports the hours that daylight saving made doubtful.
func (w *wallClock) tell(file string, report *Report) {
	if w.skipped > 0 {
		at := time.Unix(0, w.firstSkip).UTC().Format("2006-01-02 15:04")
		report.note("%s: %s in an hour that daylight saving skips in %s, the first at %s; if the logger's clock does not follow daylight saving, "+
			"give its offset as zone in a mapping, for example zone = \"-06:00\"", file, count(w.skipped, "time lies", "times lie"), w.zone, at)
	}
	if w.repeated > 0 {
		report.note("%s: %s in an hour that daylight saving repeats; the order of the rows told the two passes apart", file, count(w.repeated, "time lies", "times lie"))
	}
}

// falls reports whether the log is written newest first.
func falls(times []int64) bool {
	down, up := 0, 0
	for i := 1; i < len(times); i++ {
		if times[i] < times[i-1] {
			down++
		} else if times[i] > times[i-1] {
			up++
		}
	}
	return down > up
}

// wholeDays reports whether no reading has a time of day.
func wholeDays(times []int64) bool {
	for _, t := range times {
		if t%day != 0 {
			return false
		}
	}
	return true
}

// settleOrder decides whether the day or the month stands first in dates like 3/2/2026: by a date
// that can be read only one way, else by the reading that makes the log hang together better.
func settleOrder(times []int64, lay *layout, seen marks, report *Report) error {
	isDay, isMonth := seen&provesDay != 0, seen&provesMon != 0
	if isDay && isMonth {
		return &Error{File: lay.file, Why: "some dates have the day first and others the month",
			Do: "export it with one kind of date, best as 2026-03-02, or split it and give each part its time format in a mapping"}
	}
	want := lay.order
	switch {
	case isDay:
		want = dayFirst
	case isMonth:
		want = monthFirst
	default:
		asRead, swapped := roughness(times, false), roughness(times, true)
		switch {
		case swapped < asRead-asRead/10:
			want = dayFirst - lay.order
		case asRead >= swapped-swapped/10:
			tellOrder(times, lay, report)
		}
	}
	if want != lay.order {
		if seen&zoned != 0 {
			return &Error{File: lay.file, Why: "dates with an offset behind them do not say which of day and month stands first", Do: "give the time format in a mapping"}
		}
		for i := range times {
			times[i] = swapDate(times[i])
		}
	}
	return nil
}

func tellOrder(times []int64, lay *layout, report *Report) {
	first, other := "month", "D/M/YYYY hh:mm"
	if lay.order == dayFirst {
		first, other = "day", "M/D/YYYY hh:mm"
	}
	report.note("%s: nothing in the dates tells day from month; the %s is taken to stand first, so that the log begins on %s; "+
		"if that is wrong, give the time format in a mapping, for example format = %q", lay.file, first, time.Unix(0, times[0]).UTC().Format("2 January 2006"), other)
}

// swapDate exchanges day and month of a date where both can be either.
func swapDate(t int64) int64 {
	n := t / day
	y, m, d := civil(n)
	if d > 12 {
		return t
	}
	return t + (days(y, d, m)-n)*day
}

// roughness is the way the times go from row to row, forwards or back, counted in whole seconds.
func roughness(times []int64, swapped bool) int64 {
	var sum, prev int64
	for i, t := range times {
		if swapped {
			t = swapDate(t)
		}
		if step := (t - prev) / second; i > 0 {
			sum += max(step, -step)
		}
		prev = t
	}
	return sum
}
