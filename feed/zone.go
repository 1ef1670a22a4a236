package feed

import (
	"fmt"
	"strings"
	"time"
	_ "time/tzdata" // zone names must work on machines that have no zone files

	"dustwright/unit"
)

// parseZone reads a zone: an IANA name, "UTC", "local" or an offset such as "-06:00". "" is nil.
func parseZone(text string) (*time.Location, error) {
	switch strings.ToLower(text) {
	case "":
		return nil, nil
	case "local":
		return time.Local, nil
	case "utc", "z", "gmt":
		return time.UTC, nil
	}
	if m, next := withOffset([]byte(text), 0, moment{}); next == len(text) && m.marks&zoned != 0 {
		return time.FixedZone("", int(m.offset)), nil
	}
	zone, err := time.LoadLocation(text)
	if err != nil {
		near := unit.Nearest(text, commonZones)
		if near != "" {
			return nil, fmt.Errorf("%s is no known time zone; the nearest is %q", quote(text), near)
		}
		return nil, fmt.Errorf("%s is no known time zone; write it like \"America/Chicago\", \"UTC\" or \"-06:00\"", quote(text))
	}
	return zone, nil
}

// commonZones serve only to find the nearest spelling of a zone's name.
var commonZones = []string{
	"America/New_York", "America/Chicago", "America/Denver", "America/Phoenix", "America/Los_Angeles", "America/Toronto",
	"America/Mexico_City", "America/Sao_Paulo", "Europe/London", "Europe/Berlin", "Europe/Paris", "Europe/Madrid",
	"Europe/Rome", "Europe/Warsaw", "Asia/Kolkata", "Asia/Shanghai", "Asia/Tokyo", "Australia/Sydney", "UTC", "local",
}

// wallClock turns readings of a clock on the wall into points in time, in the order in which they
// were logged, because only the order tells the two passes of the hour apart that daylight saving
// repeats.
type wallClock struct {
	zone       *time.Location
	start, end int64 // the stretch in which offset holds [unix ns]
	offset     int64 // [ns] east of Greenwich
	prev, step int64 // the last time given out and its distance from the one before [ns]
	begun      bool
	skipped    int   // readings inside an hour that daylight saving skips
	firstSkip  int64 // the wall time of the first of them
	repeated   int   // readings inside an hour that daylight saving repeats
}

// newWallClock returns a clock of the zone; nil means the zone of this computer.
func newWallClock(zone *time.Location) *wallClock {
	if zone == nil {
		zone = time.Local
	}
	return &wallClock{zone: zone}
}

// enter loads the stretch of constant offset that holds the point in time.
func (w *wallClock) enter(utc int64) {
	t := time.Unix(0, utc).In(w.zone)
	_, off := t.Zone()
	w.offset = int64(off) * second
	from, to := t.ZoneBounds()
	w.start, w.end = -1<<62, 1<<62
	if !from.IsZero() {
		w.start = from.UnixNano()
	}
	if !to.IsZero() {
		w.end = to.UnixNano()
	}
}

// near is how close to a change of the clocks the careful way is taken; no change is larger.
const near = 3 * hour

// utc returns the point in time of the next reading of the wall clock.
func (w *wallClock) utc(wall int64) int64 {
	at := wall - w.offset
	if !w.begun || at < w.start+near || at > w.end-near {
		at = w.careful(wall)
	}
	if w.begun {
		w.step = at - w.prev
	}
	w.prev, w.begun = at, true
	return at
}

// careful finds all points in time that the wall reading can mean and takes the one that follows
// what was logged before. In the repeated hour that is the first pass until the clock is seen to
// run back.
func (w *wallClock) careful(wall int64) int64 {
	w.enter(wall - w.offset)
	before := w.offsetAt(wall - day)
	after := w.offsetAt(wall + day)
	early, late := wall-max(before, after), wall-min(before, after)
	earlyOK, lateOK := w.shows(early, wall), w.shows(late, wall)
	at := early
	switch {
	case early == late:
	case earlyOK && lateOK:
		w.repeated++
		if w.begun && (w.prev > early || w.prev == early && w.step >= hour/2) && w.prev <= late {
			at = late
		}
	case lateOK:
		at = late
	case !earlyOK:
		if w.skipped == 0 {
			w.firstSkip = wall
		}
		w.skipped++
		at = wall - before
	}
	w.enter(at)
	return at
}

func (w *wallClock) offsetAt(utc int64) int64 {
	_, off := time.Unix(0, utc).In(w.zone).Zone()
	return int64(off) * second
}

// shows reports whether a clock on the wall shows wall at the point in time utc.
func (w *wallClock) shows(utc, wall int64) bool { return utc+w.offsetAt(utc) == wall }

// wallToUTC returns the point in time of a single wall reading, the earlier of two.
func wallToUTC(wall int64, zone *time.Location) int64 {
	return newWallClock(zone).utc(wall)
}

// spreadDates gives readings that have only a date a time of day: one reading stands for noon,
// several of the same date share the day evenly in the order of the log.
func spreadDates(wall []int64) {
	for i := 0; i < len(wall); {
		j := i
		for j < len(wall) && wall[j] == wall[i] {
			j++
		}
		for k := i; k < j; k++ {
			wall[k] += day * int64(k-i+1) / int64(j-i+1)
		}
		i = j
	}
}

// likeOthers brings a time with an offset to the wall clock of a file whose times have none, and a
// time without to the file's zone.
func (lay *layout) likeOthers(m moment) moment {
	if lay.zoned == 0 {
		w := newWallClock(lay.zone)
		m.ns += w.offsetAt(m.ns)
		m.marks = m.marks&^zoned | local
		return m
	}
	m.ns = wallToUTC(m.ns, lay.zone)
	m.marks = m.marks&^local | zoned
	_, off := time.Unix(0, m.ns).In(lay.zone).Zone()
	m.offset = int32(off)
	return m
}
