// Package etch makes up pulse-jet dust collectors with their file, their log and the truth, to score a judgement on
// machines it was not fitted to. It is a test bench of plain numerics: one fixed step, every row of filters with its
// own cake, the airflow solved at each step from fan, ducts, damper and rows, the header as a small vessel behind a
// regulator and a line. A trouble turns a part of that mechanism; what the channels show follows. The instruments are
// layers laid over the clean record, drawn for each channel by itself. SI inside. Every figure is a guess at what is
// met in the trade (common practice, no source).
package etch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

const (
	healthy   = 0.4  // share of trials without a trouble
	fromStart = 0.11 // share of the troubles that were there before the first row
	day       = 86400.0
	attempts  = 60 // machines tried for one trouble before giving up
)

// Draw makes the trial of a seed. Its errors are a machine that its own file's rules refuse, and a trouble that does
// not show on any machine tried.
func Draw(seed uint64) (*made.Trial, error) {
	r := rand.New(rand.NewPCG(seed, 0xe7c4))
	return drawAs(wrong(r), r)
}

// wrong draws what is the matter, if anything.
func wrong(r *rand.Rand) judge.Cause {
	if r.Float64() < healthy {
		return judge.None
	}
	names := made.Causes()
	return judge.Cause(names[r.IntN(len(names))])
}

// drawAs draws machines until one shows the cause.
func drawAs(cause judge.Cause, r *rand.Rand) (*made.Trial, error) {
	for range attempts {
		b := lay(r)
		tell(b, cause == judge.None, r)
		b.way = contrive(cause, b, r)
		dials := gauge(b, r)
		rec, shows := play(b, dials)
		if !rec.believable(b) || !shows && cause != judge.None {
			continue
		}
		file, err := b.file()
		if err != nil {
			return nil, fmt.Errorf("etch: %w", err)
		}
		t := &made.Trial{Collector: file, Truth: string(cause), Number: b.way.number, Severity: b.way.severity,
			Story: b.story, Series: b.write(rec, dials, r)}
		if cause != judge.None {
			t.Old = (b.end - b.way.onset) / day
		}
		t.At = time.Unix(0, t.Series.Time[t.Series.Len()-1])
		return t, nil
	}
	return nil, fmt.Errorf("etch: %s shows on none of %d machines", cause, attempts)
}

// play runs the machine and, from the onset of its trouble, its twin without one. It reports whether they differ.
func play(b *bench, dials *dials) (*record, bool) {
	if b.way.cause == judge.None {
		rec := newRecord(b)
		b.run(newState(b), rec, b.end)
		return rec, false
	}
	rec := newRecord(b)
	st := newState(b)
	b.run(st, rec, b.way.onset)
	rest := st.twin()
	from := rec.rows()
	twin := newRecord(b)
	b.run(st, rec, b.end)
	way := b.way
	b.way = trouble{cause: judge.None}
	b.run(rest, twin, b.end)
	b.way = way
	return rec, differ(rec.after(from), twin.after(0), dials, way.number)
}

// believable reports that the machine before its trouble cleaned no more than people put up with, moved its air and
// had a dP that is met on cartridges.
func (r *record) believable(b *bench) bool {
	until := b.end
	if b.way.cause != judge.None {
		until = b.way.onset
	}
	var ran, cleaned, dp, flow float64
	for i, t := range r.time {
		if t > until {
			break
		}
		if r.col[sense.Running][i] == 1 {
			ran++
			cleaned += r.col[sense.Cleaning][i]
			dp += r.col[sense.DP][i]
			flow += r.col[sense.Flow][i]
		}
	}
	if ran < 50 {
		return b.way.cause != judge.None && until < 2*day
	}
	mean := dp / ran
	return (b.mode != onDemand || cleaned < 0.4*ran) && mean > 120 && mean < 2400 && math.Abs(flow/ran/b.flow-1) < 0.22
}
