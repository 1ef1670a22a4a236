package plant

import (
	"bytes"
	"context"
	"encoding/gob"
	"fmt"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// Course is the slow line of a collector, day by day, as charts draw it. It is kept with each conclusion, so that
// a page need not read a history of years.
type Course struct {
	At    time.Time // of the judgement it belongs to
	First time.Time // of the record
	Days  []CourseDay
}

// CourseDay is one day of it; NaN is not known.
type CourseDay struct {
	At        time.Time
	DP        float64 // just after cleaning, at design flow [Pa]
	Sigma     float64 // its standard uncertainty [Pa]
	Flow      float64 // airflow over design flow
	FlowSigma float64 // its standard uncertainty
	Begins    bool    // new filters: the line starts anew
}

// courseOf works the slow line out of a history.
func courseOf(h *sense.History, c *collector.Collector, at time.Time) *Course {
	out := &Course{At: at, First: time.Unix(0, h.First)}
	for _, life := range sense.Lives(h, c, at) {
		for i, p := range life.Points {
			out.Days = append(out.Days, CourseDay{p.At, p.DP, p.Sigma, p.Flow, p.FlowSigma, i == 0})
		}
	}
	return out
}

// keepCourse keeps the slow line of a collector.
func (s *Service) keepCourse(ctx context.Context, tag string, c *Course) error {
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(c); err != nil {
		return fmt.Errorf("course of %s: %w", tag, err)
	}
	return s.keep.PutCourse(ctx, tag, b.Bytes())
}

// Course returns the slow line that belongs to an overview's judgement: the one kept, or, where a crash or an older
// program left none, one worked out of the history. It returns ErrNothingRead where there is no reading.
func (s *Service) Course(ctx context.Context, o *Overview) (*Course, error) {
	if o.Judgement == nil {
		return nil, fmt.Errorf("%s: %w", o.Machine.Tag, ErrNothingRead)
	}
	data, err := s.keep.Course(ctx, o.Machine.Tag)
	if err != nil {
		return nil, err
	}
	if len(data) > 0 {
		c := new(Course)
		if err := gob.NewDecoder(bytes.NewReader(data)).Decode(c); err == nil && c.At.Equal(o.Judgement.At) {
			return c, nil // one that can't be read is worked out anew
		}
	}
	h, err := s.History(ctx, o.Machine.Tag)
	if err != nil {
		return nil, err
	}
	return courseOf(h, o.Collector, o.Judgement.At), nil
}
