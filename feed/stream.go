package feed

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
	"strings"

	"dustwright/sense"
)

// pieceRows is how many rows Stream gathers before it hands them on.
const pieceRows = 16 << 10

// errRestart says that the rows turned out not to be in order of time, so that they must be read
// whole before anything can be handed on.
var errRestart = errors.New("feed: rows out of order")

// Stream reads as Read does, but hands the rows on in pieces, in order of time, so that memory does not
// grow with the log. begin is called before the first piece and returns what takes the pieces; where
// the rows turn out not to be in order, begin is called once more, everything handed on before is
// void, and the logs are read whole. A piece is valid only until take returns; a channel that no row
// so far had is nil in it. An error of take ends the reading and is returned as it is.
func Stream(ctx context.Context, paths []string, opts Options, begin func() (take func(*sense.Series) error)) (*Report, error) {
	order, ok := byFirstTime(ctx, paths, &opts)
	if ok {
		r := newReading(order, &opts)
		p := &pieces{r: r, give: begin(), last: math.MinInt64, reordered: !slices.Equal(order, paths)}
		err := p.all(ctx)
		if !errors.Is(err, errRestart) {
			return r.report, err
		}
	}
	s, report, err := Read(ctx, paths, opts)
	if err != nil {
		return report, err
	}
	take := begin()
	for from := 0; from < s.Len(); from += pieceRows {
		if err := take(slice(s, from, min(from+pieceRows, s.Len()))); err != nil {
			return report, err
		}
	}
	return report, nil
}

// slice returns a stretch of rows of a series; it shares the columns.
func slice(s *sense.Series, from, to int) *sense.Series {
	out := &sense.Series{Time: s.Time[from:to], Zone: s.Zone, Source: s.Source}
	for ch, col := range s.Col {
		if col != nil {
			out.Col[ch] = col[from:to]
		}
	}
	for _, f := range s.Pulses[firstFiring(s.Pulses, from):firstFiring(s.Pulses, to)] {
		out.Pulses = append(out.Pulses, sense.Firing{Row: f.Row - int32(from), Valve: f.Valve})
	}
	return out
}

// firstFiring returns where the firings of a row, or of the next row that has any, begin.
func firstFiring(firings []sense.Firing, row int) int {
	at, _ := slices.BinarySearchFunc(firings, int32(row), func(f sense.Firing, row int32) int { return cmp.Compare(f.Row, row) })
	return at
}

// byFirstTime puts logs in the order of their first rows. It reports false where that can't be known
// without reading them whole.
func byFirstTime(ctx context.Context, paths []string, opts *Options) ([]string, bool) {
	if len(paths) < 2 || opts.Mapping != nil && opts.Mapping.Time.Start != "" {
		return paths, len(paths) > 0
	}
	first := make(map[string]int64, len(paths))
	for _, p := range paths {
		at, ok := firstTime(ctx, p, opts)
		if !ok {
			return nil, false
		}
		first[p] = at
	}
	order := slices.Clone(paths)
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(first[a], first[b]) })
	return order, true
}

// firstTime returns the earliest time in the first block of a log.
func firstTime(ctx context.Context, path string, opts *Options) (int64, bool) {
	in, err := openInput(ctx, path)
	if err != nil {
		return 0, false
	}
	defer in.close() // read only, and read again later
	br := &blockReader{file: path, r: in.text, size: min(blockSize, opts.maxLine()), most: opts.maxLine()}
	b := &block{}
	if br.next(b) != nil {
		return 0, false
	}
	lay, err := studyHead(path, b.buf, b.last, opts, &Report{})
	if err != nil {
		return 0, false
	}
	b.skip(lay.start)
	b.out.prepare(lay, b.lines+1)
	s := scanner{layout: lay}
	s.scan(b.buf, b.line, b.cut, &b.out)
	if b.out.rows == 0 || unsettled(&b.out) {
		return 0, false
	}
	times := b.out.times[:b.out.rows]
	if lay.zoned == 0 {
		newWallClock(lay.zone).settle(times)
	}
	return slices.Min(times), true
}

// unsettled reports whether the times of a batch can only be understood with the rest of the file.
func unsettled(b *batch) bool {
	return b.marks&(eitherWay|bareDate) != 0 || b.marks&serialDay != 0 && wholeDays(b.times[:b.rows])
}

// pieces is the sink that hands rows on while the file is still being read.
type pieces struct {
	r         *reading
	give      func(*sense.Series) error
	t         table
	last      int64 // time of the last row handed on
	latest    int64 // latest time of the file
	begun     bool  // the file has given rows
	reordered bool  // the files are not in the order in which they were given
	clock     *wallClock
	sum       fileSum
}

// all reads the files one after another and hands on what is left at the end.
func (p *pieces) all(ctx context.Context) error {
	for _, path := range p.r.paths {
		if err := p.r.file(ctx, path, p); err != nil {
			return err
		}
	}
	return p.flush(0)
}

func (p *pieces) begin(lay *layout, rows int) error {
	p.sum, p.begun, p.clock = fileSum{}, false, newWallClock(lay.zone)
	p.t.reserve(lay, min(rows, 2*pieceRows))
	return nil
}

func (p *pieces) take(lay *layout, b *batch) error {
	if unsettled(b) {
		return errRestart
	}
	from := len(p.t.times)
	p.t.add(lay, b)
	p.sum.add(b)
	times := p.t.times[from:]
	switch {
	case lay.counted:
		if err := p.r.countRows(times, lay); err != nil {
			return err
		}
	case lay.zoned == 0:
		p.clock.settle(times)
		if !slices.IsSorted(times) {
			return errRestart // only the whole file tells disorder from the hour that is repeated
		}
	}
	if len(times) > 0 && p.reordered && !p.begun && from > 0 && times[0] == p.t.times[from-1] {
		return errRestart // which of the two rows counts depends on the order of the files
	}
	p.count(times)
	if p.r.zone == nil && p.begun {
		p.sum.last = p.latest
		p.r.learnZone(lay, &p.sum)
	}
	if len(p.t.times) < pieceRows {
		return nil
	}
	return p.flush(1)
}

// count keeps the span of the file and counts rows out of order.
func (p *pieces) count(times []int64) {
	for _, t := range times {
		switch {
		case !p.begun:
			p.sum.first, p.latest, p.begun = t, t, true
		case t < p.latest:
			p.r.report.OutOfOrder++
		}
		p.sum.first, p.latest = min(p.sum.first, t), max(p.latest, t)
	}
}

func (p *pieces) end(lay *layout) error {
	if err := p.r.noRows(lay, &p.sum); err != nil {
		return err
	}
	p.sum.last = p.latest
	p.clock.tell(lay.file, p.r.report)
	p.r.tellFile(lay, &p.sum)
	return nil
}

// flush hands on the rows gathered so far but for the last `hold`, which the next row may repeat.
func (p *pieces) flush(hold int) error {
	p.t.settle(p.r.report)
	n := len(p.t.times) - hold
	if n <= 0 {
		return nil
	}
	if p.t.times[0] <= p.last {
		return errRestart
	}
	p.last = p.t.times[n-1]
	p.r.report.Rows += n
	s := p.t.series()
	whole := *s
	s.Time, s.Pulses = s.Time[:n], s.Pulses[:firstFiring(s.Pulses, n)]
	for ch, col := range s.Col {
		if col != nil {
			s.Col[ch] = col[:n]
		}
	}
	s.Zone, s.Source = p.r.seriesZone(), strings.Join(p.r.paths, ", ")
	if err := p.give(s); err != nil {
		return err
	}
	p.t.keepFrom(&whole, n)
	return nil
}

// keepFrom starts the table again with the rows of s from n on.
func (t *table) keepFrom(s *sense.Series, n int) {
	t.times = append(t.times[:0], s.Time[n:]...)
	for ch, col := range s.Col {
		if col != nil {
			t.col[ch] = append(col[:0], col[n:]...)
		}
	}
	rest := s.Pulses[firstFiring(s.Pulses, n):]
	t.firings = t.firings[:0]
	for _, f := range rest {
		t.firings = append(t.firings, sense.Firing{Row: f.Row - int32(n), Valve: f.Valve})
	}
}
