package rehearse

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/header"
	"dustwright/unit"
)

// Settings are the set points that advice is about.
type Settings struct {
	Low, High unit.Pressure // of on-demand cleaning
	Interval  unit.Seconds  // from one pulse to the next
	Header    unit.Pressure // regulator, gauge
}

// on returns c with these settings; c is not changed.
func (s Settings) on(c *collector.Collector) *collector.Collector {
	out := *c
	out.SetPoints.Low, out.SetPoints.High = s.Low, s.High
	out.Header.Interval, out.Header.Set = s.Interval, s.Header
	return &out
}

// key tells settings apart: to 1 Pa, 1 ms and 10 Pa; what is not known is 0.
func (s Settings) key() [4]float64 {
	k := [4]float64{float64(s.Low), float64(s.High), 1000 * float64(s.Interval), float64(s.Header) / 10}
	for i, x := range k {
		if k[i] = math.Round(x); math.IsNaN(x) {
			k[i] = 0
		}
	}
	return k
}

// Basis is what is made least.
type Basis string

// The bases: all the costs; without the filters where their price is not given; only energy where that of electricity is
// not. Where filters have no price, they may not last less than they do today.
const (
	ByCost    Basis = "cost"
	ByRunning Basis = "cost without filters"
	ByEnergy  Basis = "energy"
)

// Yearly is a run by the year. Costs are NaN without their price.
type Yearly struct {
	Pulses               float64
	Air                  unit.Volume // 14.5 psia, 68 degF, dry
	FanEnergy, AirEnergy unit.Energy
	Energy               unit.Energy // of both, as far as known
	Electricity, Pulsing float64     // cost of the fan's electricity and of the compressed air
	Filters              float64     // cost of the changes; filters that outlast the run count as if they had lasted just as long
	Cost                 float64     // of those that are known; NaN where electricity has no price
	measure              float64     // what is made least
}

// Why a trial was refused.
const (
	ShortOfFlow   = "airflow"
	ShortOfSupply = "supply"
	ShortOfLife   = "life"
)

// Trial is one run with its settings.
type Trial struct {
	Settings
	Summary Summary
	PerYear Yearly
	Supply  unit.Share // mean pulse air while the fan runs, of what the air supply brings; 0 for a supply without a limit
	Refused string     // "" where it keeps the limits
}

// Bound is a limit that the advice stands at: a name for programs, a sentence for people.
type Bound struct {
	Name string
	Text collector.Text
}

// Advice is the comparison of today's set points with the cheapest ones found. Nothing is applied.
type Advice struct {
	Mode           collector.Mode
	Basis          Basis
	Seed           uint64
	Today, Advised Trial
	Changed        bool    // false: Advised is Today
	Saving         float64 // a year, in the file's currency; in J by ByEnergy
	Binding        []Bound
	Runs           int
	Notes          []collector.Text
}

// longestAdvised is how far a run goes for the filters' life where the options don't say.
const longestAdvised = 3 * 366 * 24 * time.Hour

// leastAdvised is the shortest that a run may be.
const leastAdvised = 365 * 24 * time.Hour

// worthMove and worthAll are the shares of today's cost that a change of one setting, and all of them, must save: less is
// chance, lives being told by the week. common practice, no source.
const (
	worthMove = 0.005
	worthAll  = 0.01
)

// Advise looks for the low and high set point, the interval and the header pressure with the least cost over the filters'
// life: one setting after the other is moved through its candidates, the cheapest that keeps the limits is kept, twice
// over. Every trial is a run from new filters to the first limit of their life, opts.Horizon at most (a year or more; three where it is
// 0), all with one seed, so that differences are the settings'. The after-filter is taken as new throughout: no set
// point changes what it gets, and its limit would cut the filters' life short.
//
//	ctx   ends the search early with its error
//	c     the machine as it is today; it is not changed
//	opts  from NewOptions; no log is made, Length is not used, and Physics is called from several goroutines at once
//	lim   from UsualLimits
//
// The same collector, options and limits give the same advice. It returns what Run returns, and an error for filters
// that are never pulsed.
func Advise(ctx context.Context, c *collector.Collector, opts Options, lim Limits) (Advice, error) {
	if c.Cleaning.Mode == collector.None {
		return Advice{}, errors.New("these filters are never pulsed (cleaning.mode is none): there are no set points to advise on; advice needs on-demand, timed or continuous cleaning")
	}
	a := newAdviser(c, opts, lim)
	if a.o.Horizon < leastAdvised {
		return Advice{}, fmt.Errorf("advice needs runs of 365 days or more, to see the filters' life; %.4g days were asked for", a.o.Horizon.Hours()/24)
	}
	if err := a.begin(ctx); err != nil {
		return Advice{}, err
	}
	coordinates := []func(Settings) []Settings{a.headers, a.intervals}
	if a.c.Cleaning.Mode == collector.OnDemand {
		coordinates = append(coordinates, a.lows, a.highs)
	}
	best := a.today
	for moved, pass := true, 0; moved && pass < 2; pass++ {
		moved = false
		for _, candidates := range coordinates {
			trials, err := a.tryAll(ctx, candidates(best.Settings))
			if err != nil {
				return Advice{}, err
			}
			if next := cheapest(trials); next != nil && next.PerYear.measure < best.PerYear.measure-worthMove*a.today.PerYear.measure {
				best, moved = next, true
			}
		}
	}
	if best.PerYear.measure > (1-worthAll)*a.today.PerYear.measure {
		best = a.today
	}
	return a.advice(best), nil
}

// cheapest is the first of the cheapest that keep the limits; nil for none.
func cheapest(trials []*Trial) *Trial {
	var best *Trial
	for _, t := range trials {
		if t.Refused == "" && (best == nil || t.PerYear.measure < best.PerYear.measure) {
			best = t
		}
	}
	return best
}

// adviser is one search.
type adviser struct {
	c     *collector.Collector
	o     Options
	lim   Limits
	basis Basis
	alarm unit.Pressure
	noFan bool // the fan's power is not known
	notes []collector.Text

	today    *Trial
	tried    map[[4]float64]*Trial
	recovery map[unit.Pressure]unit.Seconds // by header pressure

	mu   sync.Mutex // of runs and the caller's Progress
	runs int
}

func newAdviser(c *collector.Collector, o Options, lim Limits) *adviser {
	a := &adviser{o: o, lim: lim, tried: map[[4]float64]*Trial{}, recovery: map[unit.Pressure]unit.Seconds{}}
	a.c, _ = withUsual(c)
	if math.IsNaN(float64(a.c.Header.Set)) {
		a.c = Settings{a.c.SetPoints.Low, a.c.SetPoints.High, a.c.Header.Interval, usualSet}.on(a.c)
	}
	if a.alarm = a.c.SetPoints.Alarm; math.IsNaN(float64(a.alarm)) {
		a.alarm = usualAlarm
		a.notes = append(a.notes, collector.Say("the alarm set point is not given; {6 in. w.g. is|1500 Pa are} taken"))
	}
	if a.o.Horizon == 0 {
		a.o.Horizon = longestAdvised
	}
	a.o.Length, a.o.Sample, a.o.Keep, a.o.Recorder, a.o.ChangeAtLimit = 0, 0, false, nil, false
	physics := o.Physics
	a.o.Physics = func(ph *Physics) {
		if physics != nil {
			physics(ph)
		}
		ph.AfterHalf = 1e12 // kg: it does not load
	}
	cost := &a.c.Cost
	switch {
	case math.IsNaN(cost.ElectricityPer):
		a.basis = ByEnergy
		a.notes = append(a.notes, collector.Say("the price of electricity is not given; energy is compared, and filters may not last less than today"))
	case math.IsNaN(a.c.Filters.PriceEach):
		a.basis = ByRunning
		a.notes = append(a.notes, collector.Say("the filters' price is not given; they may not last less than today, and their cost is left out"))
	default:
		a.basis = ByCost
	}
	if a.basis != ByEnergy && math.IsNaN(cost.AirPer) {
		a.notes = append(a.notes, collector.Say("the price of compressed air is not given; its electricity is counted"))
	}
	if a.basis == ByCost && math.IsNaN(cost.LabourPer*float64(cost.ChangeTime)) {
		a.notes = append(a.notes, collector.Say("the labour of a filter change is not given; only the filters' price is counted"))
	}
	if a.c.AfterFilter.Fitted {
		a.notes = append(a.notes, collector.Say("the after-filter is taken as new throughout: set points don't change what reaches it"))
	}
	a.notes = append(a.notes, collector.Say("the shop air is taken to bring as much at every header pressure"))
	return a
}

// begin runs today's settings.
func (a *adviser) begin(ctx context.Context) error {
	now := Settings{a.c.SetPoints.Low, a.c.SetPoints.High, a.c.Header.Interval, a.c.Header.Set}
	r, err := Run(ctx, a.c, a.o)
	if err != nil {
		return err
	}
	a.notes = append(append([]collector.Text(nil), r.Truth.Notes...), a.notes...)
	if a.noFan = math.IsNaN(float64(r.Summary.FanEnergy)); a.noFan {
		a.notes = append(a.notes, collector.Say("the fan's power is not given; its electricity is left out"))
	}
	a.today = a.trial(now, r)
	a.tried[now.key()] = a.today
	a.counted()
	return nil
}

// counted counts a run that is done.
func (a *adviser) counted() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.runs++
	if a.lim.Progress != nil {
		a.lim.Progress(a.runs, a.lim.Runs)
	}
}

// tryAll runs what has not been run, as many at once as there are processors, as far as the number of runs goes. It
// returns the trials that are there, in the order of the list.
func (a *adviser) tryAll(ctx context.Context, list []Settings) ([]*Trial, error) {
	var todo []Settings
	for _, s := range list {
		if _, ok := a.tried[s.key()]; ok || len(a.tried) >= a.lim.Runs {
			continue
		}
		todo = append(todo, s)
		a.tried[s.key()] = nil
	}
	results, errs := make([]*Result, len(todo)), make([]error, len(todo))
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range todo {
		wait.Add(1)
		free <- struct{}{}
		go func() {
			defer wait.Done()
			defer func() { <-free }()
			if results[i], errs[i] = Run(ctx, todo[i].on(a.c), a.o); errs[i] == nil {
				a.counted()
			}
		}()
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	for i, s := range todo {
		t := a.trial(s, results[i])
		t.Refused = a.refuse(t)
		a.tried[s.key()] = t
	}
	var out []*Trial
	for _, s := range list {
		if t := a.tried[s.key()]; t != nil {
			out = append(out, t)
		}
	}
	return out, nil
}

// trial works the figures of a run out.
func (a *adviser) trial(s Settings, r *Result) *Trial {
	t := &Trial{Settings: s, Summary: r.Summary, PerYear: a.yearly(r.Summary)}
	if most := r.Truth.Physics.SupplyMost; most > 0 && r.Summary.Ran > 0 {
		t.Supply = unit.Share(float64(r.Summary.Air) * unit.ScfDensity / (r.Summary.Ran * hour) / most)
	}
	return t
}

// yearly is a run by the year.
func (a *adviser) yearly(s Summary) Yearly {
	n := year / day / max(s.Days, 1)
	cost := &a.c.Cost
	y := Yearly{Pulses: float64(s.Pulses) * n, Air: s.Air * unit.Volume(n), FanEnergy: s.FanEnergy * unit.Energy(n), AirEnergy: s.AirEnergy * unit.Energy(n)}
	y.Electricity, y.Pulsing = cost.ElectricityPer*float64(y.FanEnergy), cost.AirPer*float64(y.Air)
	if math.IsNaN(cost.AirPer) {
		y.Pulsing = cost.ElectricityPer * float64(y.AirEnergy)
	}
	y.Filters = float64(a.c.Filters.Count()) * a.c.Filters.PriceEach
	if labour := cost.LabourPer * float64(cost.ChangeTime); !math.IsNaN(labour) {
		y.Filters += labour
	}
	y.Filters *= year / day / max(lived(s), 1)
	y.Cost, y.Energy = y.Pulsing, y.AirEnergy
	if !a.noFan {
		y.Cost, y.Energy = y.Cost+y.Electricity, y.Energy+y.FanEnergy
	}
	if a.basis == ByCost {
		y.Cost += y.Filters
	}
	if y.measure = y.Cost; a.basis == ByEnergy {
		y.Cost, y.measure = math.NaN(), float64(y.Energy)
	}
	return y
}

// lived is the filters' life in days, or the run where they outlasted it.
func lived(s Summary) float64 {
	if d := float64(s.LifeDays); !math.IsNaN(d) {
		return d
	}
	return s.Days
}

// refuse says which limit a trial breaks. Today's settings may break one already: nothing may break it further.
func (a *adviser) refuse(t *Trial) string {
	const slack = 0.002 // of chance in the run
	now := a.today
	floor := min(float64(now.Summary.MeanFlow), float64(a.c.Duty.Flow))
	switch {
	case t.Summary.ShortFlow > now.Summary.ShortFlow+slack, float64(t.Summary.MeanFlow) < (1-slack)*floor:
		return ShortOfFlow
	case t.Supply > max(a.lim.Supply, now.Supply):
		return ShortOfSupply
	case a.basis != ByCost && lived(t.Summary) < lived(now.Summary):
		return ShortOfLife
	}
	return ""
}

// advice shapes the answer.
func (a *adviser) advice(best *Trial) Advice {
	out := Advice{Mode: a.c.Cleaning.Mode, Basis: a.basis, Seed: a.o.Seed, Today: *a.today, Advised: *best, Changed: best != a.today,
		Saving: a.today.PerYear.measure - best.PerYear.measure, Runs: a.runs, Notes: a.notes}
	out.Binding = a.binding(best)
	return out
}

// recovers is how long after a pulse's command the header is back to 95 % of what the pulse took, with a regulator set so;
// +Inf where that is more than a minute.
func (a *adviser) recovers(set unit.Pressure) unit.Seconds {
	if r, ok := a.recovery[set]; ok {
		return r
	}
	r := unit.Seconds(math.Inf(1))
	s := Settings{a.c.SetPoints.Low, a.c.SetPoints.High, a.c.Header.Interval, set}
	if m, err := newSim(s.on(a.c), a.o); err == nil { // today's run went well with all but this pressure
		var p header.Pulse
		p, _ = m.ph.Tank.Pulse(m.ph.Tank.Equilibrium(), m.ph.Valve, 60)
		if whole := p.LowAfter + p.Recovery; !math.IsNaN(float64(whole)) {
			r = whole
		}
	}
	a.recovery[set] = r
	return r
}
