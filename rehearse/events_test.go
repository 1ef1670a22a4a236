package rehearse

import (
	"math"
	"testing"
	"time"

	"dustwright/solve"
	"dustwright/unit"
)

// A healthy machine with a history that is easy to take for a fault.
func TestHealthyHistories(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.Channels = days(40), true, AllChannels()
	o.Events = []Event{
		{Kind: HeavyFeed, After: days(7), Until: days(14), Value: 2.5},
		{Kind: ChangeFilters, After: days(20)},
		{Kind: SetPoints, After: days(25), Value: 2.5 * inwg, Second: 4.5 * inwg},
		{Kind: MoveDamper, After: days(30), Value: 0.4},
		{Kind: LogGap, After: days(32), Until: days(33)},
		{Kind: HeaderSet, After: days(35), Value: 70 * unit.Psi},
		{Kind: Drift, After: days(5), Value: 5, Channel: Barometer},
		{Kind: Weather, After: days(35), Value: 12},
		{Kind: DampWeather, After: days(35), Value: 0.3},
	}
	r := run(t, c, o)
	closes(t, r)
	d := r.Truth.Daily
	dust := func(from, to int) (m float64) {
		for _, x := range d[from:to] {
			m += float64(x.Dust)
		}
		return m
	}
	if heavy, usual := dust(7, 14), dust(0, 7); usual < 100 || heavy < 1.8*usual {
		t.Errorf("the heavy week brings %.0f kg, the week before %.0f kg", heavy, usual)
	}
	if d[22].AfterClean > 0.9*d[18].AfterClean {
		t.Errorf("new filters after day 20: %.0f Pa, before %.0f Pa", float64(d[22].AfterClean), float64(d[18].AfterClean))
	}
	if len(r.Truth.Lives) != 2 || r.Truth.Lives[1].From != o.Start.Add(days(20)) {
		t.Errorf("lives: %+v", r.Truth.Lives)
	}
	if top := highest(r, 26, 29); top < 4.3*inwg {
		t.Errorf("after the set points were raised the dP reaches %.2f in. w.g.", top/inwg)
	}
	if d[31].Damper != 0.4 {
		t.Errorf("the damper stands at %g", float64(d[31].Damper))
	}
	for _, ns := range r.Series.Time {
		if at := float64(ns-o.Start.UnixNano()) / 1e9 / day; at >= 32 && at < 33 {
			t.Fatalf("a row in the gap, at day %.3f", at)
		}
	}
	m := means(t, r, 36)
	if math.Abs(m[Header]/unit.Psi-70) > 1 {
		t.Errorf("header at %.1f psi after it was set to 70", m[Header]/unit.Psi)
	}
	early := float64(solve.Median(r.Series.Col[Temperature][:1440*30]))
	if m[Temperature] < early+8 || m[Humidity] < 0.6 {
		t.Errorf("warm and damp weather: %.1f K after %.1f K, %.2f", m[Temperature], early, m[Humidity])
	}
	if len(r.Truth.Work) < 4 || len(r.Truth.Events) != len(o.Events) {
		t.Errorf("work %+v", r.Truth.Work)
	}
}

func highest(r *Result, from, to float64) float64 {
	top := 0.0
	for i, v := range r.Series.Col[DP] {
		if at := float64(r.Series.Time[i]-r.Series.Time[0]) / 1e9 / day; at > from && at < to && v > top {
			top = v
		}
	}
	return top
}

func TestLifeEndsAtTheFirstLimit(t *testing.T) {
	if testing.Short() {
		t.Skip("runs whole lives")
	}
	for _, x := range []struct {
		limit  string
		change func(*testing.T, *Options)
		set    map[string]string
	}{
		{"afterfilter", func(*testing.T, *Options) {}, nil},
		{"flow", func(*testing.T, *Options) {}, map[string]string{"afterfilter.max_dp": "20 in.w.g.", "filters.max_dp": "20 in.w.g."}},
		{"dp", func(_ *testing.T, o *Options) { o.Physics = func(p *Physics) { p.Law.CreepDust *= 4 } }, map[string]string{"afterfilter.max_dp": "20 in.w.g.", "filters.max_dp": "2.5 in.w.g."}},
		{"air", func(*testing.T, *Options) {}, map[string]string{"cleaning.mode": "continuous", "header.supply_flow": "6 scfm"}},
	} {
		c := contract(t)
		for k, v := range x.set {
			set(t, c, k, v)
		}
		o := NewOptions(c)
		o.Sample, o.Length, o.Horizon = 0, days(7), days(3*365)
		x.change(t, &o)
		r := run(t, c, o)
		if r.Summary.Limit != x.limit || !(r.Summary.LifeDays > 0) {
			t.Errorf("want %s: %q after %.0f days", x.limit, r.Summary.Limit, float64(r.Summary.LifeDays))
		}
	}
}

func TestFiltersAreChangedAtTheLimit(t *testing.T) {
	c := contract(t)
	set(t, c, "filters.max_dp", "2.2 in.w.g.")
	o := NewOptions(c)
	o.Sample, o.Length, o.ChangeAtLimit = 0, days(300), true
	o.Physics = func(p *Physics) { p.Law.CreepDust *= 4; p.Penetration = 0 }
	r := run(t, c, o)
	if n := len(r.Truth.Lives); n < 3 {
		t.Fatalf("%d lives in 300 days", n)
	}
	for _, l := range r.Truth.Lives[:2] {
		if l.Limit != "dp" || l.To == nil {
			t.Errorf("life %+v", l)
		}
	}
	closes(t, r)
}

// One reading a working day, whatever the hour at which the run begins: whoever finds the fan standing still comes back.
func TestHandReadings(t *testing.T) {
	c := contract(t)
	for _, begins := range []time.Duration{0, 3 * time.Hour, 8 * time.Hour, 20 * time.Hour} {
		o := NewOptions(c)
		o.Start = o.Start.Add(begins)
		o.Length, o.Keep, o.Hand, o.Sample, o.Channels = days(60), true, true, 24*time.Hour, []Channel{DP, Running}
		r := run(t, c, o)
		n := len(r.Series.Time)
		if n < 38 || n > 44 {
			t.Errorf("beginning at %v: %d readings in 60 days of 5-day weeks", begins, n)
		}
		for i := range n {
			if v := r.Series.Col[DP][i] / (0.1 * inwg); math.Abs(v-math.Round(v)) > 1e-6 || r.Series.Col[Running][i] != 1 {
				t.Errorf("reading %d: %.3f tenths of an inch, running %g", i, v, r.Series.Col[Running][i])
			}
			if i > 0 && r.Series.Time[i]-r.Series.Time[i-1] < int64(6*time.Hour) {
				t.Errorf("reading %d follows after %v", i, time.Duration(r.Series.Time[i]-r.Series.Time[i-1]))
			}
		}
	}
}

func TestFastRowsAndInstruments(t *testing.T) {
	c := contract(t)
	o := NewOptions(c)
	o.Length, o.Keep, o.Sample = days(1), true, time.Second
	o.Instruments = map[Channel]Instrument{DP: {Dropout: 0.3}, Header: {}, Temperature: {Outage: 0.4}}
	r := run(t, c, o)
	if n := len(r.Series.Time); n != 86401 {
		t.Fatalf("%d rows", n)
	}
	missing := 0
	for _, v := range r.Series.Col[DP] {
		if math.IsNaN(v) {
			missing++
		}
	}
	if share := float64(missing) / 86401; math.Abs(share-0.3) > 0.02 {
		t.Errorf("%.3f of the dP readings are missing, want 0.3", share)
	}
	low, high := math.Inf(1), 0.0
	for _, v := range r.Series.Col[Header] {
		low, high = min(low, v), max(high, v)
	}
	if low > 36*unit.Psi || high > 60.1*unit.Psi {
		t.Errorf("header between %.1f and %.1f psi in rows a second", low/unit.Psi, high/unit.Psi)
	}
}

func TestWired(t *testing.T) {
	c := contract(t)
	if got := Wired(c, AllChannels()); len(got) != int(NumChannels) {
		t.Errorf("the contract's collector shows %v", got)
	}
	c.AfterFilter.Fitted = false
	c.Fan.Power = nil
	for _, ch := range Wired(c, AllChannels()) {
		if ch == AfterFilterDP || ch == FanCurrent || ch == FanPower {
			t.Errorf("%v is shown", ch)
		}
	}
	o := NewOptions(c)
	o.Length, o.Keep, o.Channels = days(3), true, AllChannels()
	r := run(t, c, o)
	if r.Series.Col[FanCurrent] != nil || r.Series.Col[AfterFilterDP] != nil || r.Series.Col[DP] == nil {
		t.Error("columns for channels that nothing shows")
	}
	for _, ch := range []Channel{DP, Flow, BinMass} {
		if back, ok := ParseChannel(ch.String()); !ok || back != ch {
			t.Errorf("%v parses as %v", ch, back)
		}
	}
	if _, ok := ParseChannel("dpp"); ok || len(ChannelNames()) != int(NumChannels) || Channel(99).String() != "channel 99" {
		t.Error("channel names")
	}
}

// Filters that are never pulsed only rise.
func TestNeverPulsed(t *testing.T) {
	c := contract(t)
	set(t, c, "cleaning.mode", "none")
	set(t, c, "duty.loading", "0.002 gr/ft3")
	o := NewOptions(c)
	o.Sample, o.Length = 0, days(200)
	r := run(t, c, o)
	closes(t, r)
	last := 0.0
	for _, d := range r.Truth.Daily {
		if d.Ran > 3600 {
			if float64(d.AfterClean) < last-1e-9 {
				t.Fatalf("%s: the dP falls to %.1f Pa from %.1f Pa", d.Date.Format("2 Jan"), float64(d.AfterClean), last)
			}
			last = float64(d.AfterClean)
		}
	}
	if r.Summary.Pulses != 0 || last < 1.3*float64(r.Truth.Daily[0].Highest) {
		t.Errorf("%d pulses, %.0f Pa at the end", r.Summary.Pulses, last)
	}
}
