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
	id, err := s.find(ctx, tag)
	if err != nil {
		return nil, err
	}
	lo, hi := span(from, to)
	var w weaver
	if err := s.read(ctx, stretch{id: id, lo: lo, hi: hi}, wanted(channels), &w); err != nil {
		return nil, fmt.Errorf("store: the readings of %s can't be read: %w", tag, err)
	}
	w.out.Source = tag
	return &w.out, nil
}

// replayStep is how much of the readings Replay holds in memory at once [ns]: of a row a minute what the processor's own
// memory holds.
const replayStep = int64(14 * 24 * time.Hour)

// Replay hands the readings of a collector from from up to, not including, to to use, in order and stretch by stretch. A
// stretch is use's own until it returns. A zero time leaves that side open.
func (s *Store) Replay(ctx context.Context, tag string, from, to time.Time, use func(*sense.Series) error) error {
	extents, err := s.Extents(ctx, tag)
	if err != nil {
		return err
	}
	id, err := s.find(ctx, tag)
	if err != nil {
		return err
	}
	first, last := int64(math.MaxInt64), int64(math.MinInt64)
	var channels []sense.Channel
	for _, e := range extents {
		first, last = min(first, e.First), max(last, e.Last)
		channels = append(channels, e.Channel)
	}
	lo, hi := span(from, to)
	w := s.weavers.Get().(*weaver)
	defer s.weavers.Put(w)
	for lo, hi = max(lo, first), min(hi, last+1); lo < hi; lo += replayStep {
		if err := s.read(ctx, stretch{id: id, lo: lo, hi: min(lo+replayStep, hi)}, wanted(channels), w); err != nil {
			return fmt.Errorf("store: the readings of %s can't be read: %w", tag, err)
		}
		w.out.Source, w.out.Zone = tag, nil
		if err := use(&w.out); err != nil {
			return err
		}
	}
	return nil
}

// read weaves a stretch of channels into w.
func (s *Store) read(ctx context.Context, of stretch, channels []int, w *weaver) error {
	columns := make(map[int]samples)
	for _, of.ch = range channels {
		room := s.takeRoom()
		defer s.leaveRoom(room) // woven by then
		col, err := s.column(ctx, of, room)
		if err != nil {
			return err
		}
		if len(col.t) > 0 {
			columns[of.ch] = col
		}
	}
	w.weave(columns)
	return nil
}

// wanted are the channel numbers of the channels asked for, all when none is named.
func wanted(channels []sense.Channel) []int {
	var out []int
	for c := range int(sense.NumChannels) {
		if len(channels) == 0 || slices.Contains(channels, sense.Channel(c)) {
			out = append(out, c)
		}
	}
	if len(channels) == 0 || slices.Contains(channels, sense.Pulse) {
		out = append(out, firings)
	}
	return out
}

// selectExtents goes from channel to channel of a collector by the key, past the chunks of each.
const selectExtents = `WITH RECURSIVE found(channel) AS (SELECT min(channel) FROM chunk WHERE collector = ?1
	UNION ALL SELECT (SELECT min(channel) FROM chunk WHERE collector = ?1 AND channel > found.channel) FROM found WHERE channel IS NOT NULL)
	SELECT channel, (SELECT min(t0) FROM chunk WHERE collector = ?1 AND channel = found.channel),
		(SELECT t1 FROM chunk WHERE collector = ?1 AND channel = found.channel ORDER BY t0 DESC LIMIT 1) FROM found WHERE channel IS NOT NULL`

// Extents returns the channels of which there are readings of a collector and where they begin and end; firings of valves
// stand under Pulse.
func (s *Store) Extents(ctx context.Context, tag string) ([]plant.Extent, error) {
	id, err := s.find(ctx, tag)
	if err != nil {
		return nil, err
	}
	rows, err := s.extents.QueryContext(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("store: which readings there are of %s can't be read: %w", tag, err)
	}
	return collect(rows, func(e *plant.Extent) error {
		var number int
		err := rows.Scan(&number, &e.First, &e.Last)
		if e.Channel = sense.Channel(number); number == firings {
			e.Channel = sense.Pulse
		}
		return err
	})
}

// find is idOf for readers, by a statement prepared once.
func (s *Store) find(ctx context.Context, tag string) (int64, error) {
	return idIn(s.ids.QueryRowContext(ctx, tag), tag)
}

// Room to read into is kept for the next who reads, as long as it is not out of the ordinary [samples].
const (
	rooms    = 32
	roomMost = 1 << 16
)

func (s *Store) takeRoom() *samples {
	select {
	case room := <-s.rooms:
		return room
	default:
		return new(samples)
	}
}

func (s *Store) leaveRoom(room *samples) {
	if cap(room.t) > roomMost {
		return
	}
	select {
	case s.rooms <- room:
	default: // there are enough
	}
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

// weaver lays columns with times of their own on one common time. It may be used again; then what it wove before is gone.
type weaver struct {
	out    sense.Series
	values [sense.NumChannels][]float64 // to use again
}

func (w *weaver) weave(columns map[int]samples) {
	out := &w.out
	var longest []int64
	for _, col := range columns {
		if len(col.t) > len(longest) {
			longest = col.t
		}
	}
	out.Time = slices.Compact(append(out.Time[:0], longest...)) // as a rule it has all times there are
	for _, col := range columns {
		if !among(out.Time, col.t) {
			out.Time = union(out.Time, col.t)
		}
	}
	out.Pulses, out.Col = out.Pulses[:0], [sense.NumChannels][]float64{}
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
		w.values[ch] = col.on(out.Time, w.values[ch])
		out.Col[ch] = w.values[ch]
	}
}

// on lays samples on times among which theirs are, NaN where they have none; of several with one time the first stands.
// What it returns lies in room where that is large enough.
func (s samples) on(times []int64, room []float64) []float64 {
	out := slices.Grow(room[:0], len(times))[:len(times)]
	if slices.Equal(s.t, times) { // as a rule
		for i, v := range s.v {
			out[i] = float64(v)
		}
		return out
	}
	j := 0
	for i, t := range times {
		out[i] = math.NaN()
		if j < len(s.t) && s.t[j] == t {
			out[i] = float64(s.v[j])
		}
		for j < len(s.t) && s.t[j] <= t {
			j++
		}
	}
	return out
}

// among reports whether all times of t stand in times; both ascend.
func among(times, t []int64) bool {
	if slices.Equal(times, t) {
		return true
	}
	j := 0
	for _, at := range t {
		for j < len(times) && times[j] < at {
			j++
		}
		if j == len(times) || times[j] != at {
			return false
		}
	}
	return true
}

// union returns the times that stand in a or in b, each once, ascending.
func union(a, b []int64) []int64 {
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
	id, err := s.find(ctx, tag)
	if err != nil {
		return nil, err
	}
	lo, hi := from.UnixNano(), to.UnixNano()
	if n < 1 || hi <= lo {
		return nil, errors.New("store: an envelope needs a stretch of time and at least one bucket")
	}
	e := envelope{lo: lo, step: max((hi-lo)/int64(n), 1)}
	rows, err := s.spans.QueryContext(ctx, id, int(ch), lo, hi)
	if err != nil {
		return nil, fmt.Errorf("store: the readings of %s can't be read: %w", tag, err)
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
			return nil, fmt.Errorf("store: the readings of %s can't be read: %w", tag, err)
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
