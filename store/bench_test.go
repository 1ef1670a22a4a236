package store

import (
	"context"
	"fmt"
	"testing"
	"time"
)

// BenchmarkImport keeps 100,000 rows of two channels; BenchmarkPlainInserts is its peer: the same
// readings as rows through the same driver, one prepared statement, 10,000 a transaction.
func BenchmarkImport(b *testing.B) {
	ctx := context.Background()
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	const rows = 100_000
	log := minuteLog(start, rows)
	readings := 0
	s := open(b)
	for i := 0; b.Loop(); i++ {
		tag := fmt.Sprint("DC-", i)
		put(b, s, tag)
		n, err := s.AddSeries(ctx, tag, log)
		if err != nil {
			b.Fatal(err)
		}
		readings += n
	}
	b.ReportMetric(float64(readings)/b.Elapsed().Seconds(), "readings/s")
}

func BenchmarkPlainInserts(b *testing.B) {
	ctx := context.Background()
	s := open(b)
	if _, err := s.w.ExecContext(ctx, "CREATE TABLE plain (collector INT, channel INT, t INT, v REAL, PRIMARY KEY (collector, channel, t)) WITHOUT ROWID"); err != nil {
		b.Fatal(err)
	}
	log := minuteLog(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC), 100_000)
	readings := 0
	for i := 0; b.Loop(); i++ {
		for from := 0; from < len(log.Time); from += 10_000 {
			tx, err := s.w.BeginTx(ctx, nil)
			if err != nil {
				b.Fatal(err)
			}
			st, err := tx.PrepareContext(ctx, "INSERT INTO plain VALUES (?, ?, ?, ?)")
			if err != nil {
				b.Fatal(err)
			}
			for r := from; r < from+10_000; r++ {
				for ch, col := range log.Col {
					if col == nil || col[r] != col[r] {
						continue
					}
					if _, err := st.ExecContext(ctx, i, ch, log.Time[r], col[r]); err != nil {
						b.Fatal(err)
					}
					readings++
				}
			}
			if err := tx.Commit(); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(readings)/b.Elapsed().Seconds(), "readings/s")
}

func BenchmarkEnvelope(b *testing.B) {
	ctx := context.Background()
	s := open(b)
	put(b, s, "DC-1")
	start := time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC)
	const rows = 2 * 525_600
	for from := 0; from < rows; from += 50_000 {
		if _, err := s.AddSeries(ctx, "DC-1", minuteLog(start.Add(time.Duration(from)*time.Minute), 50_000)); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		if _, err := s.Envelope(ctx, "DC-1", 0, start, start.AddDate(2, 0, 0), 800); err != nil {
			b.Fatal(err)
		}
	}
}
