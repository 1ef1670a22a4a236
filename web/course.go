package web

import (
	"context"
	"errors"
	"math"
	"sync"
	"time"

	"dustwright/plant"
)

// course is the slow line of a collector with the lines that charts take from it.
type course struct{ *plant.Course }

// courses keeps them by tag. The zero value is ready.
type courses struct {
	mu    sync.Mutex
	byTag map[string]*course
}

// courseOf returns a collector's course.
func (s *Server) courseOf(ctx context.Context, o *plant.Overview) (*course, error) {
	s.courses.mu.Lock()
	c := s.courses.byTag[o.Machine.Tag]
	s.courses.mu.Unlock()
	if c != nil && o.Judgement != nil && c.At.Equal(o.Judgement.At) {
		return c, nil
	}
	kept, err := s.o.Service.Course(ctx, o)
	if errors.Is(err, plant.ErrNothingRead) {
		return &course{&plant.Course{}}, nil
	}
	if err != nil {
		return nil, err
	}
	c = &course{kept}
	s.courses.mu.Lock()
	if s.courses.byTag == nil {
		s.courses.byTag = map[string]*course{}
	}
	s.courses.byTag[o.Machine.Tag] = c
	s.courses.mu.Unlock()
	return c, nil
}

// ranBand is the dP day by day while the fan ran.
func (c *course) ranBand(from, to time.Time) []plant.Bucket {
	var out []plant.Bucket
	for _, b := range c.Ran {
		if b.From >= from.UnixNano() && b.From < to.UnixNano() {
			out = append(out, b)
		}
	}
	return out
}

// dragLine is the dP after cleaning at design flow.
func (c *course) dragLine(from, to time.Time) []point {
	var out []point
	for _, d := range c.Days {
		if !math.IsNaN(d.DP) && !d.At.Before(from.AddDate(0, 0, -2)) && !d.At.After(to) {
			out = append(out, point{d.At, d.DP, d.Sigma, d.Begins})
		}
	}
	return out
}

// flowLine is the airflow [m3/s] for a design flow.
func (c *course) flowLine(design float64, from, to time.Time) []point {
	var out []point
	for _, d := range c.Days {
		if !math.IsNaN(d.Flow) && !d.At.Before(from.AddDate(0, 0, -2)) && !d.At.After(to) {
			out = append(out, point{d.At, d.Flow * design, d.FlowSigma * design, d.Begins})
		}
	}
	return out
}
