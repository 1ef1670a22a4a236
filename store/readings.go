package store

import (
	"context"
	"database/sql"
	"errors"
	"math"

	"dustwright/sense"
)

// chunkLength is how many samples a chunk holds at most.
const chunkLength = 512

// firings is the channel number under which the firings of valves are kept.
const firings = 255

// AddSeries keeps a stretch of readings and returns how many were new. A reading whose time is already
// there is not kept again, so the same log can be imported twice. The stretch is kept whole or
// not at all; durable on return.
func (s *Store) AddSeries(ctx context.Context, tag string, series *sense.Series) (added int, err error) {
	columns := columnsOf(series)
	if empty, err := s.without(ctx, tag); err != nil {
		return 0, err
	} else if empty { // nothing to merge with: packed before other writers have to wait
		for i := range columns {
			columns[i].pieces = cut(columns[i].samples)
			columns[i].packed = s.codec.packAll(columns[i].pieces)
		}
	}
	err = s.write(ctx, func(tx *sql.Tx) error {
		id, err := idOf(ctx, tx, tag)
		if err != nil {
			return err
		}
		a, err := s.newAdder(ctx, tx, id)
		if err != nil {
			return err
		}
		for _, c := range columns {
			n, e := a.channel(c)
			added += n
			if err = e; err != nil {
				break
			}
		}
		return errors.Join(err, a.close())
	})
	return added, err
}

// without reports whether nothing is kept of a collector yet.
func (s *Store) without(ctx context.Context, tag string) (bool, error) {
	id, err := s.find(ctx, tag)
	if err != nil {
		return false, err
	}
	var some bool
	err = s.r.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM chunk WHERE collector = ?)", id).Scan(&some)
	return !some, err
}

// column is a channel's samples of a stretch, and, where nothing was kept before, the chunks they make.
type column struct {
	ch int
	samples
	pieces []samples
	packed [][]byte
}

// columnsOf takes the readings there are out of a stretch, channel by channel.
func columnsOf(series *sense.Series) []column {
	var out []column
	for ch, col := range series.Col {
		if col == nil {
			continue
		}
		c := column{ch: ch, samples: samples{make([]int64, 0, len(col)), make([]float32, 0, len(col))}}
		for i, v := range col {
			if !math.IsNaN(v) {
				c.t, c.v = append(c.t, series.Time[i]), append(c.v, float32(v))
			}
		}
		out = append(out, c)
	}
	fired := column{ch: firings}
	for _, f := range series.Pulses {
		fired.t, fired.v = append(fired.t, series.Time[f.Row]), append(fired.v, float32(f.Valve))
	}
	return append(out, fired)
}

// adder writes chunks within one transaction.
type adder struct {
	ctx                 context.Context
	s                   *Store
	id                  int64
	near, insert, erase *sql.Stmt
}

func (s *Store) newAdder(ctx context.Context, tx *sql.Tx, id int64) (*adder, error) {
	a := &adder{ctx: ctx, s: s, id: id}
	for _, p := range []struct {
		to   **sql.Stmt
		text string
	}{
		{&a.near, "SELECT t0, t1, n, data FROM chunk WHERE collector = ? AND channel = ? AND t0 <= ? ORDER BY t0 DESC"},
		{&a.insert, "INSERT INTO chunk (collector, channel, t0, t1, n, min, max, sum, data) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"},
		{&a.erase, "DELETE FROM chunk WHERE collector = ? AND channel = ? AND t0 = ?"},
	} {
		st, err := tx.PrepareContext(ctx, p.text)
		if err != nil {
			return nil, errors.Join(err, a.close())
		}
		*p.to = st
	}
	return a, nil
}

func (a *adder) close() error {
	var err error
	for _, st := range []*sql.Stmt{a.near, a.insert, a.erase} {
		if st != nil {
			err = errors.Join(err, st.Close())
		}
	}
	return err
}

// channel writes one channel's samples, taking up chunks that they overlap and a short one just before.
func (a *adder) channel(c column) (added int, err error) {
	if len(c.t) == 0 {
		return 0, nil
	}
	kept, err := a.takeUp(c.ch, c.t[0], c.t[len(c.t)-1])
	if err != nil {
		return 0, err
	}
	all := c.samples
	if len(kept.t) > 0 {
		all = merge(kept, all)
	}
	if len(kept.t) > 0 || c.packed == nil {
		c.pieces = cut(all)
		c.packed = a.s.codec.packAll(c.pieces)
	}
	for i, data := range c.packed {
		if err := a.put(c.ch, c.pieces[i], data); err != nil {
			return 0, err
		}
	}
	return len(all.t) - len(kept.t), nil
}

// cut cuts samples into chunks.
func cut(all samples) []samples {
	var out []samples
	for from := 0; from < len(all.t); {
		to := min(from+chunkLength, len(all.t))
		for to < len(all.t) && all.t[to] == all.t[to-1] { // one time never stands in two chunks
			to++
		}
		out = append(out, all.slice(from, to))
		from = to
	}
	return out
}

// takeUp removes the chunks that overlap lo to hi, and one before them that is not half full, and
// returns their samples in order.
func (a *adder) takeUp(ch int, lo, hi int64) (samples, error) {
	rows, err := a.near.QueryContext(a.ctx, a.id, ch, hi)
	if err != nil {
		return samples{}, err
	}
	type old struct {
		t0   int64
		data []byte
	}
	var found []old
	for rows.Next() {
		var t1 int64
		var n int
		var o old
		if err := rows.Scan(&o.t0, &t1, &n, &o.data); err != nil {
			return samples{}, errors.Join(err, rows.Close())
		}
		if t1 < lo && n >= chunkLength/2 {
			break
		}
		found = append(found, o)
		if t1 < lo {
			break
		}
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return samples{}, err
	}
	var kept samples
	for i := len(found) - 1; i >= 0; i-- {
		if err := a.s.codec.unpack(found[i].data, &kept); err != nil {
			return samples{}, err
		}
		if _, err := a.erase.ExecContext(a.ctx, a.id, ch, found[i].t0); err != nil {
			return samples{}, err
		}
	}
	return kept, nil
}

// put writes one chunk with its packed data.
func (a *adder) put(ch int, s samples, data []byte) error {
	lo, hi, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range s.v {
		lo, hi, sum = math.Min(lo, float64(v)), math.Max(hi, float64(v)), sum+float64(v)
	}
	_, err := a.insert.ExecContext(a.ctx, a.id, ch, s.t[0], s.t[len(s.t)-1], len(s.t), lo, hi, sum, data)
	return err
}
