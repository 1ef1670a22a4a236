// Package unittest reads the tables of published check values that tests compare with, and finds the folders tests
// need. Only tests import it.
package unittest

import (
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Row is one line of a table of check values.
type Row struct {
	Path string // file it stands in
	Line int    // line in that file, from 1

	t    testing.TB
	cell map[string]string
}

// Table reads a CSV file of check values: a first line "# source: ..." that says where the values were born, more
// lines starting with # as remarks, one header line, then rows. The test fails on a file without
// source line, without rows, or with a row of another length than the header.
func Table(t testing.TB, path string) []Row {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("check values: %v", err)
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	if !strings.HasPrefix(text, "# source:") {
		t.Fatalf("%s: the first line must be \"# source: document, table, edition; status\"", path)
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	header, err := r.Read()
	if err != nil {
		t.Fatalf("%s: header: %v", path, err)
	}
	var rows []Row
	for {
		record, err := r.Read()
		if err != nil {
			if len(rows) == 0 || !errors.Is(err, io.EOF) {
				t.Fatalf("%s: %v", path, err)
			}
			return rows
		}
		line, _ := r.FieldPos(0)
		row := Row{Path: path, Line: line, t: t, cell: map[string]string{}}
		for i, name := range header {
			row.cell[strings.TrimSpace(name)] = strings.TrimSpace(record[i])
		}
		rows = append(rows, row)
	}
}

// Text returns the cell of a column as written; a column the table does not have fails the test.
func (r Row) Text(col string) string {
	r.t.Helper()
	s, ok := r.cell[col]
	if !ok {
		r.t.Fatalf("%s: no column %q", r.Path, col)
	}
	return s
}

// Has tells whether the table has the column and this row a value in it.
func (r Row) Has(col string) bool { return r.cell[col] != "" }

// Float returns the cell of a column as a number; an empty cell or text fails the test.
func (r Row) Float(col string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.Text(col), 64)
	if err != nil {
		r.t.Fatalf("%s:%d: column %q: %q is not a number", r.Path, r.Line, col, r.cell[col])
	}
	return v
}

// Root returns the project's root: the folder above the test's that holds go.mod.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no folder above holds go.mod")
		}
		dir = up
	}
}

// SharedData returns the path of open data kept beside the project (../shared/data of the root), or skips the test when
// it is not there: users of the project don't have it.
func SharedData(t testing.TB, rel string) string {
	t.Helper()
	path := filepath.Join(Root(t), "..", "shared", "data", rel)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("open data absent: ../shared/data/%s", rel)
	}
	return path
}
