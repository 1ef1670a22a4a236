package plant

import (
	"context"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// Books keeps collectors and the evidence chain.
type Books interface {
	Collectors(ctx context.Context) ([]Machine, error)
	Collector(ctx context.Context, tag string) (Machine, error) // ErrNoCollector where there is none of the tag
	PutCollector(ctx context.Context, m Machine) error
	Records(ctx context.Context, q RecordQuery) ([]Record, error)
	Append(ctx context.Context, records ...Record) ([]Record, error)
}

// Gauges keeps readings.
type Gauges interface {
	Extents(ctx context.Context, tag string) ([]Extent, error)
	AddSeries(ctx context.Context, tag string, series *sense.Series) (added int, err error)
	Replay(ctx context.Context, tag string, from, to time.Time, use func(*sense.Series) error) error // stretch by stretch, each use's own until it returns
	Envelope(ctx context.Context, tag string, ch sense.Channel, from, to time.Time, n int) ([]Bucket, error)
}

// Conclusions keeps what was worked out of the readings.
type Conclusions interface {
	Conclusion(ctx context.Context, tag string) (Conclusion, error)
	PutConclusion(ctx context.Context, tag string, c Conclusion) error
	Judgements(ctx context.Context) ([]Judged, error)
	Version(ctx context.Context) (Version, error)
	Course(ctx context.Context, tag string) ([]byte, error)
	PutCourse(ctx context.Context, tag string, data []byte) error
}

// Keeper is where all of it lives.
type Keeper interface {
	Books
	Gauges
	Conclusions
}

// Judged is the judgement last kept of a collector.
type Judged struct {
	Tag       string
	At        time.Time
	UpTo      int64  // unix ns of the last reading
	Judgement []byte // JSON
}

// Version tells whether anything was kept since: equal versions, same records and conclusions.
type Version struct {
	Records    int64 // place of the last record in the chain
	Collectors int64
	Concluded  int64 // sum over the conclusions' times
}

// ServiceOptions say what a Service works with. Units and Zone may be left out.
type ServiceOptions struct {
	Keeper Keeper
	Now    func() time.Time // nil: the computer's clock
	Units  unit.System      // in which a collector file is written that work has changed
	Zone   *time.Location   // of the site; nil: the computer's

	Experience judge.Experience // what the plant knows better than the lists of causes and checks
}

// Service takes readings and records in by the rules of the plant, judges the collectors they concern
// and says what is due. It is safe for concurrent use. Locks: tags' own, then kin's, then mu; never the other way.
type Service struct {
	keep  Keeper
	now   func() time.Time
	units unit.System
	zone  *time.Location

	experience judge.Experience

	kin kin

	tags sync.Map // tag to *sync.Mutex: one judgement of a collector at a time

	mu      sync.Mutex
	view    *View
	checked time.Time
}

// NewService returns a Service; it touches nothing yet.
func NewService(o ServiceOptions) *Service {
	s := &Service{keep: o.Keeper, now: o.Now, units: o.Units, zone: o.Zone, experience: o.Experience}
	if s.now == nil {
		s.now = time.Now
	}
	if s.zone == nil {
		s.zone = time.Local
	}
	return s
}

// Experience returns what the plant knows better than the lists of causes and checks.
func (s *Service) Experience() judge.Experience { return s.experience }

// Zone returns the site's clock.
func (s *Service) Zone() *time.Location { return s.zone }

// Now returns the time by the service's clock, in the site's zone.
func (s *Service) Now() time.Time { return s.now().In(s.zone) }

// lock makes one collector's conclusions the caller's own until the function returned is called.
func (s *Service) lock(tag string) func() {
	m, _ := s.tags.LoadOrStore(tag, &sync.Mutex{})
	mu := m.(*sync.Mutex)
	mu.Lock()
	return mu.Unlock
}

// Machine returns a collector as it stands in the books; ErrNoCollector where there is none of the tag.
func (s *Service) Machine(ctx context.Context, tag string) (Machine, *collector.Collector, error) {
	m, err := s.keep.Collector(ctx, tag)
	if err != nil {
		return Machine{}, nil, err
	}
	c, err := collector.Parse(tag, []byte(m.TOML))
	return m, c, err
}

// Enrol takes a collector's file into the books: a new collector goes to the end of the round, a known
// one gets the new file. The file goes on record under id. Durable on return.
func (s *Service) Enrol(ctx context.Context, toml []byte, by, id string) (*collector.Collector, error) {
	c, err := collector.Parse("collector file", toml)
	if err != nil {
		return nil, err
	}
	record, err := NewRecord(CollectorFile{TOML: string(toml)}, c.Tag, by)
	if err != nil {
		return nil, err
	}
	record.ID, record.At = id, s.Now()
	_, err = s.Accept(ctx, record)
	return c, err
}

// putFile replaces or adds the collector file of a tag, and reports whether it is another than before.
func (s *Service) putFile(ctx context.Context, tag, toml string) (fresh bool, err error) {
	list, err := s.keep.Collectors(ctx)
	if err != nil {
		return false, err
	}
	m := Machine{Tag: tag, Walk: 1, Created: s.now()}
	for _, known := range list {
		if known.Tag == tag && known.TOML == toml {
			return false, nil
		}
		if known.Tag == tag {
			m.Walk, m.Created = known.Walk, known.Created
			break
		}
		m.Walk = max(m.Walk, known.Walk+1)
	}
	m.TOML = toml
	s.kin.forget()
	return true, s.keep.PutCollector(ctx, m)
}

// Walk puts the collectors into the order of the round. Tags that are not named keep their order behind
// those that are. Durable on return.
func (s *Service) Walk(ctx context.Context, tags []string) error {
	list, err := s.keep.Collectors(ctx)
	if err != nil {
		return err
	}
	place := map[string]int{}
	for i, tag := range tags {
		place[tag] = i + 1
	}
	next := len(tags) + 1
	for _, m := range list {
		walk := place[m.Tag]
		if walk == 0 {
			walk = next
			next++
		}
		if walk == m.Walk {
			continue
		}
		m.Walk = walk
		if err := s.keep.PutCollector(ctx, m); err != nil {
			return err
		}
	}
	s.forget()
	return nil
}
