package plant

import (
	"bytes"
	"context"
	"encoding/gob"
	"fmt"
	"math"
	"time"

	"dustwright/life"
	"dustwright/sense"
)

// Course is the slow line of a collector, day by day, as charts draw it. It is kept with each conclusion, so that
// a page need not read a history of years.
type Course struct {
	At    time.Time // of the judgement it belongs to
	First time.Time // of the record
	Days  []CourseDay
	Ran   []Bucket      // the dP day by day, only while the fan ran
	Past  []life.Record // lives that ended, for the collector's sisters
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

// courseOf works the slow line out of a history and the filter lives in it.
func courseOf(h *sense.History, lives []sense.Life, at time.Time) *Course {
	out := &Course{At: at, First: time.Unix(0, h.First)}
	for _, life := range lives {
		for i, p := range life.Points {
			out.Days = append(out.Days, CourseDay{p.At, p.DP, p.Sigma, p.Flow, p.FlowSigma, i == 0})
		}
	}
	out.Ran = ran(h)
	return out
}

// ran draws the dP of a history's hours together by days of the log's clock, leaving out what was read while the fan stood.
func ran(h *sense.History) []Bucket {
	var out []Bucket
	last := int64(math.MinInt64)
	for i := range h.Hours {
		hour := &h.Hours[i]
		s, ok := hour.Of(sense.DP)
		if !ok || s.N == 0 {
			continue
		}
		b := Bucket{From: hour.Start * 1e9, To: (hour.Start + int64(hour.Last)) * 1e9, N: int(s.N), Min: float64(s.Min), Max: float64(s.Max), Sum: float64(s.Mean) * float64(s.N)}
		day := (hour.Start + int64(h.Offset)) / 86400
		if day != last {
			out, last = append(out, b), day
			continue
		}
		out[len(out)-1] = out[len(out)-1].With(b)
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
	return courseOf(h, sense.Lives(h, o.Collector, o.Judgement.At), o.Judgement.At), nil
}
