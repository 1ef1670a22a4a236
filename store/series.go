package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/plant"
	"dustwright/sense"
)

// Series returns the readings of a collector from from up to, not including, to. The channels asked
// for are read, all when none is named. A zero time leaves that side open.
func (s *Store) Series(ctx context.Context, tag string, from, to time.Time, channels ...sense.Channel) (*sense.Series, error) {
	id, err := idOf(ctx, s.r, tag)
	if err != nil {
		return nil, err
	}
	lo, hi := span(from, to)
	wanted := make([]int, 0, int(sense.NumChannels)+1)
	for c := range int(sense.NumChannels) {
		if len(channels) == 0 || slices.Contains(channels, sense.Channel(c)) {
			wanted = append(wanted, c)
		}
	}
	if len(channels) == 0 || slices.Contains(channels, sense.Pulse) {
		wanted = append(wanted, firings)
	}
	columns := make(map[int]samples, len(wanted))
	for _, ch := range wanted {
		room := s.room.Get().(*samples)
		col, err := s.column(ctx, stretch{id, ch, lo, hi}, room)
		if err != nil {
			return nil, fmt.Errorf("store: readings of %s: %w", tag, err)
		}
		if len(col.t) == 0 {
			s.room.Put(room)
			continue
		}
		defer s.room.Put(room) // woven by then
		columns[ch] = col
	}
	out := weave(columns)
	out.Source = tag
	return out, nil
}

// span is the stretch between two times in unix ns, open where a time is zero.
func span(from, to time.Time) (lo, hi int64) {
	lo, hi = math.MinInt64, math.MaxInt64
	if !from.IsZero() {
		lo = from.UnixNano()
	}
	if !to.IsZero() {
		hi = to.UnixNano()
	}
	return lo, hi
}

// selectChunks and selectSpans find a stretch's chunks: packed, or only what stands beside them.
const (
	selectChunks = `SELECT data FROM chunk ` + within
	selectSpans  = `SELECT t0, t1, n, min, max, sum FROM chunk INDEXED BY chunk_span ` + within
)

// within takes a collector, a channel and a stretch of time, and finds the chunks that reach into it, in order. Chunks of a
// channel never overlap, so the search begins at the one that holds the start and not at the first of all years.
const within = `WHERE collector = ?1 AND channel = ?2 AND t0 >= coalesce((SELECT max(t0) FROM chunk WHERE collector = ?1 AND channel = ?2 AND t0 <= ?3), ?3)
	AND t0 < ?4 AND t1 >= ?3 ORDER BY t0`

// stretch is one channel's samples of a collector with lo <= t < hi [unix ns].
type stretch struct {
	id     int64
	ch     int
	lo, hi int64
}

// column reads a stretch. What it returns lies in room, in place of what was there.
func (s *Store) column(ctx context.Context, of stretch, room *samples) (out samples, err error) {
	rows, err := s.chunks.QueryContext(ctx, of.id, of.ch, of.lo, of.hi)
	if err != nil {
		return out, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	room.t, room.v = room.t[:0], room.v[:0]
	var data sql.RawBytes
	for rows.Next() {
		if err := rows.Scan(&data); err != nil {
			return out, err
		}
		if err := s.codec.unpack(data, room); err != nil {
			return out, err
		}
	}
	i, _ := slices.BinarySearch(room.t, of.lo)
	j, _ := slices.BinarySearch(room.t, of.hi)
	return room.slice(i, j), rows.Err()
}

// weave lays columns with times of their own on one common time.
func weave(columns map[int]samples) *sense.Series {
	out := &sense.Series{}
	for _, col := range columns {
		out.Time = union(out.Time, col.t)
	}
	for ch, col := range columns {
		if ch == firings {
			row := 0
			for i, t := range col.t {
				for out.Time[row] < t {
					row++
				}
				out.Pulses = append(out.Pulses, sense.Firing{Row: int32(row), Valve: uint8(col.v[i])})
			}
			continue
		}
		v := make([]float64, len(out.Time))
		j := 0
		for i, t := range out.Time {
			if j < len(col.t) && col.t[j] == t {
				v[i] = float64(col.v[j])
				j++
			} else {
				v[i] = math.NaN()
			}
		}
		out.Col[ch] = v
	}
	return out
}

// union returns the times that stand in a or in b, each once, ascending.
func union(a, b []int64) []int64 {
	if len(a) == 0 {
		return slices.Compact(slices.Clone(b))
	}
	if slices.Equal(a, b) {
		return a
	}
	out := make([]int64, 0, max(len(a), len(b)))
	for i, j := 0, 0; i < len(a) || j < len(b); {
		var t int64
		switch {
		case j == len(b) || i < len(a) && a[i] <= b[j]:
			t = a[i]
			i++
		default:
			t = b[j]
			j++
		}
		if n := len(out); n == 0 || out[n-1] != t {
			out = append(out, t)
		}
	}
	return out
}

// Envelope draws a channel together into at most about n buckets of equal time for a chart, each with
// its minimum, maximum, sum and number. Chunks that lie within a bucket are not unpacked, so that
// years draw in milliseconds; a chunk belongs to the bucket of its first sample.
func (s *Store) Envelope(ctx context.Context, tag string, ch sense.Channel, from, to time.Time, n int) ([]plant.Bucket, error) {
	id, err := idOf(ctx, s.r, tag)
	if err != nil {
		return nil, err
	}
	lo, hi := from.UnixNano(), to.UnixNano()
	if n < 1 || hi <= lo {
		return nil, fmt.Errorf("store: an envelope needs a stretch of time and at least one bucket")
	}
	e := envelope{lo: lo, step: max((hi-lo)/int64(n), 1)}
	rows, err := s.spans.QueryContext(ctx, id, int(ch), lo, hi)
	if err != nil {
		return nil, fmt.Errorf("store: envelope: %w", err)
	}
	chunks, err := collect(rows, func(b *plant.Bucket) error { return rows.Scan(&b.From, &b.To, &b.N, &b.Min, &b.Max, &b.Sum) })
	if err != nil {
		return nil, err
	}
	room := new(samples)
	for _, b := range chunks {
		if b.From >= lo && b.To < hi && b.To-b.From <= e.step {
			e.add(b)
			continue
		}
		col, err := s.column(ctx, stretch{id, int(ch), max(b.From, lo), min(b.To+1, hi)}, room)
		if err != nil {
			return nil, fmt.Errorf("store: envelope: %w", err)
		}
		for i, t := range col.t {
			v := float64(col.v[i])
			e.add(plant.Bucket{From: t, To: t, N: 1, Min: v, Max: v, Sum: v})
		}
	}
	return e.out, nil
}

// envelope gathers buckets in order of time.
type envelope struct {
	lo, step int64
	out      []plant.Bucket
	last     int64
}

func (e *envelope) add(b plant.Bucket) {
	k := (b.From - e.lo) / e.step
	if len(e.out) == 0 || k != e.last {
		e.out = append(e.out, b)
		e.last = k
		return
	}
	top := &e.out[len(e.out)-1]
	top.To = max(top.To, b.To)
	top.N += b.N
	top.Sum += b.Sum
	top.Min, top.Max = math.Min(top.Min, b.Min), math.Max(top.Max, b.Max)
}
