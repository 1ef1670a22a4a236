package export

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"dustwright/plant"
)

// Calendar writes tasks as an iCalendar feed (RFC 5545): one all-day event each on the day it is due in
// the zone, with its steps, tools and caution. A task keeps its UID while the same thing is due, so
// that a calendar that reads the feed again moves the event instead of adding one. Sentences are in US units unless the tasks were made
// to be in others (plant.TasksIn).
func Calendar(w io.Writer, tasks []plant.Task, base string, zone *time.Location, now time.Time) error {
	var b strings.Builder
	line := func(name, value string) { fold(&b, name+":"+value) }
	line("BEGIN", "VCALENDAR")
	line("VERSION", "2.0")
	line("PRODID", "-//Dustwright//tasks//EN")
	line("CALSCALE", "GREGORIAN")
	line("X-WR-CALNAME", "Dust collectors")
	for _, t := range tasks {
		line("BEGIN", "VEVENT")
		line("UID", escape(t.ID)+"@dustwright")
		line("DTSTAMP", now.UTC().Format("20060102T150405Z"))
		day := t.Due.In(zone)
		fold(&b, "DTSTART;VALUE=DATE:"+day.Format("20060102"))
		fold(&b, "DTEND;VALUE=DATE:"+day.AddDate(0, 0, 1).Format("20060102"))
		line("SUMMARY", escape(t.Collector+": "+t.What.String()))
		line("DESCRIPTION", escape(describe(t)))
		if base != "" {
			line("URL", base+"/c/"+t.Collector)
		}
		line("TRANSP", "TRANSPARENT")
		line("END", "VEVENT")
	}
	line("END", "VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

// describe is what stands in the event.
func describe(t plant.Task) string {
	var parts []string
	if !t.Why.IsZero() {
		parts = append(parts, "Why: "+t.Why.String())
	}
	if t.Minutes > 0 {
		parts = append(parts, fmt.Sprintf("About %.0f minutes", t.Minutes))
	}
	if !t.Caution.IsZero() {
		parts = append(parts, "CAUTION: "+t.Caution.String()+". Local codes, the equipment's own manual and licensed practice come first.")
	}
	for i, s := range t.Steps {
		parts = append(parts, fmt.Sprintf("%d. %s", i+1, s))
	}
	if len(t.Tools) > 0 {
		parts = append(parts, "Tools: "+strings.Join(t.Tools, ", "))
	}
	return strings.Join(parts, "\n")
}

// escape writes a text value. Source: RFC 5545, section 3.3.11.
func escape(s string) string {
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`, "\r", `\n`).Replace(s)
}

// fold writes a content line in pieces of at most 75 octets, none of them cut inside a letter.
// Source: RFC 5545, section 3.1.
func fold(b *strings.Builder, s string) {
	room := 75
	for len(s) > room {
		cut := room
		for cut > 0 && !utf8.RuneStart(s[cut]) {
			cut--
		}
		b.WriteString(s[:cut] + "\r\n ")
		s, room = s[cut:], 74 // the space counts
	}
	b.WriteString(s + "\r\n")
}
