package store

import (
	"context"
	"fmt"
	"time"

	"dustwright/plant"
)

// Judgements returns the judgement last kept of each collector, without the histories behind them.
func (s *Store) Judgements(ctx context.Context) ([]plant.Judged, error) {
	rows, err := s.r.QueryContext(ctx, "SELECT tag, at, upto, judgement FROM verdict JOIN collector ON collector.id = verdict.collector ORDER BY tag")
	if err != nil {
		return nil, fmt.Errorf("store: the judgements can't be read: %w", err)
	}
	return collect(rows, func(j *plant.Judged) error {
		var ms int64
		err := rows.Scan(&j.Tag, &ms, &j.UpTo, &j.Judgement)
		j.At = time.UnixMilli(ms)
		return err
	})
}

// Version tells cheaply whether anything but readings was kept since: a conclusion follows every
// import, so readings show in it too.
func (s *Store) Version(ctx context.Context) (plant.Version, error) {
	var v plant.Version
	err := s.r.QueryRowContext(ctx, `SELECT (SELECT coalesce(max(seq), 0) FROM record),
		(SELECT coalesce(sum(length(toml) + 7 * walk + 1000000), 0) FROM collector),
		(SELECT coalesce(sum(at), 0) FROM verdict)`).Scan(&v.Records, &v.Collectors, &v.Concluded)
	if err != nil {
		return v, fmt.Errorf("store: whether anything new was kept can't be read: %w", err)
	}
	return v, nil
}
