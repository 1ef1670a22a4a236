package plant

import (
	"bytes"
	"cmp"
	"context"
	"encoding/gob"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/life"
)

// Sisters are collectors of a plant that have the same dust, by its name in their files, and the same filters: cleaned the same way,
// loaded about the same, and done at the same dP. How long the filters of one lasted says what to expect of another's; package
// life takes that for less sure than the collector's own past.

// kind is what makes collectors sisters.
type kind struct {
	dust                        string
	mode                        collector.Mode
	area, limit, velocity, load float64 // of a cartridge [m2], max dP [Pa], of the face [m/s], dust in the air [kg/m3]; NaN unknown
}

func kindOf(c *collector.Collector) kind {
	return kind{dust: strings.ToLower(strings.Join(strings.Fields(c.Duty.Dust), " ")), mode: c.Cleaning.Mode, area: float64(c.Filters.AreaEach),
		limit: float64(c.Filters.MaxDP), velocity: float64(c.Duty.Flow) / float64(c.Filters.Area()), load: float64(c.Duty.Loading)}
}

// like reports that collectors of two kinds are sisters. How near is near enough: common practice, no source.
func (k kind) like(o kind) bool {
	near := func(a, b, within float64) bool { return math.Abs(math.Log(a/b)) <= within }
	unknown := math.IsNaN(k.load) || math.IsNaN(o.load)
	return k.dust != "" && k.dust == o.dust && k.mode == o.mode && near(k.area, o.area, 0.05) && near(k.limit, o.limit, 0.1) &&
		near(k.velocity, o.velocity, 0.2) && (unknown || near(k.load, o.load, 0.3))
}

// kin is what a service remembers of its collectors as sisters.
type kin struct {
	mu    sync.Mutex
	kinds map[string]kind          // by tag; nil not read yet
	past  map[string][]life.Record // lives that ended, by tag
}

// forget is called when a collector's file changed.
func (k *kin) forget() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.kinds = nil
}

// learn takes in the lives of a collector that ended.
func (k *kin) learn(tag string, past []life.Record) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.past == nil {
		k.past = map[string][]life.Record{}
	}
	k.past[tag] = past
}

// mostSisters is how many lives of sisters count, the last that ended: more would say no more.
const mostSisters = 6

// sisters returns the lives of a collector's sisters that had ended by a time, oldest first.
func (s *Service) sisters(ctx context.Context, tag string, c *collector.Collector, at time.Time) ([]life.Record, error) {
	s.kin.mu.Lock()
	defer s.kin.mu.Unlock()
	if s.kin.kinds == nil {
		list, err := s.keep.Collectors(ctx)
		if err != nil {
			return nil, err
		}
		s.kin.kinds = map[string]kind{}
		for _, m := range list {
			if other, err := parseFile(m.TOML); err == nil {
				s.kin.kinds[m.Tag] = kindOf(other)
			}
		}
	}
	mine := kindOf(c)
	var out []life.Record
	for other, k := range s.kin.kinds {
		if other == tag || !mine.like(k) {
			continue
		}
		past, known := s.kin.past[other]
		if !known {
			var err error
			if past, err = s.past(ctx, other); err != nil {
				return nil, err
			}
			if s.kin.past == nil {
				s.kin.past = map[string][]life.Record{}
			}
			s.kin.past[other] = past
		}
		out = append(out, past...)
	}
	return lastOf(out, at), nil
}

// Kin is a collector with the lives of its filters that ended.
type Kin struct {
	Collector *collector.Collector
	Past      []life.Record
}

// SistersOf returns what a plant's other collectors tell of one: the lives of its sisters that had ended by a time, oldest first.
func SistersOf(c *collector.Collector, at time.Time, plant []Kin) []life.Record {
	mine := kindOf(c)
	var out []life.Record
	for _, k := range plant {
		if k.Collector != c && mine.like(kindOf(k.Collector)) {
			out = append(out, k.Past...)
		}
	}
	return lastOf(out, at)
}

// lastOf is the last lives that had ended by a time, as sisters', oldest first, whatever order they come in.
func lastOf(all []life.Record, at time.Time) []life.Record {
	var out []life.Record
	for _, r := range all {
		if !ended(r).After(at) {
			r.Sister = true
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b life.Record) int {
		return cmp.Or(ended(a).Compare(ended(b)), a.Points[0].At.Compare(b.Points[0].At), cmp.Compare(len(a.Points), len(b.Points)))
	})
	return out[max(0, len(out)-mostSisters):]
}

// past is the lives that ended as they were last kept.
func (s *Service) past(ctx context.Context, tag string) ([]life.Record, error) {
	data, err := s.keep.Course(ctx, tag)
	if err != nil || len(data) == 0 {
		return nil, err
	}
	var c Course
	if err := gob.NewDecoder(bytes.NewReader(data)).Decode(&c); err != nil {
		return nil, nil // an older program's: it is kept anew with the next judgement
	}
	return c.Past, nil
}

// ended is the time of a life's last point.
func ended(r life.Record) time.Time { return r.Points[len(r.Points)-1].At }

// pastPoints is how many points of a life that ended are kept for its sisters.
const pastPoints = 100

// pastOf picks the lives that ended, thinned out.
func pastOf(lives []life.Record) []life.Record {
	var out []life.Record
	for _, r := range lives {
		if !r.Ended || r.Sister || len(r.Points) == 0 {
			continue
		}
		every := (len(r.Points) + pastPoints - 1) / pastPoints
		var ps []life.Point
		for i := (len(r.Points) - 1) % every; i < len(r.Points); i += every { // the last one among them
			ps = append(ps, r.Points[i])
		}
		r.Points = ps
		out = append(out, r)
	}
	return out
}
