package feed

import (
	"os"
	"time"
)

// reading is one call of Read or Stream: what the files have in common.
type reading struct {
	paths   []string
	opts    *Options
	report  *Report
	total   int64 // bytes of all files
	before  int64 // bytes of the files that are done
	counted int   // rows so far of files without a time column
	zone    *time.Location
	told    map[string]bool // sentences that hold for all files and are said once
}

func newReading(paths []string, opts *Options) *reading {
	r := &reading{paths: paths, opts: opts, report: &Report{}, told: map[string]bool{}}
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil || !info.Mode().IsRegular() {
			r.total = 0
			break
		}
		r.total += info.Size()
	}
	return r
}

// sizeOf returns the size of a log for the progress bar, 0 where it is not known.
func (r *reading) sizeOf(path string) int64 {
	if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
		return info.Size()
	}
	return 0
}

// sink takes the rows of a file, batch after batch, in the order of the file.
type sink interface {
	begin(lay *layout, rows int) error // rows is an estimate
	take(lay *layout, b *batch) error  // b is used again afterwards
	end(lay *layout) error
}

// fileSum is what the batches of one file come to.
type fileSum struct {
	rows   int
	first  int64 // of the file's times [unix ns]
	last   int64
	marks  marks
	offset int32
	tally  tally
	bad    []int // cells of each column that could not be used
	faults []Fault
	more   int
}

func (f *fileSum) add(b *batch) {
	f.rows += b.rows
	f.marks |= b.marks
	if b.marks&zoned != 0 {
		f.offset = b.offset
	}
	f.tally.add(b.tally)
	f.faults = append(f.faults, b.faults...)
	f.more += b.more
	if f.bad == nil {
		f.bad = make([]int, len(b.bad))
	}
	for k, n := range b.bad {
		f.bad[k] += n
	}
}

func (t *tally) add(u tally) {
	t.sentinels += u.sentinels
	t.repeats += u.repeats
	t.mixed += u.mixed
	t.cutShort += u.cutShort
}

// noRows says why a file gave no row at all.
func (r *reading) noRows(lay *layout, sum *fileSum) error {
	if sum.rows > 0 {
		return nil
	}
	e := &Error{File: lay.file, Why: "it names its columns but holds no readings", Do: "check that the logger was running"}
	if len(sum.faults) > 0 {
		e.Why = "no row of it can be used; the first: " + sum.faults[0].String()
		e.Do = "write times like 2026-03-02T07:00:00-06:00, or give their format in a mapping (docs/logs.md)"
	}
	return e
}

// countRows gives the rows of a file without a time column their times; files go on where the one
// before ended.
func (r *reading) countRows(times []int64, lay *layout) error {
	t := r.opts.Mapping.Time
	start, err := parseStart(t.Start, lay.zone)
	if err != nil {
		return &Error{File: r.opts.Mapping.Name, Why: err.Error()}
	}
	last := start + int64(r.counted+len(times))*int64(t.Step)
	if year, _, _ := civil(last / day); last < start || year > lastYear {
		return &Error{File: lay.file, Why: "start and step of the mapping lead beyond the year 2199", Do: "check the step"}
	}
	for i := range times {
		times[i] = start + int64(r.counted+i)*int64(t.Step)
	}
	r.counted += len(times)
	return nil
}

// tellOrderOfRows counts rows that came after a later one; a log written newest first is no disorder.
func (r *reading) tellOrderOfRows(times []int64, lay *layout) {
	if falls(times) {
		r.report.note("%s: it is written newest first and was turned round", lay.file)
		return
	}
	var latest int64
	for _, t := range times {
		if t < latest {
			r.report.OutOfOrder++
		}
		latest = max(latest, t)
	}
}

// tellFile reports what was found in one file.
func (r *reading) tellFile(lay *layout, sum *fileSum) {
	rep := r.report
	rep.FaultCount += len(sum.faults) + sum.more
	if room := r.opts.keep() - len(rep.Faults); room < len(sum.faults) {
		sum.faults = sum.faults[:max(room, 0)]
	}
	rep.Faults = append(rep.Faults, sum.faults...)
	f := FileReport{Path: lay.file, Rows: sum.rows, First: time.Unix(0, sum.first).UTC(), Last: time.Unix(0, sum.last).UTC(), Delimiter: lay.delim, Decimal: lay.point}
	for _, c := range lay.columns {
		if c.isChannel() {
			f.Channels = append(f.Channels, c.channel.String())
		}
	}
	rep.Files = append(rep.Files, f)
	r.tellDoubts(lay, sum)
	r.learnZone(lay, sum)
}

// tellDoubts turns the tallies of a file into sentences.
func (r *reading) tellDoubts(lay *layout, sum *fileSum) {
	n := sum.tally
	if n.sentinels > 0 {
		r.report.note("%s: %s -9999 or -99999 and %s taken as no reading; if your logger writes another code, list it as missing in a mapping",
			lay.file, count(n.sentinels, "cell holds", "cells hold"), wasWere(n.sentinels))
	}
	for k, bad := range sum.bad {
		if bad > sum.rows/2 && lay.columns[k].isChannel() {
			r.report.note("%s: %s of %s of column %s can't be used; check the unit in its name, and the instrument", lay.file, thousands(bad),
				count(sum.rows, "cell", "cells"), shown(lay.columns[k].name))
		}
	}
	if n.repeats > 0 {
		r.report.note("%s: the header line comes again %s and was passed over", lay.file, count(n.repeats, "time", "times"))
	}
	if n.mixed > 0 {
		with, without := "an offset", "none"
		if lay.zoned != 0 {
			with, without = without, with
		}
		r.report.note("%s: %s %s where the others have %s", lay.file, count(n.mixed, "time has", "times have"), with, without)
	}
	if n.cutShort > 0 {
		r.report.note("%s: the last line ends in the middle; its last cell was not used", lay.file)
	}
	if sum.marks&serialDay != 0 {
		r.tellOnce("times given as day numbers are read as a spreadsheet counts them, from 1900 on")
	}
}

func (r *reading) tellOnce(text string) {
	if !r.told[text] {
		r.told[text] = true
		r.report.note("%s", text)
	}
}

// learnZone finds the zone in which the series is shown: the log's own.
func (r *reading) learnZone(lay *layout, sum *fileSum) {
	_, here := time.Unix(0, sum.last).In(lay.zone).Zone()
	switch {
	case lay.counted || lay.zoned == 0:
		r.zone = lay.zone
		if sum.marks&local != 0 {
			zone := lay.zone.String()
			if lay.zone == time.Local {
				zone = "this computer"
			}
			r.tellOnce("times without an offset are taken as the local time of " + zone)
		}
	case sum.marks&epochCount != 0 || int(sum.offset) == here:
		r.zone = lay.zone
	case sum.offset == 0:
		r.zone = time.UTC
	default:
		r.zone = time.FixedZone("", int(sum.offset))
	}
}

func (r *reading) seriesZone() *time.Location {
	if r.opts.Zone != nil {
		return r.opts.Zone
	}
	return r.zone
}

// span returns the first and the last of some times.
func span(times []int64) (first, last int64) {
	first, last = times[0], times[0]
	for _, t := range times {
		first, last = min(first, t), max(last, t)
	}
	return first, last
}

// isChannel reports whether a column's cells are readings.
func (c *column) isChannel() bool {
	return c.content == number || c.content == state || c.content == pulses
}

// prepare makes room in a batch for the rows of a block and empties it.
func (b *batch) prepare(lay *layout, rows int) {
	*b = batch{times: b.times, vals: b.vals, firings: b.firings[:0], faults: b.faults[:0], bad: b.bad}
	if len(b.bad) != len(lay.columns) {
		b.bad = make([]int, len(lay.columns))
	}
	clear(b.bad)
	if cap(b.times) < rows {
		b.times = make([]int64, rows)
	}
	b.times = b.times[:rows]
	if len(b.vals) != len(lay.columns) {
		b.vals = make([][]float64, len(lay.columns))
	}
	for k := range lay.columns {
		if !lay.columns[k].isChannel() {
			b.vals[k] = nil
			continue
		}
		if cap(b.vals[k]) < rows {
			b.vals[k] = make([]float64, rows)
		}
		b.vals[k] = b.vals[k][:rows]
	}
}
