// Package export hands a plant's readings and tasks over in open formats: spreadsheets (XLSX), Parquet,
// and a calendar feed (iCalendar, RFC 5545). Readings leave in SI with the unit in each column's name;
// CSV in the log format is package feed's.
package export
