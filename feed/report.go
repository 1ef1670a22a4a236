package feed

import (
	"fmt"
	"time"
)

// Report says what was read and what was not. Every row and cell that is not in the series is
// counted here.
type Report struct {
	Files      []FileReport
	Rows       int // rows in the series
	Duplicates int // rows that repeated the time of another and were put together with it
	Conflicts  int // cells of such rows that said something else; the later file, or row, was believed
	OutOfOrder int // rows that came after a later one
	Faults     []Fault
	FaultCount int // all faults; Faults holds the first of them
	Unknown    []Unknown
	Notes      []string // what a person should know about how the files were understood, in sentences
}

// FileReport says how one file was understood.
type FileReport struct {
	Path        string
	Rows        int
	First, Last time.Time
	Delimiter   byte
	Decimal     byte
	Channels    []string // in the order of the file
}

// note adds a sentence.
func (r *Report) note(format string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(format, args...))
}

// forget takes a column out of the unknown ones, since it turned out to be known.
func (r *Report) forget(file, column string) {
	for i, u := range r.Unknown {
		if u.File == file && u.Column == column {
			r.Unknown = append(r.Unknown[:i], r.Unknown[i+1:]...)
			return
		}
	}
}

// Sentences returns everything a person should hear, most important first: what could not be read,
// columns nobody knows, how doubtful things were understood. At most `most` cells are listed.
func (r *Report) Sentences(most int) []string {
	var out []string
	for i, f := range r.Faults {
		if i == most {
			break
		}
		out = append(out, f.String())
	}
	if rest := r.FaultCount - len(out); rest > 0 {
		out = append(out, count(rest, "more cell or line", "more cells or lines")+" could not be read")
	}
	for _, u := range r.Unknown {
		out = append(out, u.String())
	}
	if r.Duplicates > 0 {
		text := fmt.Sprintf("%s the time of another and %s put together with it", count(r.Duplicates, "row repeats", "rows repeat"), wasWere(r.Duplicates))
		if r.Conflicts > 0 {
			text += fmt.Sprintf("; in %s they disagreed, and the later one was believed", count(r.Conflicts, "cell", "cells"))
		}
		out = append(out, text)
	}
	if r.OutOfOrder > 0 {
		out = append(out, fmt.Sprintf("%s after a later one and %s put in order", count(r.OutOfOrder, "row came", "rows came"), wasWere(r.OutOfOrder)))
	}
	return append(out, r.Notes...)
}

func wasWere(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// count writes a number with its noun: "1 row", "12,345 rows".
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return thousands(n) + " " + many
}

// thousands writes a whole number with thousands marks.
func thousands(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return thousands(n/1000) + fmt.Sprintf(",%03d", n%1000)
}
