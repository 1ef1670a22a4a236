package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"dustwright/plant"
)

// Collectors returns the collectors in walking order.
func (s *Store) Collectors(ctx context.Context) ([]plant.Machine, error) {
	rows, err := s.r.QueryContext(ctx, "SELECT "+machineColumns+" FROM collector ORDER BY walk, tag")
	if err != nil {
		return nil, fmt.Errorf("store: the collectors can't be read: %w", err)
	}
	return collect(rows, func(m *plant.Machine) error { return scanMachine(rows, m) })
}

// Collector returns one collector, plant.ErrNoCollector where there is none of that tag.
func (s *Store) Collector(ctx context.Context, tag string) (plant.Machine, error) {
	var m plant.Machine
	err := scanMachine(s.r.QueryRowContext(ctx, "SELECT "+machineColumns+" FROM collector WHERE tag = ?", tag), &m)
	if errors.Is(err, sql.ErrNoRows) {
		return m, fmt.Errorf("%w %q", plant.ErrNoCollector, tag)
	}
	if err != nil {
		return m, fmt.Errorf("store: collector %s can't be read: %w", tag, err)
	}
	return m, nil
}

const machineColumns = "tag, toml, walk, created"

func scanMachine(row interface{ Scan(...any) error }, m *plant.Machine) error {
	var ms int64
	err := row.Scan(&m.Tag, &m.TOML, &m.Walk, &ms)
	m.Created = time.UnixMilli(ms)
	return err
}

// PutCollector adds a collector or replaces its file and place in the round. Durable on return.
func (s *Store) PutCollector(ctx context.Context, m plant.Machine) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO collector (tag, toml, walk, created) VALUES (?, ?, ?, ?)
			ON CONFLICT (tag) DO UPDATE SET toml = excluded.toml, walk = excluded.walk`,
			m.Tag, m.TOML, m.Walk, m.Created.UnixMilli())
		return err
	})
}

// collect scans all rows into a slice and closes them.
func collect[T any](rows *sql.Rows, scan func(*T) error) (out []T, err error) {
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var v T
		if err := scan(&v); err != nil {
			return nil, fmt.Errorf("store: %w", err)
		}
		out = append(out, v)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	return out, nil
}

const selectID = "SELECT id FROM collector WHERE tag = ?"

// idOf returns the key of a collector, plant.ErrNoCollector where there is none of that tag.
func idOf(ctx context.Context, tx *sql.Tx, tag string) (int64, error) {
	return idIn(tx.QueryRowContext(ctx, selectID, tag), tag)
}

// idIn reads the key that selectID finds for a tag.
func idIn(row *sql.Row, tag string) (id int64, err error) {
	err = row.Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("%w %q", plant.ErrNoCollector, tag)
	}
	return id, err
}

// Mapping returns a saved column mapping, "" where there is none of that name.
func (s *Store) Mapping(ctx context.Context, name string) (string, error) {
	var text string
	err := s.r.QueryRowContext(ctx, "SELECT toml FROM mapping WHERE name = ?", name).Scan(&text)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("store: the column mapping of %s can't be read: %w", name, err)
	}
	return text, nil
}

// PutMapping saves a column mapping under a name. Durable on return.
func (s *Store) PutMapping(ctx context.Context, name, toml string) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, "INSERT INTO mapping (name, toml) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET toml = excluded.toml", name, toml)
		return err
	})
}

// Conclusion returns the reduced record and the judgement last saved of a collector; both are nil
// where there are none yet.
func (s *Store) Conclusion(ctx context.Context, tag string) (plant.Conclusion, error) {
	var c plant.Conclusion
	var at int64
	err := s.r.QueryRowContext(ctx, `SELECT upto, history, at, judgement FROM conclusion
		JOIN collector ON collector.id = conclusion.collector WHERE tag = ?`, tag).Scan(&c.UpTo, &c.History, &at, &c.Judgement)
	if errors.Is(err, sql.ErrNoRows) {
		return plant.Conclusion{}, nil
	}
	if err != nil {
		return c, fmt.Errorf("store: what was concluded of %s can't be read: %w", tag, err)
	}
	c.At = time.UnixMilli(at)
	return c, nil
}

// PutConclusion saves what was concluded. Durable on return.
func (s *Store) PutConclusion(ctx context.Context, tag string, c plant.Conclusion) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		id, err := idOf(ctx, tx, tag)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO conclusion (collector, upto, history, at, judgement) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT (collector) DO UPDATE SET upto = excluded.upto, history = excluded.history, at = excluded.at, judgement = excluded.judgement`,
			id, c.UpTo, c.History, c.At.UnixMilli(), c.Judgement)
		return err
	})
}
