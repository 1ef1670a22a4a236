package plant

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sort"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// Overview is one collector as it stands now.
type Overview struct {
	Machine   Machine
	Collector *collector.Collector
	Judgement *Judgement // nil: not enough read yet
	Tasks     []Task     // soonest first
	BinDue    time.Time  // zero unknown
	Swing     Bucket     // the last day's dP; N is 0 where there is none
	Last      time.Time  // of the last reading; zero none
	concluded time.Time  // when it was judged
}

// Standing returns what the collector calls for; a collector not judged yet counts as steady.
func (o *Overview) Standing() judge.Standing {
	if o.Judgement == nil {
		return judge.Steady
	}
	return o.Judgement.Standing
}

// View is the plant as it stood at a version. It is not changed any more.
type View struct {
	Version Version
	List    []*Overview // worst standing first
	Walk    []*Overview // in walking order
	byTag   map[string]*Overview
}

// Of returns one collector; ErrNoCollector where there is none of the tag.
func (v *View) Of(tag string) (*Overview, error) {
	if o := v.byTag[tag]; o != nil {
		return o, nil
	}
	return nil, fmt.Errorf("%w %q", ErrNoCollector, tag)
}

// viewAge is how long a view is shown without asking whether another process wrote.
const viewAge = time.Second

// View returns the plant as it stands: from memory unless something was kept since.
func (s *Service) View(ctx context.Context) (*View, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	if s.view != nil && now.Sub(s.checked) < viewAge && !now.Before(s.checked) {
		return s.view, nil
	}
	version, err := s.keep.Version(ctx)
	if err != nil {
		return nil, err
	}
	s.checked = now
	if s.view != nil && s.view.Version == version {
		return s.view, nil
	}
	view, err := s.look(ctx, version)
	if err != nil {
		return nil, err
	}
	s.view = view
	return view, nil
}

// forget makes the next View ask.
func (s *Service) forget() {
	s.mu.Lock()
	s.checked = time.Time{}
	s.mu.Unlock()
}

// look puts a view together; what did not change since the last one is taken over from it.
func (s *Service) look(ctx context.Context, version Version) (*View, error) {
	machines, err := s.keep.Collectors(ctx)
	if err != nil {
		return nil, err
	}
	judged, err := s.keep.Judgements(ctx)
	if err != nil {
		return nil, err
	}
	last := map[string]Judged{}
	for _, j := range judged {
		last[j.Tag] = j
	}
	since := int64(-1)
	if s.view != nil {
		since = s.view.Version.Records
	}
	touched, err := s.touched(ctx, since)
	if err != nil {
		return nil, err
	}
	v := &View{Version: version, List: make([]*Overview, len(machines)), byTag: map[string]*Overview{}}
	errs := make([]error, len(machines))
	var group sync.WaitGroup
	workers := min(runtime.GOMAXPROCS(0), len(machines))
	for w := range workers {
		group.Go(func() {
			for i := w; i < len(machines); i += workers {
				m := machines[i]
				if v.List[i] = s.unchanged(m, last[m.Tag], touched); v.List[i] == nil {
					v.List[i], errs[i] = s.overview(ctx, m, last[m.Tag])
				}
			}
		})
	}
	group.Wait()
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	v.Walk = slices.Clone(v.List)
	for i, m := range machines {
		v.byTag[m.Tag] = v.List[i]
	}
	sort.SliceStable(v.List, func(i, j int) bool { return worse(v.List[i], v.List[j]) })
	return v, nil
}

// touched lists the tags with records after a place in the chain; nil where all count as touched.
func (s *Service) touched(ctx context.Context, since int64) (map[string]bool, error) {
	if since < 0 {
		return nil, nil
	}
	records, err := s.keep.Records(ctx, RecordQuery{After: since})
	out := map[string]bool{}
	for _, r := range records {
		out[r.Collector] = true
	}
	return out, err
}

// unchanged returns the overview of the view before where it still holds, else nil.
func (s *Service) unchanged(m Machine, j Judged, touched map[string]bool) *Overview {
	if s.view == nil || touched == nil || touched[m.Tag] {
		return nil
	}
	o := s.view.byTag[m.Tag]
	if o == nil || o.Machine != m || !o.concluded.Equal(j.At) {
		return nil
	}
	return o
}

// overview puts one collector's together.
func (s *Service) overview(ctx context.Context, m Machine, j Judged) (*Overview, error) {
	c, err := collector.Parse(m.Tag, []byte(m.TOML))
	if err != nil {
		return nil, fmt.Errorf("the file of %s in the books: %w", m.Tag, err)
	}
	o := &Overview{Machine: m, Collector: c, concluded: j.At}
	if len(j.Judgement) > 0 {
		o.Judgement = new(Judgement)
		if err := json.Unmarshal(j.Judgement, o.Judgement); err != nil {
			return nil, fmt.Errorf("the judgement of %s: %w", m.Tag, err)
		}
		o.Last = time.Unix(0, j.UpTo).In(s.zone)
		swing, err := s.keep.Envelope(ctx, m.Tag, sense.DP, o.Last.Add(-24*time.Hour), o.Last.Add(time.Second), 1)
		if err != nil {
			return nil, err
		}
		for _, b := range swing {
			o.Swing = o.Swing.With(b)
		}
	}
	records, err := s.taskRecords(ctx, m.Tag)
	if err != nil {
		return nil, err
	}
	o.BinDue = BinDue(BinInput{Collector: c, Records: records, Started: m.Created})
	o.Tasks = Tasks(TaskInput{Collector: c, Records: records, Judgement: o.Judgement, BinDue: o.BinDue, Started: m.Created}, s.Now())
	return o, nil
}

// With returns two buckets drawn together.
func (b Bucket) With(o Bucket) Bucket {
	if b.N == 0 {
		return o
	}
	return Bucket{From: min(b.From, o.From), To: max(b.To, o.To), N: b.N + o.N, Min: min(b.Min, o.Min), Max: max(b.Max, o.Max), Sum: b.Sum + o.Sum}
}

// taskRecords are the records tasks follow from, oldest first: of readings only the newest ones.
func (s *Service) taskRecords(ctx context.Context, tag string) ([]Record, error) {
	readings, err := s.keep.Records(ctx, RecordQuery{Collector: tag, Kinds: []Kind{KindReading}, Limit: 5})
	if err != nil {
		return nil, err
	}
	kinds := append([]Kind{KindValveCheck, KindInspection, KindCommissioning, KindArrival}, workKinds...)
	work, err := s.keep.Records(ctx, RecordQuery{Collector: tag, Kinds: kinds, Limit: workMost})
	if err != nil {
		return nil, err
	}
	all := append(readings, work...)
	sort.SliceStable(all, func(i, j int) bool { return all[i].Seq < all[j].Seq })
	return all, nil
}

// worse orders collectors as Worse does, those not judged yet last.
func worse(a, b *Overview) bool {
	if a.Judgement == nil || b.Judgement == nil {
		return a.Judgement != nil && b.Judgement == nil
	}
	return Worse(a.Judgement, b.Judgement)
}

// Worse orders judgements by standing, then by how sure the trouble is: pages and tables show the worst first.
func Worse(a, b *Judgement) bool {
	if ra, rb := a.Standing.Rank(), b.Standing.Rank(); ra != rb {
		return ra > rb
	}
	return a.trouble() > b.trouble()
}

// trouble is the probability that something is wrong.
func (j *Judgement) trouble() float64 {
	p := 1.0
	for _, c := range j.Causes {
		if c.Cause == judge.None {
			p -= c.P
		}
	}
	return p
}
