package plant

import (
	"context"

	"dustwright/collector"
	"dustwright/sense"
)

// Import takes logs of a collector in: read is called with what takes each stretch of readings, in order
// of time, and returns when all are handed over. Each stretch is durable when its take returns; the
// same log can be imported again, after a crash too. The collector is judged at the end.
func (s *Service) Import(ctx context.Context, tag string, read func(take func(*sense.Series) error) error) (added int, j *Judgement, err error) {
	_, c, err := s.Machine(ctx, tag)
	if err != nil {
		return 0, nil, err
	}
	in := &intake{s: s, tag: tag}
	err = func() error {
		defer s.lock(tag)()
		if err := in.begin(ctx, c); err != nil {
			return err
		}
		if err := read(func(series *sense.Series) error { return in.take(ctx, series) }); err != nil || in.reducer == nil || in.added == 0 {
			return err
		}
		j, err = s.conclude(ctx, tag, c, in.reducer.History())
		return err
	}()
	if err == nil && j == nil {
		j, err = s.judge(ctx, tag, in.late && in.added > 0)
	}
	s.forget()
	return in.added, j, err
}

// intake is one import. What a collector without readings gets goes into its history on the way in, so that it need
// not be read back.
type intake struct {
	s       *Service
	tag     string
	reducer *sense.Reducer // nil: the history is brought up to date from what is kept
	known   int64          // unix ns, end of the history before; 0 none
	last    int64          // unix ns, last row taken
	late    bool           // some rows lie before the end of the history
	added   int
}

// begin looks at what there is already.
func (in *intake) begin(ctx context.Context, c *collector.Collector) error {
	was, err := in.s.keep.Conclusion(ctx, in.tag)
	if err != nil {
		return err
	}
	in.known = was.UpTo
	if len(was.History) > 0 {
		return nil
	}
	if extents, err := in.s.keep.Extents(ctx, in.tag); err != nil || len(extents) > 0 {
		return err
	}
	in.reducer = sense.NewReducer(c)
	return nil
}

// take keeps one stretch.
func (in *intake) take(ctx context.Context, series *sense.Series) error {
	if series.Len() == 0 {
		return nil
	}
	n, err := in.s.keep.AddSeries(ctx, in.tag, series)
	if err != nil {
		return err
	}
	in.added += n
	in.late = in.late || series.Time[0] <= in.known
	if series.Time[0] <= in.last {
		in.reducer = nil // out of order: what is kept has it in order
	}
	in.last = series.Time[series.Len()-1]
	if in.reducer != nil {
		local := *series
		local.Zone = in.s.zone
		in.reducer.Add(&local)
	}
	return nil
}
