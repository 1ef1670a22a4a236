// Package stencil is a simulator of small and middling shops with rough, cheap instruments: a cake of patches that pulses
// bare by chance, hoods whose gates people move, and operators who tinker. It shares no equation and no figure with any
// other simulator of this project. Every figure in it is a guess of what is met in the trade: common practice, no source.
// NaN stands for a reading that was lost; nothing here takes NaN in.
package stencil

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/sense"
)

// Shares of healthy trials, of stories among them and among the others, and bounds of the logs.
const (
	healthyShare = 0.4
	storyShare   = 0.8
	alsoShare    = 0.35
	leastDays    = 20
	mostDays     = 120
	mostRows     = 90000
	attempts     = 60
)

// Draw makes one collector with its log and the truth about it; the same seed gives the same trial. A machine that
// nobody would leave as it is, or a trouble that does not show, is drawn again.
func Draw(seed uint64) (*made.Trial, error) {
	r := seeded(seed)
	return drawCause(r, causeOf(r))
}

// seeded is the chance of a trial.
func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x57e4c11)) }

// causeOf draws what is to be wrong.
func causeOf(r *rand.Rand) string {
	if all := made.Causes(); r.Float64() >= healthyShare {
		return all[r.IntN(len(all))]
	}
	return healthy
}

// drawCause draws until the machine is right.
func drawCause(r *rand.Rand, cause string) (*made.Trial, error) {
	for range attempts {
		t, err := drawOne(r.Uint64(), cause)
		if err != nil {
			return nil, err
		}
		if t != nil {
			return t, nil
		}
	}
	return nil, fmt.Errorf("%d machines with %s did not do", attempts, cause)
}

// setting is all that a run starts from.
type setting struct {
	seed  uint64
	shop  *shop
	bad   trouble
	story tale
	start time.Time
	file  *collector.Collector
}

// set draws a machine with its file, nil where the file's own checks find something that cannot be.
func set(seed uint64, cause string) (*setting, error) {
	r := rand.New(rand.NewPCG(seed, 1))
	days := leastDays + (mostDays-leastDays)*r.Float64()
	every := newLogger(rand.New(rand.NewPCG(seed, 2)), &shop{gram: 1, trade: trade{fine: 1}}, seed).every
	days = max(leastDays, min(days, mostRows*every/86400))
	s := newShop(r, days)
	s.setDamper(0.96+0.1*r.Float64(), 0.3+0.45*r.Float64())
	start := time.Date(2026, 1, 5, 0, 0, 0, 0, time.FixedZone("", 3600*(r.IntN(9)-4))).AddDate(0, 0, r.IntN(300))
	if s.low*1.02 > s.high || s.high > 0.86*s.most || s.trim >= 0.93 {
		return nil, nil
	}
	x := &setting{seed: seed, shop: s, start: start, story: tale{name: "quiet"}}
	x.bad = trouble{fault: healthy}
	share := storyShare
	if cause != healthy {
		x.bad = newTrouble(r, s, cause)
		share = alsoShare
	}
	x.story = newTale(r, days, r.Float64() < share)
	var err error
	if x.file, err = s.file(r, start); err != nil {
		return nil, err
	}
	if made.Flaw(x.file) != nil {
		return nil, nil
	}
	return x, nil
}

// log runs the machine, with its trouble or without.
func (x *setting) log(off bool) (*world, *sense.Series) {
	l := newLogger(rand.New(rand.NewPCG(x.seed, 2)), x.shop, x.seed)
	ta := x.story
	w := newWorld(x.shop, x.seed, x.bad, ta)
	w.off = off
	w.gauge.lag = 2 + 60*math.Pow(rand.New(rand.NewPCG(x.seed, 3)).Float64(), 4)
	w.gauge.own = x.seed%3 == 0
	return w, l.run(w, x.start)
}

// drawOne draws one machine, nil where it does not do.
func drawOne(seed uint64, cause string) (*made.Trial, error) {
	x, err := set(seed, cause)
	if x == nil {
		return nil, err
	}
	_, well := x.log(true)
	if restless(x, well) {
		return nil, nil
	}
	t := &made.Trial{Collector: x.file, Series: well, Truth: cause, Story: x.story.name, At: well.When(well.Len() - 1)}
	if cause == healthy {
		return t, nil
	}
	_, t.Series = x.log(false)
	if !shows(t.Series, well, int64(x.bad.onset*86400e9)+x.start.UnixNano()) {
		return nil, nil
	}
	t.Number, t.Severity, t.Old = x.bad.number, x.bad.severity, x.shop.days-x.bad.onset
	return t, nil
}

// restless reports a healthy machine that cleans most of its time on demand, hardly ever does, or runs at a dP that nobody
// would stand.
func restless(x *setting, s *sense.Series) bool {
	var ran, busy, high, pulses, stuck float64
	for i, on := range s.Col[sense.Running] {
		if on < 0.5 {
			continue
		}
		ran++
		busy += s.Col[sense.Cleaning][i]
		if dp := s.Col[sense.DP][i]; dp > max(x.shop.high+350, 1.1*x.shop.most) {
			high++
		}
		if s.Col[sense.Flow][i] < 0.45*x.shop.design {
			stuck++
		}
	}
	for _, v := range s.Col[sense.Cleaning] {
		pulses += v
	}
	return ran < 50 || x.shop.mode == "on-demand" && busy > 0.4*ran || pulses < 4 || high > 0.02*ran || stuck > 0.2*ran
}
