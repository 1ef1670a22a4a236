package life

import (
	"slices"
	"time"

	"dustwright/sense"
)

// While a controller cleans on demand it holds the dP between its set points, and the running dP
// shows nothing of the filters' ageing until the drag that cleaning leaves comes up to the lower set
// point. Where the pulses of a cleaning do not tell it (hold), the start after a standstill with
// downtime cleaning does: the first readings are of filters as clean as they get.

// restGap is the standstill after which a start counts, and restShare the share of an hour that the
// fan must have run for its low end to be read. Common practice, no source.
const (
	restGap   = 3 * time.Hour
	restShare = 0.25
	// restDoubt is the relative error of such a start: downtime cleaning leaves some cake, now more,
	// now less. Judgement, from rehearsals whose truth is known.
	restDoubt = 0.06
)

// rest is the low end of the dP in the first running hour after a standstill.
type rest struct {
	at time.Time
	dp float64 // [Pa] as read
}

// restsOf finds the starts after a standstill in the hours of a record, up to a time.
func restsOf(h *sense.History, until time.Time) []rest {
	var out []rest
	var stood int64 // when the fan last ran [unix s]; 0 not yet
	for i := range h.Hours {
		hr := &h.Hours[i]
		if hr.Start >= until.Unix() {
			break
		}
		if !(hr.Running > 0.02) {
			continue
		}
		idle := time.Duration(hr.Start-stood) * time.Second
		if stood > 0 && idle >= restGap && hr.Running >= restShare && hr.DP.N >= 5 && hr.DP.P10 > 0 {
			out = append(out, rest{time.Unix(hr.Start, 0), float64(hr.DP.P10)})
		}
		stood = hr.Start + 3600
	}
	return out
}

// restRecord builds a life from the lower of two things that both lie above the drag that cleaning
// leaves: the start after a standstill, and the low end of a week's running. A day without a start
// counts once the latter has come out below the former. It is false where there are too few starts,
// or where, without downtime cleaning on file, they show no cleaner filters than running does.
func restRecord(l *sense.Life, rests []rest, downtime bool) (Record, bool) {
	r := Record{StartKnown: l.StartKnown, Ended: l.Ended}
	var below []float64
	k, starts := 0, 0
	out := false // the low end has come out below the starts
	for i := range l.Points {
		p := &l.Points[i]
		for k < len(rests) && rests[k].at.Before(p.At.Add(-12*time.Hour)) {
			k++
		}
		pt := pointOf(p)
		pt.DP = pressure(p.Low)
		if k < len(rests) && rests[k].at.Before(p.At.Add(12*time.Hour)) {
			starts++
			y := rests[k].dp
			if p.Rise > 0 && p.Rise < y {
				y -= 0.1 * p.Rise // the tenth percentile of an hour that rises lies that much above its start
			}
			if p.Flow > 0.3 {
				y /= p.Flow
			}
			out = p.Low <= y
			if p.Low > 0 {
				below = append(below, y/p.Low)
			}
			if !out {
				pt.DP, pt.Doubt = pressure(y), restDoubt
			}
		} else if !out {
			continue
		}
		r.Points = append(r.Points, pt)
	}
	if starts < leastPoints || 4*starts < len(l.Points) {
		return r, false
	}
	return r, downtime || medianOr(below, 1) < 0.93
}

// medianOr returns the median, or a value that stands in for it where there is none.
func medianOr(v []float64, none float64) float64 {
	if len(v) == 0 {
		return none
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
