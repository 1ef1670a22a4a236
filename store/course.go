package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// Course returns the slow line kept of a collector, nil where there is none.
func (s *Store) Course(ctx context.Context, tag string) ([]byte, error) {
	var data []byte
	err := s.r.QueryRowContext(ctx, "SELECT data FROM course JOIN collector ON collector.id = course.collector WHERE tag = ?", tag).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("store: the slow line of %s can't be read: %w", tag, err)
	}
	return data, nil
}

// PutCourse keeps the slow line of a collector in place of the one before. Durable on return.
func (s *Store) PutCourse(ctx context.Context, tag string, data []byte) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		id, err := idOf(ctx, tx, tag)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "INSERT INTO course (collector, data) VALUES (?, ?) ON CONFLICT (collector) DO UPDATE SET data = excluded.data", id, data)
		return err
	})
}
