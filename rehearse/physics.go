package rehearse

import (
	"fmt"
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/filter"
	"dustwright/header"
	"dustwright/unit"
)

// Physics is what a run needs to know of the machine and the collector file does not say, or says only in part.
type Physics struct {
	Law     filter.Law
	Loading unit.Concentration // dust in the air at full production, mean [kg/m3]

	// VelocityCreep is the power of the face velocity with which the creep by dust grows: dust driven into the
	// media by more air than the filters were chosen for. From memory.
	VelocityCreep float64
	Penetration   unit.Share // of the dust that passes sound filters; from memory
	AfterHalf     unit.Mass  // dust that doubles the after-filter's clean dP; see usualAfterHalf

	Tank    header.Tank
	Valve   header.Valve
	OnSteps unit.Seconds // on-time above which a pulse no longer gains strength; Atmosphere 14(7):1173 (2023): 0.08 s

	FanGain  float64          // the fan's pressure over its curve
	BulkRho  unit.Density     // of the dust in the bin
	Air      unit.Temperature // yearly mean at the collector [K]
	Specific float64          // electrical energy per compressed air [W per m3/s]
	Schedule unit.Seconds     // running time a week
	Idle     unit.Share       // of the running time in which hardly any dust comes
	Stops    unit.Share       // chance that a shift has a stop in it
	Weather  unit.Share       // how much the air moves: 1 as usual, 0 not at all
	FeedSD   float64          // of ln of the dust feed from one job to the next
}

// Figures nobody gives; common practice, no source, where nothing else stands.
const (
	usualLoading  = 0.7e-3     // kg/m3, 0.3 gr/ft3: thermal cutting; grinding has less, bulk handling more
	usualWeek     = 40 * 3600. // s
	usualVolume   = 0.020      // m3
	usualSet      = 60 * unit.Psi
	usualOn       = 0.15   // s
	usualInterval = 10     // s
	usualValve    = 7e-7   // m3/(s Pa), Cv 18
	usualSupply   = 0.0094 // m3/s, 20 scfm
	usualBulk     = 800    // kg/m3
	afterRise     = 0.25 * unit.InchWater
	month         = 30.44 * 86400.
)

// machinePhysics fills in the figures from the collector file, and from usual practice where it is silent; notes say where.
func machinePhysics(c *collector.Collector, p *collector.AirPath) (Physics, []collector.Text) {
	var notes []collector.Text
	or := func(v, usual float64, what string) float64 {
		if math.IsNaN(v) {
			notes = append(notes, collector.Say(what))
			return usual
		}
		return v
	}
	area := float64(c.Filters.Area())
	media := float64(p.Conditions().FilterDP) * area / float64(c.Duty.Flow)
	ph := Physics{Law: filter.Default(unit.Drag(media)), VelocityCreep: 1.5, Penetration: 3e-4, OnSteps: 0.08,
		FanGain: 1, Air: 296, Specific: header.PackagePower, Idle: 0.2, Stops: 0.2, Weather: 1, FeedSD: 0.35}
	ph.Loading = unit.Concentration(or(float64(c.Duty.Loading), usualLoading, "the dust loading is not given; {0.3 gr/ft³|0.69 g/m³} is taken"))
	ph.Schedule = unit.Seconds(or(float64(c.Duty.RunPerWeek), usualWeek, "the running hours are not given; 40 a week are taken"))
	ph.BulkRho = unit.Density(or(float64(c.Duty.BulkDensity), usualBulk, "the dust's bulk density is not given; {50 lb/ft³|800 kg/m³} is taken"))
	set := or(float64(c.Header.Set), usualSet, "the header's set pressure is not given; {60 psi|410 kPa} is taken")
	vol := or(float64(c.Header.Volume), usualVolume, "the header's volume is not given; {5.3 gal|20 L} is taken")
	supply := or(float64(c.Header.SupplyFlow), usualSupply, "what the shop air can bring is not given; {20 scfm|34 m³/h at standard conditions} is taken")
	on := or(float64(c.Header.OnTime), usualOn, "the pulse on-time is not given; 150 ms is taken")
	valve := or(float64(c.Header.ValveFlow), usualValve, "the valves' flow is not given; Cv 18 is taken")
	ph.Tank = header.Tank{Volume: unit.Volume(vol), WallHeat: header.DefaultWallHeat(unit.Volume(vol)),
		Supply: header.SupplyOf(unit.Pressure(set), unit.StdFlow(supply)), Ambient: c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN())).P}
	ph.Valve = header.DefaultValve(header.Installed(unit.Conductance(valve)), unit.Seconds(on))
	ph.AfterHalf = usualAfterHalf(c, ph, p)
	return ph, notes
}

// withUsual returns the collector with the controller's settings that its file leaves out as they usually are: on demand
// between 2 and 4 in. w.g., a pulse every 10 s (DESIGN.md section 3). c is not changed.
func withUsual(c *collector.Collector) (*collector.Collector, []collector.Text) {
	var notes []collector.Text
	out := *c
	if out.Cleaning.Mode == "" {
		out.Cleaning.Mode = collector.OnDemand
		notes = append(notes, collector.Say("the cleaning mode is not given; on-demand is taken"))
	}
	if out.Cleaning.Mode != collector.None && math.IsNaN(float64(out.Header.Interval)) {
		out.Header.Interval = usualInterval
		notes = append(notes, collector.Say("the pulse interval is not given; 10 s is taken"))
	}
	p := &out.SetPoints
	if out.Cleaning.Mode != collector.OnDemand || p.Low < p.High {
		return &out, notes
	}
	switch {
	case math.IsNaN(float64(p.High)) && p.Low > 0:
		p.High = 2 * p.Low
		notes = append(notes, collector.Say("the high set point is not given; twice the low one is taken"))
	case math.IsNaN(float64(p.Low)) && p.High > 0:
		p.Low = p.High / 2
		notes = append(notes, collector.Say("the low set point is not given; half the high one is taken"))
	default:
		p.Low, p.High = 2*unit.InchWater, 4*unit.InchWater
		notes = append(notes, collector.Say("the set points are not given; {2 and 4 in. w.g.|500 and 1000 Pa} are taken"))
	}
	return &out, notes
}

// usualAfterHalf is the dust that doubles a new after-filter, so that with sound filters and the schedule as given it gains
// about 0.25 in. w.g. a month until then (DESIGN.md section 3).
func usualAfterHalf(c *collector.Collector, ph Physics, p *collector.AirPath) unit.Mass {
	perMonth := float64(ph.Loading) * float64(c.Duty.Flow) * float64(ph.Schedule) / (7 * 86400) * month * float64(ph.Penetration)
	clean := float64(p.Conditions().AfterFilterDP)
	if !(clean > 0) {
		clean = unit.InchWater
	}
	return unit.Mass(perMonth * clean / afterRise)
}

// spread moves the figures as far as machines differ, each by its own draw. common practice, no source.
func (ph *Physics) spread(s float64, r *rand.Rand) {
	f := func(sd float64) float64 { return math.Exp(s * sd * r.NormFloat64()) }
	l := &ph.Law
	l.K2 *= filter.Resistance(f(0.35))
	l.Media *= unit.Drag(f(0.08))
	l.SeasonRise *= unit.Drag(f(0.3))
	l.SeasonDust *= filter.Areal(f(0.4))
	l.CreepDust *= filter.Resistance(f(0.45))
	l.CreepPulse *= unit.Drag(f(0.5))
	l.RemovePressure *= unit.Pressure(f(0.2))
	l.RemoveMax = unit.Share(min(0.98, float64(l.RemoveMax)*f(0.05)))
	l.Online = unit.Share(min(1, float64(l.Online)*f(0.12)))
	l.ReturnBelow = unit.Share(min(0.5, float64(l.ReturnBelow)*f(0.3)))
	l.ReturnBeside = unit.Share(min(0.2, float64(l.ReturnBeside)*f(0.3)))
	ph.Loading *= unit.Concentration(f(0.3))
	ph.Penetration *= unit.Share(f(0.3))
	ph.Tank.WallHeat *= f(0.3)
	ph.Tank.Supply.Most *= unit.MassFlow(f(0.15))
	ph.Valve.C *= unit.Conductance(f(0.08))
	ph.FanGain *= f(0.02)
	ph.Air += unit.Temperature(s * 3 * r.NormFloat64())
	ph.FeedSD *= f(0.2)
	ph.Schedule = unit.Seconds(min(168*3600, float64(ph.Schedule)*f(0.07)))
}

// check refuses figures that cannot be, whoever changed them.
func (ph *Physics) check() error {
	if err := ph.Law.Check(); err != nil {
		return err
	}
	if err := ph.Tank.Check(); err != nil {
		return err
	}
	for _, x := range []struct {
		what  string
		value float64
	}{{"the dust loading", float64(ph.Loading)}, {"the penetration", float64(ph.Penetration)}, {"the after-filter's dust", float64(ph.AfterHalf)},
		{"the valves' flow", float64(ph.Valve.C)}, {"the on-time", float64(ph.Valve.On)}, {"the running time a week", float64(ph.Schedule)},
		{"the dust's bulk density", float64(ph.BulkRho)}, {"the fan's pressure", ph.FanGain}, {"the spread of the dust feed", ph.FeedSD}} {
		if !(x.value >= 0) || math.IsInf(x.value, 0) {
			return fmt.Errorf("%s can't be %g", x.what, x.value)
		}
	}
	return nil
}
