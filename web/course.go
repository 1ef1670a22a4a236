package web

import (
	"context"
	"errors"
	"math"
	"sync"
	"time"

	"dustwright/plant"
	"dustwright/sense"
)

// course is the slow line of a collector: day by day, drag after cleaning and airflow. It is worked out of
// the history once for each conclusion.
type course struct {
	at    time.Time // of the judgement it belongs to
	first time.Time // of the record
	days  []courseDay
}

// courseDay is one day of it; NaN is not known.
type courseDay struct {
	at          time.Time
	dp, sigma   float64 // after cleaning, at design flow [Pa]
	flow, width float64 // airflow and its standard uncertainty, over design
	begins      bool    // new filters: the line starts anew
}

// courses keeps them by tag. The zero value is ready.
type courses struct {
	mu    sync.Mutex
	byTag map[string]*course
}

// courseOf returns a collector's course.
func (s *Server) courseOf(ctx context.Context, o *plant.Overview) (*course, error) {
	if o.Judgement == nil {
		return &course{}, nil
	}
	s.courses.mu.Lock()
	c := s.courses.byTag[o.Machine.Tag]
	s.courses.mu.Unlock()
	if c != nil && c.at.Equal(o.Judgement.At) {
		return c, nil
	}
	h, err := s.o.Service.History(ctx, o.Machine.Tag)
	if errors.Is(err, plant.ErrNothingRead) {
		return &course{}, nil
	}
	if err != nil {
		return nil, err
	}
	c = &course{at: o.Judgement.At, first: time.Unix(0, h.First)}
	for _, life := range sense.Lives(h, o.Collector, o.Judgement.At) {
		for i, p := range life.Points {
			c.days = append(c.days, courseDay{p.At, p.DP, p.Sigma, p.Flow, p.FlowSigma, i == 0})
		}
	}
	s.courses.mu.Lock()
	if s.courses.byTag == nil {
		s.courses.byTag = map[string]*course{}
	}
	s.courses.byTag[o.Machine.Tag] = c
	s.courses.mu.Unlock()
	return c, nil
}

// dragLine is the dP after cleaning at design flow.
func (c *course) dragLine(from, to time.Time) []point {
	var out []point
	for _, d := range c.days {
		if !math.IsNaN(d.dp) && !d.at.Before(from.AddDate(0, 0, -2)) && !d.at.After(to) {
			out = append(out, point{d.at, d.dp, d.sigma, d.begins})
		}
	}
	return out
}

// flowLine is the airflow [m3/s] for a design flow.
func (c *course) flowLine(design float64, from, to time.Time) []point {
	var out []point
	for _, d := range c.days {
		if !math.IsNaN(d.flow) && !d.at.Before(from.AddDate(0, 0, -2)) && !d.at.After(to) {
			out = append(out, point{d.at, d.flow * design, d.width * design, d.begins})
		}
	}
	return out
}
