package main

import (
	"bytes"
	"database/sql"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/store"
)

// writeMinutes writes a log of dP, a row a minute.
func writeMinutes(t *testing.T, from time.Time, rows int) string {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("time,running,dp[in.w.g.]\n")
	for i := range rows {
		fmt.Fprintf(&b, "%s,1,%.2f\n", from.Add(time.Duration(i)*time.Minute).Format(time.RFC3339), 2+float64(i%200)/100)
	}
	path := filepath.Join(t.TempDir(), "log.csv")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// looked is what a data folder holds.
type looked struct {
	records  int64
	readings int
}

// verified opens a data folder, verifies its chain, hands both on and closes the folder.
func verified(t *testing.T, dir string, work func(s *store.Store, records int64)) {
	t.Helper()
	s, err := store.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	n, _, err := s.Verify(t.Context())
	if err != nil {
		t.Errorf("the chain: %v", err)
	}
	work(s, n)
}

// look counts what is kept.
func look(t *testing.T, dir string) (out looked) {
	t.Helper()
	verified(t, dir, func(s *store.Store, records int64) {
		series, err := s.Series(t.Context(), "DC-9", time.Time{}, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		out.records = records
		for _, col := range series.Col {
			for _, v := range col {
				if v == v {
					out.readings++
				}
			}
		}
	})
	return out
}

// raw works on the database past the program.
func raw(t *testing.T, dir string, work func(*sql.DB)) {
	t.Helper()
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: filepath.Join(dir, "plant.db")}).EscapedPath(), RawQuery: "_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)"}
	db, err := sql.Open("sqlite3", u.String())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}()
	work(db)
}

// killAt starts the program and kills it once the write-ahead log of a folder has grown to a size, or lets it end before;
// it reports whether it was killed.
func killAt(t *testing.T, dir string, size int64, args ...string) bool {
	t.Helper()
	cmd := program(t, args...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	tick := time.NewTicker(time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case err := <-ended:
			if err != nil {
				t.Fatalf("%v: %v %s", args, err, stderr.String())
			}
			return false
		case <-tick.C:
			if info, err := os.Stat(filepath.Join(dir, "plant.db-wal")); err == nil && info.Size() >= size {
				_ = cmd.Process.Kill() // it may have ended by itself
				return <-ended != nil
			}
		}
	}
}

// kill -9 during an import: what an import before it acknowledged is there, each stretch is there whole or not at all, and the same
// import again makes it complete, each reading once.
func TestKillDuringAnImportLosesNothing(t *testing.T) {
	dir := t.TempDir()
	start := time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)
	const before, rows = 2000, 120_000
	if code, out, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml"), writeMinutes(t, start, before)); code != exitDone || !strings.Contains(out, "4000 new readings kept") {
		t.Fatal(out, stderr)
	}
	log := writeMinutes(t, start.AddDate(0, 0, 7), rows)
	killed, last := 0, look(t, dir)
	records := last.records
	for i := range 5 {
		if !killAt(t, dir, int64(30_000+50_000*i), "import", "--data", dir, log) {
			break
		}
		killed++
		now := look(t, dir)
		if now.readings < last.readings || now.readings < 2*before || now.records != records {
			t.Fatalf("after %d kills there are %d readings and %d records, before %d and %d", killed, now.readings, now.records, last.readings, records)
		}
		t.Logf("killed with %d new readings kept", now.readings-2*before)
		last = now
	}
	if killed == 0 {
		t.Error("no import was killed under way")
	}
	code, out, stderr := runWith(t, "import", "--data", dir, log)
	if want := fmt.Sprintf("%d rows read, %d new readings kept", rows, 2*(before+rows)-last.readings); code != exitDone || !strings.Contains(out, want) {
		t.Errorf("the import after %d kills: want %q: %s%s", killed, want, out, stderr)
	}
	if now := look(t, dir); now.readings != 2*(before+rows) {
		t.Errorf("%d readings are kept, want %d", now.readings, 2*(before+rows))
	}
	t.Logf("killed %d times, then %d readings, each once", killed, 2*(before+rows))
}

// oldPlant writes a data folder as the first version of the program left it, with records and with conclusions large
// enough that bringing it up to date takes a while.
func oldPlant(t *testing.T, records, collectors int) string {
	t.Helper()
	dir := t.TempDir()
	text, err := os.ReadFile(filepath.Join("..", "..", "store", "migrations", "001_begin.sql"))
	if err != nil {
		t.Fatal(err)
	}
	toml, err := os.ReadFile(filepath.Join("testdata", "sparse.toml"))
	if err != nil {
		t.Fatal(err)
	}
	raw(t, dir, func(db *sql.DB) {
		do := func(query string, args ...any) {
			t.Helper()
			if _, err := db.ExecContext(t.Context(), query, args...); err != nil {
				t.Fatal(err)
			}
		}
		do(string(text))
		do("PRAGMA user_version = 1")
		for i := range collectors {
			tag := fmt.Sprintf("DC-%d", 9+i)
			do("INSERT INTO collector (id, tag, toml, walk, created) VALUES (?, ?, ?, ?, 0)", i+1, tag, strings.Replace(string(toml), `"DC-9"`, `"`+tag+`"`, 1), i)
			do("INSERT INTO conclusion (collector, upto, history, at, judgement) VALUES (?, 0, NULL, ?, ?)", i+1, 1000+i, `{"collector":"`+tag+`","padding":"`+strings.Repeat("x", 200_000)+`"}`)
		}
		var last *plant.Record
		for i := range records {
			r, err := plant.NewRecord(plant.Note{Text: fmt.Sprintf("note %d", i)}, "DC-9", "J. Roe")
			if err != nil {
				t.Fatal(err)
			}
			r.At, r.Entered = time.UnixMilli(int64(1e12+i)).UTC(), time.UnixMilli(int64(1e12+i)).UTC()
			if err := r.Seal(last); err != nil {
				t.Fatal(err)
			}
			do("INSERT INTO record (at_ms, seq, id, kind, collector, at, entered, by, body, corrects, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
				r.At.UnixMilli(), r.Seq, r.ID, string(r.Kind), r.Collector, r.At.Format(time.RFC3339Nano), r.Entered.Format(time.RFC3339Nano), r.By, []byte(r.Body), r.Corrects, r.Prev, r.Hash)
			last = &r
		}
	})
	return dir
}

// kill -9 while an old folder is brought up to date: the folder is at one step or the next, never between, and the program
// brings it up to date the next time, all records in place.
func TestKillDuringAMigrationLosesNothing(t *testing.T) {
	const records, collectors = 50, 60
	killed, steps := 0, map[int]int{}
	for i := range 4 {
		dir := oldPlant(t, records, collectors)
		if killAt(t, dir, int64(1+i*5_000_000), "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")) {
			killed++
		}
		var version, kept, has int
		raw(t, dir, func(db *sql.DB) {
			for query, into := range map[string]*int{"PRAGMA user_version": &version, "SELECT count(*) FROM sqlite_master WHERE name = 'verdict'": &has} {
				if err := db.QueryRowContext(t.Context(), query).Scan(into); err != nil {
					t.Fatal(err)
				}
			}
			if has == 0 {
				return
			}
			if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM verdict").Scan(&kept); err != nil {
				t.Fatal(err)
			}
		})
		if version == 1 && has != 0 || version > 1 && kept != collectors {
			t.Errorf("at step %d there are %d of %d verdicts: the step is half done", version, kept, collectors)
		}
		steps[version]++
		if now := look(t, dir); now.records < records {
			t.Errorf("%d of %d records are there", now.records, records)
		}
		if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
			t.Errorf("the program after the kill: %s", stderr)
		}
	}
	t.Logf("killed %d times; the folder was then at these steps (times): %v", killed, steps)
}

// A record changed by hand in the database is found, and named on the page of records.
func TestARecordChangedByHandIsNamed(t *testing.T) {
	dir := t.TempDir()
	if code, _, stderr := runWith(t, "import", "--data", dir, "--collector", filepath.Join("testdata", "sparse.toml")); code != exitDone {
		t.Fatal(stderr)
	}
	c := startServe(t, dir)
	if !c.enter("reading-7", 2.4) || !c.enter("reading-8", 2.5) {
		t.Fatal("a reading was not taken")
	}
	if page := c.page(t, "/records"); !strings.Contains(page, "The evidence chain holds") {
		t.Errorf("before: %s", page)
	}
	raw(t, dir, func(db *sql.DB) {
		if _, err := db.ExecContext(t.Context(), "UPDATE record SET body = CAST(replace(body, '597', '398') AS BLOB) WHERE id = 'reading-7'"); err != nil {
			t.Fatal(err)
		}
	})
	page := c.page(t, "/records")
	c.kill()
	if !strings.Contains(page, "reading-7") || strings.Contains(page, "The evidence chain holds") {
		t.Errorf("after: %s", page)
	}
}
