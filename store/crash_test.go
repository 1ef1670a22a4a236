package store

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// The crash test runs this binary again as a writer, which prints what was acknowledged, and kills it
// at a random moment. Whatever was printed must be there afterwards.
func TestMain(m *testing.M) {
	if dir := os.Getenv("DUSTWRIGHT_CRASH_WRITER"); dir != "" {
		crashWriter(dir)
		return
	}
	os.Exit(m.Run())
}

// crashWriter appends records and imports logs until it is killed, and prints each once acknowledged.
func crashWriter(dir string) {
	ctx := context.Background()
	s, err := Open(ctx, dir)
	if err != nil {
		fmt.Println("error", err)
		return
	}
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	for i := 0; ; i++ {
		if _, err := s.Append(ctx, note(fmt.Sprintf("%d-%d", os.Getpid(), i), "text")); err != nil {
			fmt.Println("error", err)
			return
		}
		fmt.Println("record", fmt.Sprintf("%d-%d", os.Getpid(), i))
		n, err := s.AddSeries(ctx, "DC-1", minuteLog(start.Add(time.Duration(os.Getpid()%1000*100000+i*700)*time.Minute), 700))
		if err != nil {
			fmt.Println("error", err)
			return
		}
		fmt.Println("readings", n)
	}
}

func TestKillLosesNothingAcknowledged(t *testing.T) {
	dir := t.TempDir()
	ctx := context.Background()
	s, err := Open(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	put(t, s, "DC-1")
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	records, readings := map[string]bool{}, 0
	for kill := range 6 {
		cmd := exec.Command(os.Args[0], "-test.run=none")
		cmd.Env = append(os.Environ(), "DUSTWRIGHT_CRASH_WRITER="+dir)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for seen := 0; lines.Scan(); seen++ {
			word, rest, _ := strings.Cut(lines.Text(), " ")
			switch word {
			case "record":
				records[rest] = true
			case "readings":
				var n int
				if _, err := fmt.Sscan(rest, &n); err != nil {
					t.Fatal(err)
				}
				readings += n
			default:
				t.Fatalf("the writer says: %s", lines.Text())
			}
			if seen == 5+7*kill { // killed while it writes on; what the pipe still holds counts too
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		_ = cmd.Wait() // killed: the error says just that
	}
	if s, err = Open(ctx, dir); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, _, err := s.Verify(ctx); err != nil {
		t.Errorf("after six kills: %v", err)
	}
	for id := range records {
		tx, err := s.w.BeginTx(ctx, nil)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := oneRecord(ctx, tx, "WHERE id = ?", id); err != nil || r == nil {
			t.Errorf("record %s was acknowledged and is gone: %v", id, err)
		}
		if err := tx.Rollback(); err != nil {
			t.Fatal(err)
		}
	}
	var kept int
	if err := s.r.QueryRowContext(ctx, "SELECT sum(n) FROM chunk").Scan(&kept); err != nil || kept < readings {
		t.Errorf("%d readings are kept of %d acknowledged: %v", kept, readings, err)
	}
	var fine string
	if err := s.r.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&fine); err != nil || fine != "ok" {
		t.Errorf("integrity: %s, %v", fine, err)
	}
}
