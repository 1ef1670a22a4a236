package life_test

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/life"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/unit"
	"dustwright/unit/unittest"
)

// rehearsed is a rehearsal of the collector DC-1 with its truth and what sense makes of its log.
type rehearsed struct {
	c    *collector.Collector
	days float64 // to the first limit
	by   string
	r    *rehearse.Result
	h    *sense.History
	from time.Time
}

// rehearsal runs the machine once to its first limit, for the truth, and again with a log.
func rehearsal(t *testing.T, seed uint64, change func(*collector.Collector)) rehearsed {
	t.Helper()
	c, err := collector.Load(filepath.Join(unittest.Root(t), "collector", "testdata", "dc1.toml"))
	if err != nil {
		t.Fatal(err)
	}
	change(c)
	o := rehearse.NewOptions(c)
	o.Seed, o.Spread, o.Sample, o.Length, o.Horizon = seed, 1, 0, 0, 4*366*24*time.Hour
	r, err := rehearse.Run(context.Background(), c, o)
	if err != nil {
		t.Fatal(err)
	}
	out := rehearsed{c: c, days: float64(r.Summary.LifeDays), by: r.Summary.Limit, from: o.Start}
	o.Length, o.Horizon, o.Sample, o.Keep = time.Duration(out.days*0.9*24)*time.Hour, 0, 5*time.Minute, true
	if out.r, err = rehearse.Run(context.Background(), c, o); err != nil {
		t.Fatal(err)
	}
	s := &sense.Series{Time: out.r.Series.Time, Zone: out.r.Series.Zone}
	s.Col = out.r.Series.Col
	for _, p := range out.r.Series.Pulses {
		s.Pulses = append(s.Pulses, sense.Firing{Row: p.Row, Valve: p.Valve})
	}
	red := sense.NewReducer(c)
	red.Add(s)
	out.h = red.History()
	return out
}

// at forecasts as of a share of the life.
func (m rehearsed) at(share float64) (life.Input, life.Result) {
	at := m.from.Add(time.Duration(m.days * share * 24 * float64(time.Hour)))
	in := life.FromSense(m.h, sense.At(m.h, m.c, at), m.c)
	return in, life.Forecast(in)
}

// TestSeesAgeingBelowTheSetPoint: while the controller holds the dP at its low set point of 2 in. w.g.
// the points still show the drag that cleaning leaves, known from the rehearsal's own books, whether the
// machine stands at night and cleans then, or runs without a stop.
func TestSeesAgeingBelowTheSetPoint(t *testing.T) {
	if testing.Short() {
		t.Skip("sees many records age")
	}
	for name, change := range map[string]func(*collector.Collector){
		"nights off":     func(*collector.Collector) {},
		"without a stop": func(c *collector.Collector) { c.Duty.RunPerWeek, c.Cleaning.DowntimeCycles = 168*3600, 0 },
	} {
		t.Run(name, func(t *testing.T) {
			m := rehearsal(t, 3, func(c *collector.Collector) {
				nan := unit.Pressure(math.NaN())
				c.AfterFilter = collector.AfterFilter{CleanDP: nan, MaxDP: nan}
				change(c)
			})
			in, out := m.at(0.5)
			points := in.Lives[len(in.Lives)-1].Points
			var off []float64
			low := float64(m.c.SetPoints.Low)
			for _, p := range points {
				day := int(p.At.Sub(m.from).Hours() / 24)
				truth := float64(m.r.Truth.Daily[day].Residual)
				if day > 5 && truth < 0.9*low {
					off = append(off, float64(p.DP)/truth-1)
				}
			}
			if len(off) < 10 {
				t.Fatalf("only %d points below the set point", len(off))
			}
			if b := median(off); math.Abs(b) > 0.15 {
				t.Errorf("the points lie %+.0f %% off the drag that cleaning leaves, want within 15 %%", 100*b)
			}
			left := time.Duration(m.days * 0.5 * 24 * float64(time.Hour))
			if string(out.Limit) != m.by || out.P10.Sub(in.At) > left || !out.P90.IsZero() && out.P90.Sub(in.At) < left*2/3 {
				t.Errorf("truth %v by %s; forecast %v to %v by %s", in.At.Add(left), m.by, out.P10, out.P90, out.Limit)
			}
		})
	}
}

// TestUnreadAfterfilter: an after-filter that nobody reads is reckoned with what is usual, and the
// page says so.
func TestUnreadAfterfilter(t *testing.T) {
	m := rehearsal(t, 1, func(*collector.Collector) {})
	in, out := m.at(0.3)
	if len(in.Afterfilter.Points) != 0 || !(in.Afterfilter.Usual > 0) {
		t.Fatalf("after-filter %+v", in.Afterfilter)
	}
	named := false
	for _, x := range out.Missing {
		named = named || x.What == "afterfilter_dp"
	}
	if !named || out.Limit != life.ByAfterfilter {
		t.Errorf("limit %q, missing %v", out.Limit, out.Missing)
	}
	// 1.5 in. w.g. at 0.25 a month are six months, of which a third of the life has gone.
	want := in.At.Sub(m.from) + out.Limits[0].P50.Sub(in.At)
	if months := want.Hours() / 730.5; months < 4 || months > 8 {
		t.Errorf("after-filter due after %.1f months, want about 6", months)
	}
}

// TestRiskAndLostCapture: who accepts less risk orders earlier, and is told by how much; where filters past their limit cost capture
// by the hour, the date of least cost comes earlier.
func TestRiskAndLostCapture(t *testing.T) {
	m := rehearsal(t, 1, func(c *collector.Collector) {
		c.Cost = collector.Cost{ElectricityPer: 0.12 / 3.6e6, AirPer: 0.012, LabourPer: 68.0 / 3600, ChangeTime: 3 * 3600, LeadTime: 14 * 86400,
			OrderRisk: unit.Share(math.NaN()), LostPer: math.NaN()}
		c.Filters.PriceEach = 165
	})
	plan := func(risk, lost float64) (life.Result, life.Change) {
		m.c.Cost.OrderRisk, m.c.Cost.LostPer = unit.Share(risk), lost/3600
		in, _ := m.at(0.6)
		r, cheapest, priced := life.Plan(in, life.CostsOf(m.c, in.Air))
		if !priced {
			t.Fatal("no date of least cost")
		}
		return r, cheapest
	}
	nan := math.NaN()
	usual, cheap := plan(nan, nan)
	daring, _ := plan(0.4, nan)
	careful, _ := plan(0.02, nan)
	if !careful.OrderBy.Before(usual.OrderBy) || !usual.OrderBy.Before(daring.OrderBy) {
		t.Errorf("order by %v at 2 %%, %v as usual, %v at 40 %%", careful.OrderBy, usual.OrderBy, daring.OrderBy)
	}
	if told := strings.Join(careful.Basis, " "); !strings.Contains(told, "leaves 1 chance in 50 ") {
		t.Errorf("the risk is not told: %q", told)
	}
	if _, dear := plan(nan, 40); !dear.Date.Before(cheap.Date) {
		t.Errorf("cheapest on %v with capture lost, %v without", dear.Date, cheap.Date)
	}
}
