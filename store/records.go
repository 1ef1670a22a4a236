package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"dustwright/plant"
)

const recordColumns = "seq, id, kind, collector, at, entered, by, body, corrects, prev, hash"

// Append seals records behind the chain's last and keeps them, all or none. A record whose ID is
// already there is not kept again: the one kept before is returned in its place, so that a sender
// that never got its answer can send again. Durable on return.
func (s *Store) Append(ctx context.Context, records ...plant.Record) ([]plant.Record, error) {
	out := make([]plant.Record, len(records))
	err := s.write(ctx, func(tx *sql.Tx) error {
		last, err := lastRecord(ctx, tx)
		if err != nil {
			return err
		}
		for i, r := range records {
			kept, err := oneRecord(ctx, tx, "WHERE id = ?", r.ID)
			if err != nil {
				return err
			}
			if kept == nil {
				if err := r.Seal(last); err != nil {
					return err
				}
				if err := insertRecord(ctx, tx, r); err != nil {
					return err
				}
				kept, last = &r, &r
			}
			out[i] = *kept
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

func insertRecord(ctx context.Context, tx *sql.Tx, r plant.Record) error {
	_, err := tx.ExecContext(ctx, "INSERT INTO record (at_ms, "+recordColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
		r.At.UnixMilli(), r.Seq, r.ID, string(r.Kind), r.Collector, r.At.Format(time.RFC3339Nano), r.Entered.Format(time.RFC3339Nano),
		r.By, []byte(r.Body), r.Corrects, r.Prev, r.Hash)
	return err
}

func lastRecord(ctx context.Context, tx *sql.Tx) (*plant.Record, error) {
	return oneRecord(ctx, tx, "ORDER BY seq DESC LIMIT 1")
}

func oneRecord(ctx context.Context, tx *sql.Tx, where string, args ...any) (*plant.Record, error) {
	r, err := scanRecord(tx.QueryRowContext(ctx, "SELECT "+recordColumns+" FROM record "+where, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	return &r, err
}

// scanRecord reads one row.
func scanRecord(row interface{ Scan(...any) error }) (plant.Record, error) {
	var r plant.Record
	var kind, at, entered string
	var body []byte
	if err := row.Scan(&r.Seq, &r.ID, &kind, &r.Collector, &at, &entered, &r.By, &body, &r.Corrects, &r.Prev, &r.Hash); err != nil {
		return r, err
	}
	r.Kind, r.Body = plant.Kind(kind), body
	var errAt, errEntered error
	r.At, errAt = time.Parse(time.RFC3339Nano, at)
	r.Entered, errEntered = time.Parse(time.RFC3339Nano, entered)
	return r, errors.Join(errAt, errEntered)
}

// Records returns records, oldest first, that fit the query.
func (s *Store) Records(ctx context.Context, q plant.RecordQuery) ([]plant.Record, error) {
	where, args := []string{"seq > ?"}, []any{q.After}
	if q.Collector != "" {
		where, args = append(where, "collector = ?"), append(args, q.Collector)
	}
	if len(q.Kinds) > 0 {
		where = append(where, "kind IN (?"+strings.Repeat(", ?", len(q.Kinds)-1)+")")
		for _, k := range q.Kinds {
			args = append(args, string(k))
		}
	}
	if !q.Since.IsZero() {
		where, args = append(where, "at_ms >= ?"), append(args, q.Since.UnixMilli())
	}
	if q.Text != "" {
		where = append(where, `(CAST(body AS TEXT) LIKE ? ESCAPE '\' OR by LIKE ? ESCAPE '\' OR collector LIKE ? ESCAPE '\'
			OR kind LIKE ? ESCAPE '\' OR replace(kind, '-', ' ') LIKE ? ESCAPE '\')`) // a body is kept as bytes, which LIKE never finds
		like := "%" + strings.NewReplacer(`\`, `\\`, "%", `\%`, "_", `\_`).Replace(q.Text) + "%"
		args = append(args, like, like, like, like, like)
	}
	text := "SELECT " + recordColumns + " FROM record WHERE " + strings.Join(where, " AND ") + " ORDER BY seq"
	if q.Limit > 0 {
		// the newest ones, still oldest first
		text = "SELECT * FROM (" + text + " DESC LIMIT ?) ORDER BY seq"
		args = append(args, q.Limit)
	}
	rows, err := s.r.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, fmt.Errorf("store: the records can't be read: %w", err)
	}
	return collect(rows, func(r *plant.Record) error {
		var err error
		*r, err = scanRecord(rows)
		return err
	})
}

// Verify walks the whole evidence chain and returns its length and the hash of its last record, or
// *plant.Broken naming the first record that does not hold.
func (s *Store) Verify(ctx context.Context) (n int64, head string, err error) {
	rows, err := s.r.QueryContext(ctx, "SELECT "+recordColumns+" FROM record ORDER BY seq")
	if err != nil {
		return 0, "", fmt.Errorf("store: the evidence chain can't be read: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	var v plant.Verifier
	for rows.Next() {
		r, err := scanRecord(rows)
		if err != nil {
			return 0, "", &plant.Broken{Seq: r.Seq, ID: r.ID, Why: "it can't be read: " + err.Error()}
		}
		if err := v.Next(r); err != nil {
			return 0, "", err
		}
	}
	n, head = v.Head()
	return n, head, rows.Err()
}
