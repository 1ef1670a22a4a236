package plant

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// ErrNothingRead says that a collector has no readings to judge by.
var ErrNothingRead = errors.New("there is no reading yet")

func parseFile(toml string) (*collector.Collector, error) {
	return collector.Parse("collector file", []byte(toml))
}

// Judge judges a collector from all that is kept of it, takes readings that came since the last time
// into its history, and keeps the conclusion. It returns ErrNothingRead where there is no reading.
func (s *Service) Judge(ctx context.Context, tag string) (*Judgement, error) {
	return s.judge(ctx, tag, false)
}

// lateRows is the most rows of a history that is built anew for a hand reading that came late, about a second's work. In a
// longer one a logger reads too, and the late reading only joins the chart.
const lateRows = 500_000

// judge is Judge; again builds the history anew from the readings.
func (s *Service) judge(ctx context.Context, tag string, again bool) (*Judgement, error) {
	defer s.lock(tag)()
	_, c, err := s.Machine(ctx, tag)
	if err != nil {
		return nil, err
	}
	history, err := s.history(ctx, tag, c, again)
	if err != nil {
		return nil, err
	}
	return s.conclude(ctx, tag, c, history)
}

// Assess judges a collector as Judge does and keeps nothing, so that it also works on a plant opened for reading only.
// A zero time judges as of the last reading; otherwise nothing later than at is used, neither readings nor records.
// It returns ErrNothingRead where there is no reading up to then.
func (s *Service) Assess(ctx context.Context, tag string, at time.Time) (*Judgement, error) {
	_, c, err := s.Machine(ctx, tag)
	if err != nil {
		return nil, err
	}
	history, err := s.history(ctx, tag, c, false)
	if err != nil {
		return nil, err
	}
	if !at.IsZero() && at.UnixNano() < history.Last {
		if history, err = s.replay(ctx, tag, time.Time{}, at.Add(1), sense.NewReducer(c)); err != nil {
			return nil, err
		}
	}
	made, err := s.appraise(ctx, tag, c, history, at)
	if err != nil {
		return nil, err
	}
	return made.Judgement, nil
}

// appraise judges a collector by its history, with the work on record and the answers to checks up to at; as of the
// last reading where at is zero. It returns the features beside the judgement.
func (s *Service) appraise(ctx context.Context, tag string, c *collector.Collector, history *sense.History, at time.Time) (*composed, error) {
	q := RecordQuery{Collector: tag, Kinds: workKinds, Limit: workMost}
	if !at.IsZero() {
		q.Limit = 0 // the newest may be later
	}
	records, err := s.keep.Records(ctx, q)
	if err != nil {
		return nil, err
	}
	if at.IsZero() {
		at = time.Unix(0, history.Last)
	} else {
		records = slices.DeleteFunc(records, func(r Record) bool { return r.At.After(at) })
		records = records[max(0, len(records)-workMost):]
	}
	noteWork(history, c, records)
	sisters, err := s.sisters(ctx, tag, c, at)
	if err != nil {
		return nil, err
	}
	return compose(JudgeInput{Collector: c, History: history, At: at, Answers: answers(records, at, s.experience), Zone: s.zone,
		Experience: s.experience, Sisters: sisters}), nil
}

// conclude judges a collector by its history and keeps the conclusion. The caller holds its lock.
func (s *Service) conclude(ctx context.Context, tag string, c *collector.Collector, history *sense.History) (*Judgement, error) {
	made, err := s.appraise(ctx, tag, c, history, time.Time{})
	if err != nil {
		return nil, err
	}
	j := made.Judgement
	var kept Conclusion
	kept.UpTo, kept.At = history.Last, s.now()
	if kept.Judgement, err = json.Marshal(j.kept()); err != nil {
		return nil, fmt.Errorf("judgement of %s: %w", tag, err)
	}
	var buf bytes.Buffer
	if err := history.Write(&buf); err != nil {
		return nil, err
	}
	kept.History = buf.Bytes()
	course := courseOf(history, made.features.Lives, j.At)
	course.Past = pastOf(made.lives)
	if err := s.keepCourse(ctx, tag, course); err != nil {
		return nil, err
	}
	s.kin.learn(tag, course.Past)
	return j, s.keep.PutConclusion(ctx, tag, kept)
}

// history returns the collector's history brought up to the last reading.
func (s *Service) history(ctx context.Context, tag string, c *collector.Collector, again bool) (*sense.History, error) {
	was, err := s.keep.Conclusion(ctx, tag)
	if err != nil {
		return nil, err
	}
	var reducer *sense.Reducer
	from := time.Time{}
	if len(was.History) > 0 && !again {
		// a history of an older layout is built anew from the readings, as its error says
		if h, err := sense.ReadHistory(bytes.NewReader(was.History)); err == nil {
			reducer = sense.Resume(h, c)
			from = time.Unix(0, h.Last+1)
			if late, err := s.lateReadings(ctx, tag, h, was.At); err != nil {
				return nil, err
			} else if late {
				reducer = nil
			}
		}
	}
	if reducer == nil {
		reducer, from = sense.NewReducer(c), time.Time{}
	}
	return s.replay(ctx, tag, from, time.Time{}, reducer)
}

// lateReadings reports whether hand readings came after the conclusion that lie before its end, in a
// history short enough to be built anew.
func (s *Service) lateReadings(ctx context.Context, tag string, h *sense.History, concluded time.Time) (bool, error) {
	if h.Rows > lateRows {
		return false, nil
	}
	records, err := s.keep.Records(ctx, RecordQuery{Collector: tag, Kinds: []Kind{KindReading, KindTraverse, KindBinEmptied, KindDamperMove}, Limit: 50})
	if err != nil {
		return false, err
	}
	for _, r := range records {
		if !r.Entered.Before(concluded.Add(-time.Minute)) && r.At.UnixNano() < h.Last {
			return true, nil
		}
	}
	return false, nil
}

// replay hands the readings from a time on up to, not including, another to the reducer, and returns the history that it
// then has. A zero time leaves that side open, but for what is yet to come. It returns ErrNothingRead where the history is
// empty.
func (s *Service) replay(ctx context.Context, tag string, from, to time.Time, reducer *sense.Reducer) (*sense.History, error) {
	if to.IsZero() {
		to = s.now().Add(ahead)
	}
	err := s.keep.Replay(ctx, tag, from, to, func(series *sense.Series) error {
		series.Zone = s.zone
		reducer.Add(series)
		return nil
	})
	if err != nil {
		return nil, err
	}
	h := reducer.History()
	if h.Rows == 0 {
		return nil, fmt.Errorf("%s: %w", tag, ErrNothingRead)
	}
	return h, nil
}

// workKinds are the records that a judgement leans on, and workMost how many of them.
var workKinds = []Kind{KindFilterChange, KindDamperMove, KindSetPointChange, KindValveRepair, KindCheckAnswer, KindBinEmptied, KindTraverse}

const workMost = 300

// renewed reports that a change left no more old filters than new ones: where fewer rows were done the old ones go on ageing, and say
// when the filters are due.
func (b FilterChange) renewed(c *collector.Collector) bool { return 2*len(b.Rows) >= c.Filters.Rows }

// noteWork tells the history what hands did.
func noteWork(h *sense.History, c *collector.Collector, records []Record) {
	for _, r := range records {
		switch r.Kind {
		case KindFilterChange:
			body, err := Open(r)
			if change, ok := body.(*FilterChange); ok && err == nil && !change.renewed(c) {
				continue
			}
			h.Note(sense.Change{At: r.At, From: r.At, To: r.At, Kind: "filters", Confidence: 1, Why: "on record"})
		case KindDamperMove:
			body, err := Open(r)
			if move, ok := body.(*DamperMove); ok && err == nil {
				before := float64(move.From)
				if before < 0 {
					before = math.NaN() // as sense has what is not known
				}
				h.Note(sense.Change{At: r.At, From: r.At, To: r.At, Kind: "damper", Before: before, After: float64(move.To), Unit: "1", Confidence: 1, Why: "on record"})
			}
		}
	}
}

// answerAge is how long what a check found speaks for the present.
const answerAge = 14 * 24 * time.Hour

// answers are those that still speak: the newest to each check, none from before the last work done.
func answers(records []Record, now time.Time, by judge.Experience) []judge.Answer {
	var out []judge.Answer
	for _, a := range Answered(records, now, by) {
		out = append(out, judge.Answer{Check: a.Check, Number: a.Number, Yes: a.Yes})
	}
	return out
}

// Answer is an answer to a check, with who gave it and when.
type Answer struct {
	CheckAnswer
	At time.Time
	By string
}

// AnswerKinds are the records that say which answers to checks count: the answers, and the work that does away with them.
var AnswerKinds = []Kind{KindCheckAnswer, KindFilterChange, KindDamperMove, KindSetPointChange, KindValveRepair, KindBinEmptied}

// Answered lists the answers that count, oldest first, from records in their order: of each check the last one, since the
// last work that may have changed what it found, and none that is old. Emptying the bin, which is done every few days, does away
// with what was found of the bin alone.
func Answered(records []Record, now time.Time, by judge.Experience) []Answer {
	var out []Answer
	for _, r := range records {
		switch {
		case r.Kind == KindCheckAnswer:
		case r.Kind == KindBinEmptied:
			out = slices.DeleteFunc(out, func(a Answer) bool {
				check, ok := by.CheckOf(a.Check)
				return !ok || check.Chance(judge.BinOverfull, 0, 0) > 0.5
			})
			continue
		case slices.Contains(AnswerKinds, r.Kind):
			out = out[:0]
			continue
		default:
			continue
		}
		body, err := Open(r)
		b, ok := body.(*CheckAnswer)
		if err != nil || !ok || now.Sub(r.At) > answerAge {
			continue
		}
		out = slices.DeleteFunc(out, func(a Answer) bool { return a.Check == b.Check && a.Number == b.Number })
		out = append(out, Answer{*b, r.At, r.By})
	}
	return out
}

// History returns the reduced record as last concluded; ErrNothingRead where there is none.
func (s *Service) History(ctx context.Context, tag string) (*sense.History, error) {
	c, err := s.keep.Conclusion(ctx, tag)
	if err != nil {
		return nil, err
	}
	if len(c.History) == 0 {
		return nil, fmt.Errorf("%s: %w", tag, ErrNothingRead)
	}
	return sense.ReadHistory(bytes.NewReader(c.History))
}
