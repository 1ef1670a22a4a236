package plant

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// Refused says why a record can't be taken. It is the sender's to put right; sending the same again
// will not help.
type Refused struct {
	ID  string
	Why string
}

// Error returns the sentence.
func (r *Refused) Error() string { return r.Why }

// NewRecord makes a record of a body, with a new ID. When it happened is the caller's to say.
func NewRecord(body Body, tag, by string) (Record, error) {
	text, err := json.Marshal(body)
	if err != nil {
		return Record{}, fmt.Errorf("record: %w", err)
	}
	return Record{ID: NewID(), Kind: body.Kind(), Collector: tag, By: by, Body: text}, nil
}

// NewID returns an ID that nobody else has.
func NewID() string {
	var b [16]byte
	_, _ = rand.Read(b[:]) // never fails: crypto/rand ends the program first
	return hex.EncodeToString(b[:])
}

// ahead is how far a phone's clock may be ahead of ours before a record's time is doubted.
const ahead = 24 * time.Hour

// Accept takes records into the chain, all or none, and does what follows from them: hand readings join
// the series, set points change the collector file, and each collector concerned is judged again. A
// record whose ID is already there is not kept again, so a sender who never got the answer can
// send again. It returns the records as kept, or *Refused. Durable on return; should the program
// die between the record and what follows from it, Recover makes up for it.
func (s *Service) Accept(ctx context.Context, records ...Record) ([]Record, error) {
	known, err := s.knownTags(ctx)
	if err != nil {
		return nil, err
	}
	for i := range records {
		if err := s.check(ctx, &records[i], known); err != nil {
			return nil, err
		}
	}
	kept, err := s.keep.Append(ctx, records...)
	if err != nil {
		return nil, err
	}
	return kept, s.follow(ctx, kept)
}

// knownTags is the set of tags in the books.
func (s *Service) knownTags(ctx context.Context) (map[string]bool, error) {
	list, err := s.keep.Collectors(ctx)
	if err != nil {
		return nil, err
	}
	known := make(map[string]bool, len(list))
	for _, m := range list {
		known[m.Tag] = true
	}
	return known, nil
}

// check refuses what can't be a record and fills in when it was taken.
func (s *Service) check(ctx context.Context, r *Record, known map[string]bool) error {
	r.Entered = s.now()
	if r.At.IsZero() {
		r.At = s.Now()
	}
	body, err := Open(*r)
	switch {
	case r.ID == "" || len(r.ID) > 100:
		return &Refused{r.ID, "a record carries an ID of at most 100 characters, made by its sender"}
	case err != nil:
		return &Refused{r.ID, err.Error()}
	case r.At.After(r.Entered.Add(ahead)):
		return &Refused{r.ID, fmt.Sprintf("the record says it happened on %s, which is yet to come; set the clock of the phone", r.At.Format("2 January 2006 15:04"))}
	}
	if file, ok := body.(*CollectorFile); ok {
		c, err := parseFile(file.TOML)
		if err != nil {
			return &Refused{r.ID, err.Error()}
		}
		r.Collector = c.Tag
		known[c.Tag] = true
	}
	if a, ok := body.(*CheckAnswer); ok {
		if _, ok := s.experience.CheckOf(a.Check); !ok {
			return &Refused{r.ID, unknown("check", a.Check, namesOf(s.experience.AllChecks(), func(c judge.CheckEntry) string { return c.ID })).Error()}
		}
	}
	if r.Collector != "" && !known[r.Collector] {
		return &Refused{r.ID, unknown("collector", r.Collector, slices.Sorted(maps.Keys(known))).Error()}
	}
	return s.checkFits(ctx, r, body)
}

// checkFits refuses set points and readings of hoods that the collector's file as it is now can't have. A collector whose file comes
// with the same records is not in the books yet, and they are taken as they are.
func (s *Service) checkFits(ctx context.Context, r *Record, body Body) error {
	change, set := body.(*SetPointChange)
	hoods, read := body.(*HoodReading)
	if !set && !read {
		return nil
	}
	if r.Collector == "" {
		return &Refused{r.ID, "set points, and readings behind hoods, name the collector"}
	}
	_, c, err := s.Machine(ctx, r.Collector)
	switch {
	case errors.Is(err, ErrNoCollector):
		return nil
	case err != nil:
		return err
	case read:
		return checkHoods(r, hoods, c)
	}
	for _, key := range slices.Sorted(maps.Keys(change.Keys)) {
		if err := c.Set(key, change.Keys[key]); err != nil {
			return &Refused{r.ID, err.Error()}
		}
	}
	if _, err := parseFile(c.TOML(s.units)); err != nil {
		return &Refused{r.ID, "with this change the collector file can't be: " + err.Error()}
	}
	return nil
}

// checkHoods refuses readings of hoods that the collector does not have.
func checkHoods(r *Record, b *HoodReading, c *collector.Collector) error {
	if _, err := b.Of(c); err != nil {
		return &Refused{r.ID, err.Error()}
	}
	var sent struct{ Hoods []struct{ SP *float64 } } // what is on record stays readable, so this is asked of new ones only
	if err := json.Unmarshal(r.Body, &sent); err != nil {
		return &Refused{r.ID, err.Error()}
	}
	for i, h := range sent.Hoods {
		if h.SP == nil {
			return &Refused{r.ID, fmt.Sprintf("%s: the reading names the hood and leaves out its static pressure, sp", b.Hoods[i].Branch)}
		}
	}
	return nil
}

// follow does what follows from records, and judges the collectors they concern and those of some tags again. It can be
// done again without harm.
func (s *Service) follow(ctx context.Context, records []Record, tags ...string) error {
	for _, r := range records {
		if _, err := s.apply(ctx, r); err != nil {
			return err
		}
		if r.Collector != "" && !slices.Contains(tags, r.Collector) {
			tags = append(tags, r.Collector)
		}
	}
	var errs []error
	for _, tag := range tags {
		if _, err := s.Judge(ctx, tag); err != nil && !errors.Is(err, ErrNothingRead) {
			errs = append(errs, err)
		}
	}
	s.forget()
	return errors.Join(errs...)
}

// apply brings one record into the collector file or the readings, and reports whether these did not have it yet.
func (s *Service) apply(ctx context.Context, r Record) (fresh bool, err error) {
	body, err := Open(r)
	if err != nil {
		return false, err
	}
	values := map[sense.Channel]float64{}
	switch b := body.(type) {
	case *Reading:
		for name, v := range b.Values {
			if ch, ok := sense.ParseChannel(name); ok {
				values[ch] = v
			}
		}
	case *BinEmptied:
		if b.Mass > 0 {
			values[sense.BinMass] = float64(b.Mass)
		}
	case *DamperMove:
		values[sense.Damper] = float64(b.To)
	case *Traverse:
		values[sense.Flow] = float64(b.Flow)
	case *SetPointChange:
		return s.reset(ctx, r.Collector, b.Keys)
	case *CollectorFile:
		return s.putFile(ctx, r.Collector, b.TOML)
	}
	if len(values) == 0 || r.Collector == "" {
		return false, nil
	}
	return s.addRow(ctx, r.Collector, r.At, values)
}

// addRow adds one row of readings, and reports whether it was not there yet.
func (s *Service) addRow(ctx context.Context, tag string, at time.Time, values map[sense.Channel]float64) (fresh bool, err error) {
	series := &sense.Series{Time: []int64{at.UnixNano()}, Zone: at.Location(), Source: tag}
	for ch, v := range values {
		if !math.IsNaN(v) {
			series.Col[ch] = []float64{v}
		}
	}
	added, err := s.keep.AddSeries(ctx, tag, series)
	return added > 0, err
}

// reset changes keys of a collector's file in the books, and reports whether that made another file of it.
func (s *Service) reset(ctx context.Context, tag string, keys map[string]string) (fresh bool, err error) {
	m, c, err := s.Machine(ctx, tag)
	if err != nil {
		return false, err
	}
	names := make([]string, 0, len(keys))
	for key := range keys {
		names = append(names, key)
	}
	slices.Sort(names)
	for _, key := range names {
		if err := c.Set(key, keys[key]); err != nil {
			continue // it fitted the file when it was taken; done again after a crash, a newer file may have that branch no more
		}
	}
	before := m.TOML
	if m.TOML = c.TOML(s.units); m.TOML == before {
		return false, nil
	}
	s.kin.forget()
	return true, s.keep.PutCollector(ctx, m)
}

// recoverSpan is how far before a conclusion its records may lie that it does not know: they were taken while it was on its way.
const recoverSpan = time.Minute

// Recover does again what follows from the records taken after each collector's last conclusion: what
// a crash between record and consequence left undone. What was concluded with another experience is judged again. It is
// called once, before anything else.
func (s *Service) Recover(ctx context.Context) error {
	judged, err := s.keep.Judgements(ctx)
	if err != nil {
		return err
	}
	at := map[string]time.Time{}
	var stale []string
	for _, j := range judged {
		at[j.Tag] = j.At
		var was struct{ Experience string }
		if err := json.Unmarshal(j.Judgement, &was); err != nil || was.Experience != s.experience.Mark {
			stale = append(stale, j.Tag)
		}
	}
	list, err := s.keep.Records(ctx, RecordQuery{Limit: 1000})
	if err != nil {
		return err
	}
	var open []Record
	for _, r := range list {
		last, judged := at[r.Collector]
		switch {
		case r.Collector == "":
		case !judged || !r.Entered.Before(last):
			open = append(open, r)
		case r.Entered.After(last.Add(-recoverSpan)):
			fresh, err := s.apply(ctx, r)
			if err != nil {
				return err
			}
			if fresh {
				stale = append(stale, r.Collector)
			}
		}
	}
	return s.follow(ctx, open, stale...)
}
