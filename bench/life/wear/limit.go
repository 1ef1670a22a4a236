package wear

import (
	"math"

	"dustwright/collector"
)

// Bins of dP [Pa].
const (
	binWidth = 5.0
	bins     = 700
)

// tally keeps the last week by days: how long each dP was there, pulses, and running time.
type tally struct {
	p       *plant
	from    float64 // the filters are new [s]
	days    [7]dayTally
	n       int     // days closed
	low     float64 // 10th percentile of the last week's dP at design flow [Pa]
	use     float64 // mean air of its running, without the cleaning after stops [m3/s standard]
	prior   float64 // how near the nearest limit was a day ago
	present dayTally
}

type dayTally struct {
	time   [bins]float32
	pulses float64
	ran    float64
}

// add counts some seconds at a dP at design flow.
func (t *tally) add(dp, dt float64) {
	t.present.time[min(bins-1, max(0, int(dp/binWidth)))] += float32(dt)
}

// fire counts pulses in some seconds of running.
func (t *tally) fire(n, dt float64) {
	t.present.pulses += n
	t.present.ran += dt
}

// closes ends a day of the set's age and reports whether one has ended.
func (t *tally) closes(now float64) bool {
	if now-t.from < float64(t.n+1)*day {
		return false
	}
	t.days[t.n%7] = t.present
	t.present = dayTally{}
	t.n++
	t.sum()
	return t.n >= 7
}

// sum works the week out; a week of less than two days of running leaves what was.
func (t *tally) sum() {
	var time [bins]float64
	var all, pulses, ran float64
	for i := range t.days {
		d := &t.days[i]
		for k, v := range d.time {
			time[k] += float64(v)
			all += float64(v)
		}
		pulses += d.pulses
		ran += d.ran
	}
	if ran < 16*hour {
		return
	}
	t.low = quantileOf(time[:], 0.1*all)
	t.use = pulses * t.p.perPulse / ran
}

// quantileOf is the dP below which a time was spent.
func quantileOf(time []float64, below float64) float64 {
	sum := 0.0
	for k, v := range time {
		if v > 0 && sum+v >= below {
			return (float64(k) + (below-sum)/v) * binWidth
		}
		sum += v
	}
	return bins * binWidth
}

// shares says how near each limit is; 1 is reached.
func (t *tally) shares(after float64) map[string]float64 {
	p := t.p
	out := map[string]float64{
		ByDP:   t.low / p.most,
		ByFlow: t.low / p.flowLost(after),
		ByAir:  t.use / (float64(collector.AirLimit) * p.supply),
	}
	if p.after > 0 {
		out[ByAfterfilter] = after / p.afterMost
	}
	return out
}

// first is the limit that binds, "" for none, and when it came to bind: between the ends of two days, in proportion.
func (t *tally) first(now, after float64) (string, float64) {
	if t.days[(t.n-1)%7].ran == 0 { // nothing comes to bind while the fan stands
		return "", 0
	}
	limit, most := "", 0.0
	all := t.shares(after)
	for _, name := range []string{ByDP, ByFlow, ByAir, ByAfterfilter} {
		if v := all[name]; v > most {
			limit, most = name, v
		}
	}
	before := t.prior
	t.prior = most
	if most < 1 {
		return "", 0
	}
	at := now
	if before < 1 {
		at -= day * (most - 1) / (most - before)
	}
	return limit, math.Max(at, t.from)
}
