// Command rehearse is one side of a comparison: it runs the contract's collector for some days under steady conditions
// and prints, as JSON, the equations' figures, the state at the end and the time taken. peer.py beside it takes that
// and solves the same equations with SciPy's solve_ivp; compare.sh runs both and prints the ratio.
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// problem is what both sides solve, and what this side found.
type problem struct {
	Days, DesignFlow, Rho, Mu            float64
	FanFlow, FanPressure                 []float64
	Duct, Damper, After                  float64 // Pa s2/m6 twice, Pa at design flow
	Areas                                []float64
	Media, K2, SeasonRise, SeasonDust    float64
	CreepDust, CreepPulse, VelocityCreep float64
	RemoveMax, RemovePressure, Online    float64
	ReturnBelow, ReturnBeside            float64
	Loading, Low, High, Interval         float64
	Order                                []int
	Volume, WallHeat, Ambient            float64
	SupplyC, SupplyB, Set, Most          float64
	ValveC, ValveB, On                   float64
	OpenDelay, Rise, CloseDelay, Fall    float64
	OnSteps                              float64

	Seconds  float64 // of one run here
	Pulses   int
	Dust     float64 // kg
	Air      float64 // kg
	Cake     []float64
	Residual []float64
}

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
}

func run() error {
	c, err := collector.Load("rehearse/testdata/collector.toml")
	if err != nil {
		return err
	}
	p := problem{Days: 2}
	o := steady(c, &p)
	r, err := rehearse.Run(context.Background(), c, o)
	if err != nil {
		return err
	}
	const runs = 50
	start := time.Now()
	for range runs {
		if r, err = rehearse.Run(context.Background(), c, o); err != nil {
			return err
		}
	}
	p.Seconds = time.Since(start).Seconds() / runs
	p.Pulses, p.Dust, p.Air = r.Summary.Pulses, float64(r.Truth.Balance.DustIn), float64(r.Truth.Balance.AirValves)
	for _, row := range r.Truth.Rows {
		p.Cake, p.Residual = append(p.Cake, row.Cake), append(p.Residual, float64(row.Residual))
	}
	if err := airside(c, &p, o); err != nil {
		return err
	}
	return json.NewEncoder(os.Stdout).Encode(p)
}

// steady is a run without chance: even dust, still air, the fan always on.
func steady(c *collector.Collector, p *problem) rehearse.Options {
	o := rehearse.NewOptions(c)
	o.Sample, o.TrimEvery, o.Damper = 0, 0, 0.55
	o.Length = time.Duration(p.Days * 24 * float64(time.Hour))
	o.Physics = func(ph *rehearse.Physics) {
		ph.FeedSD, ph.Idle, ph.Weather, ph.Stops, ph.Penetration, ph.Schedule = 0, 0, 0, 0, 0, 168*3600
		ph.Air = collector.RefTemperature
		l, t, v := ph.Law, ph.Tank, ph.Valve
		p.Media, p.K2, p.SeasonRise, p.SeasonDust = float64(l.Media), float64(l.K2), float64(l.SeasonRise), float64(l.SeasonDust)
		p.CreepDust, p.CreepPulse, p.VelocityCreep = float64(l.CreepDust), float64(l.CreepPulse), ph.VelocityCreep
		p.RemoveMax, p.RemovePressure, p.Online = float64(l.RemoveMax), float64(l.RemovePressure), float64(l.Online)
		p.ReturnBelow, p.ReturnBeside, p.Loading = float64(l.ReturnBelow), float64(l.ReturnBeside), float64(ph.Loading)
		p.Volume, p.WallHeat, p.Ambient = float64(t.Volume), t.WallHeat, float64(t.Ambient)
		p.SupplyC, p.SupplyB, p.Set, p.Most = float64(t.Supply.C), float64(t.Supply.B), float64(t.Supply.Set), float64(t.Supply.Most)
		p.ValveC, p.ValveB, p.On, p.OnSteps = float64(v.C), float64(v.B), float64(v.On), float64(ph.OnSteps)
		p.OpenDelay, p.Rise, p.CloseDelay, p.Fall = float64(v.OpenDelay), float64(v.Rise), float64(v.CloseDelay), float64(v.Fall)
	}
	p.DesignFlow, p.Low, p.High = float64(c.Duty.Flow), float64(c.SetPoints.Low), float64(c.SetPoints.High)
	p.Interval, p.Order = float64(c.Header.Interval), c.FiringOrder()
	for range c.Filters.Rows {
		p.Areas = append(p.Areas, float64(c.Filters.PerRow)*float64(c.Filters.AreaEach))
	}
	return o
}

// airside fills in the way of the air.
func airside(c *collector.Collector, p *problem, o rehearse.Options) error {
	path, err := c.AirPath()
	if err != nil {
		return err
	}
	cond := path.Conditions()
	cond.Damper = o.Damper
	at, err := path.Point(cond)
	if err != nil {
		return err
	}
	q := float64(at.Flow)
	p.Duct, p.Damper, p.After = float64(at.Inlet)/(q*q), float64(at.Damper)/(q*q), float64(cond.AfterFilterDP)
	unknown := math.NaN()
	ref := c.SiteAir(unit.Temperature(unknown), unit.Share(unknown))
	still := c.SiteAir(collector.RefTemperature, 0.45)
	p.Rho, p.Mu = float64(still.Density()/ref.Density()), float64(still.Viscosity()/ref.Viscosity())
	for _, f := range c.Fan.Curve {
		p.FanFlow = append(p.FanFlow, float64(f.Flow))
		p.FanPressure = append(p.FanPressure, float64(f.Pressure)*float64(ref.Density()/c.Fan.Density))
	}
	return nil
}
