package wear

import (
	"math"
	"slices"
	"testing"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// The same seed makes the same history, the next one another.
func TestDrawTwice(t *testing.T) {
	a, errA := Draw(5)
	b, errB := Draw(5)
	c, errC := Draw(6)
	if errA != nil || errB != nil || errC != nil {
		t.Fatal(errA, errB, errC)
	}
	if !alike(a, b) {
		t.Error("seed 5 makes two histories")
	}
	if alike(a, c) {
		t.Error("seeds 5 and 6 make the same history")
	}
}

func alike(a, b *History) bool {
	same := a.Collector.TOML(unit.SI) == b.Collector.TOML(unit.SI) && slices.Equal(a.Series.Time, b.Series.Time) && a.Limit == b.Limit &&
		a.Ageing == b.Ageing && a.Start.Equal(b.Start) && a.End.Equal(b.End) && slices.EqualFunc(a.Noted, b.Noted, time.Time.Equal)
	for ch := range sense.NumChannels {
		same = same && made.Alike(a.Series.Col[ch], b.Series.Col[ch])
	}
	return same
}

// limits are what a channel of the log may read.
var limits = map[sense.Channel][2]float64{
	sense.DP: {-50, 4000}, sense.AfterfilterDP: {-30, 1200}, sense.Flow: {0, 16}, sense.FlowIndex: {0, 1600}, sense.Header: {1e5, 8e5}, sense.HeaderLow: {1e5, 8e5},
	sense.FanCurrent: {0, 400}, sense.FanPower: {0, 2e5}, sense.InletSP: {-3000, 50}, sense.Damper: {0, 1}, sense.Running: {0, 1}, sense.Cleaning: {0, 1},
	sense.Pulse: {0, 1e5}, sense.Temperature: {263, 323}, sense.Humidity: {0, 1},
}

// Every log is in order and within bounds and reaches far enough; each limit and each way of ageing comes up.
func TestDraw(t *testing.T) {
	ends, ways := map[string]int{}, map[string]int{}
	for _, seed := range []uint64{0, 3, 5, 12, 22, 23, 26, 35, 38} {
		h, r, err := draw(seed)
		if err != nil {
			t.Fatal(err)
		}
		whole(t, seed, h)
		bound(t, seed, h, r)
		ends[h.Limit]++
		ways[h.Ageing]++
	}
	for _, limit := range []string{ByDP, ByFlow, ByAir, ByAfterfilter} {
		if ends[limit] == 0 {
			t.Errorf("no life ends by %s", limit)
		}
	}
	for _, way := range []string{Steady, Slowing, Late, Steps, TwoDust} {
		if ways[way] == 0 {
			t.Errorf("no filters age in the way %q", way)
		}
	}
}

// whole checks file and log.
func whole(t *testing.T, seed uint64, h *History) {
	t.Helper()
	tr := made.Trial{Collector: h.Collector, Series: h.Series}
	if err := tr.Check(limits); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
	if err := h.Collector.Validate(); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
	s := h.Series
	if !slices.IsSorted(s.Time) || len(slices.Compact(slices.Clone(s.Time))) != len(s.Col[sense.DP]) || s.Len() > rowsMost {
		t.Errorf("seed %d: %d rows, not in order or too many", seed, s.Len())
	}
	life := h.End.Sub(h.Start)
	first, last := s.When(0), s.When(s.Len()-1)
	if last.After(h.End) || h.End.Sub(last) > life*8/100 || first.Sub(h.Start) > life/10 {
		t.Errorf("seed %d: a log from %v to %v of a life from %v to %v", seed, first, last, h.Start, h.End)
	}
	if life.Seconds() < shortest || life.Seconds() > longest {
		t.Errorf("seed %d: a life of %v", seed, life)
	}
}

// bound checks the limit at the end of the life against what really happened, by its definition, and that no limit was
// reached before.
func bound(t *testing.T, seed uint64, h *History, r *run) {
	t.Helper()
	got := reached(r, r.end)
	near := 0.025
	if h.Limit == ByAir { // a mean over the week moves by steps of a day
		near = 0.04
	}
	if v := got[h.Limit]; math.Abs(v-1) > near {
		t.Errorf("seed %d: %s is at %.3f of the limit at the end", seed, h.Limit, v)
	}
	for at := r.end; at > r.start+week; at -= 20 * day {
		for name, v := range reached(r, at) {
			if v > 1.025 {
				t.Errorf("seed %d: %s at %.3f is past its limit on day %.0f of %.0f", seed, name, v, (at-r.start)/day, (r.end-r.start)/day)
			}
		}
	}
}

// reached is each quantity as a share of its limit over the week before a time, from the moments of the run alone.
func reached(r *run, at float64) map[string]float64 {
	p := r.p
	var dp []float64
	var pulses, ran, after float64
	for i := range r.now {
		if t := float64(i+1) * r.step; t > at-week && t <= at && r.now[i].running {
			m := &r.now[i]
			dp = append(dp, float64(m.dp))
			pulses += float64(m.pulses)
			ran += r.step
			after = float64(m.after)
		}
	}
	if len(dp) == 0 {
		return nil
	}
	slices.Sort(dp)
	low := dp[len(dp)/10]
	out := map[string]float64{ByDP: low / p.most, ByAir: pulses / ran * p.perPulse / (float64(collector.AirLimit) * p.supply)}
	// with this dP the open damper lets 95 % pass where the fan gives just what the air needs
	x := p.blow(1, low, after, 1, airState{1, 1})
	out[ByFlow] = 1 + (leastFlow - x)
	if p.after > 0 {
		out[ByAfterfilter] = after / p.afterMost
	}
	return out
}

// The airflow found is where the fan gives what the air needs, and an opening found holds the flow it is for.
func TestBlow(t *testing.T) {
	p := newPlant(made.Throw(1, 1))
	for _, open := range []float64{0.4, 0.7, 1} {
		x := p.blow(1, 700, 200, open, airState{1, 1})
		if need := p.loss(x, 700, 200, open); math.Abs(p.pressure(x)/need-1) > 1e-4 {
			t.Errorf("at %g open: the fan gives %g Pa, the air needs %g Pa", open, p.pressure(x), need)
		}
	}
	if x := p.blow(1, 300, 100, p.opening(1, 300, 100), airState{1, 1}); math.Abs(x-1) > 1e-4 {
		t.Errorf("held at 1, the flow is %g", x)
	}
	lost := p.flowLost(p.after)
	if x := p.blow(1, lost, p.after, 1, airState{1, 1}); math.Abs(x-leastFlow) > 1e-4 {
		t.Errorf("at the dP that loses the flow it is %g", x)
	}
}

// Every course begins at nothing, never falls, and the meant span is reached with the meant dust.
func TestCourse(t *testing.T) {
	d := made.Throw(3, 3)
	p := newPlant(d)
	for _, kind := range []string{Steady, Slowing, Late, TwoDust} {
		s := newSet(d, p, kind, 0, 200*day)
		if s.course(0) != 0 || math.Abs(s.course(1)-1) > 1e-9 {
			t.Errorf("%s goes from %g to %g", kind, s.course(0), s.course(1))
		}
		for u := 0.0; u < 1; u += 0.01 {
			if s.course(u+0.01) < s.course(u) {
				t.Errorf("%s falls at %g", kind, u)
			}
		}
	}
}
