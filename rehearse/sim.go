package rehearse

import (
	"context"
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/fan"
	"dustwright/filter"
	"dustwright/unit"
)

// sim is one machine in one run. Times are seconds after the start, everything else SI.
type sim struct {
	c    *collector.Collector
	o    Options
	ph   Physics
	path *collector.AirPath

	bank     *filter.Bank
	saved    []filter.Row // for a step that has to be taken shorter
	after    filter.AfterFilter
	ctl      *collector.Controller // nil where filters are never pulsed
	air      *pulseAir
	way      *airway
	side     airside
	motor    *motor
	curve    *fan.Curve // the fan by itself, for the energy account
	weather  *weather
	schedule *schedule
	feed     *feed
	dice     *rand.Rand // of chance in the machine: missed pulses, hands

	design, peak  float64 // flow [m3/s], the fan's highest pressure [Pa]
	damper, speed float64 // as hands set them
	headerSet     float64
	high          float64 // set point of the controller
	leakArea      float64
	strained      bool

	t        float64
	running  bool
	cleaning bool
	now      point
	fx       effects
	line     gaugeLine
	shift    shift
	binMass  float64
	binTaken float64
	trimAt   float64
	changeAt float64 // filters are to be changed at this time; +Inf none
	pulsedAt []float64
	hourAt   float64
	faultAt  float64
	event    int
	loading  float64 // of the air at the hoods [kg/m3]

	book  book
	truth Truth
	log   *logger

	scratch, valveFlow, valveOn, valveMiss []float64
}

// point is the air side at one moment.
type point struct {
	xf, x float64 // dP of the filters, and with the after-filter, at design flow and reference air [Pa]; x as the airway takes it
	q     float64 // flow [m3/s]
	dp    float64 // across the filters [Pa]
	after float64 // across the after-filter [Pa]
	gauge float64 // what the dP line brings to gauge and controller [Pa]
}

// The seeds' streams: what one draws never moves another.
const (
	streamMachine = iota + 1
	streamWeather
	streamSchedule
	streamFeed
	streamDice
	streamInstruments // and one more for each channel
)

func stream(seed uint64, n int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15*uint64(n)))
}

// newSim puts the machine together.
func newSim(c *collector.Collector, o Options) (*sim, error) {
	if err := o.check(c); err != nil {
		return nil, err
	}
	path, err := c.AirPath()
	if err != nil {
		return nil, err
	}
	c, taken := withUsual(c)
	s := &sim{c: c, o: o, path: path, design: float64(c.Duty.Flow), dice: stream(o.Seed, streamDice), changeAt: math.Inf(1)}
	s.o.Faults = append([]Fault(nil), o.Faults...)
	s.o.Events = sortedEvents(o.Events)
	var notes []collector.Text
	s.ph, notes = machinePhysics(c, path)
	s.truth.Notes = append(taken, notes...)
	for _, g := range path.Gaps() {
		s.truth.Notes = append(s.truth.Notes, g.Text)
	}
	if o.Spread > 0 {
		s.ph.spread(o.Spread, stream(o.Seed, streamMachine))
	}
	if o.Physics != nil {
		o.Physics(&s.ph)
	}
	if err := s.ph.check(); err != nil {
		return nil, err
	}
	if err := s.build(); err != nil {
		return nil, err
	}
	return s, s.begin()
}

// build makes the parts.
func (s *sim) build() error {
	c := s.c
	areas := make([]unit.Area, c.Filters.Rows)
	for i := range areas {
		areas[i] = unit.Area(float64(c.Filters.PerRow) * float64(c.Filters.AreaEach))
	}
	var err error
	if s.bank, err = filter.NewBank(s.ph.Law, areas); err != nil {
		return err
	}
	n := len(areas)
	s.saved, s.pulsedAt = make([]filter.Row, n), make([]float64, n)
	s.scratch = make([]float64, 3*n)
	for i := range s.pulsedAt {
		s.pulsedAt[i] = math.Inf(-1)
	}
	if c.AfterFilter.Fitted {
		s.after = filter.AfterFilter{Clean: s.path.Conditions().AfterFilterDP, Rated: c.Duty.Flow, Half: s.ph.AfterHalf}
		if err := s.after.Check(); err != nil {
			return err
		}
	}
	interval := float64(c.Header.Interval)
	if math.IsNaN(interval) {
		interval = usualInterval
	}
	s.air = newPulseAir(&s.ph, n, interval)
	s.headerSet = float64(s.ph.Tank.Supply.Set)
	if s.ctl, err = controller(c); err != nil {
		return err
	}
	s.high = float64(c.SetPoints.High)
	if err = s.buildFan(); err != nil {
		return err
	}
	most := 2 * s.peak * s.design / 0.4 // W: far above what a fan of this duty takes
	s.motor, err = newMotor(s.path.Motor(), most)
	return err
}

// controller returns the cleaning controller; nil for filters that are never pulsed.
func controller(c *collector.Collector) (*collector.Controller, error) {
	if c.Cleaning.Mode == collector.None {
		return nil, nil
	}
	return c.NewController()
}

// buildFan makes the fan by itself, for the energy account, and the area of a hatch for leak-inward.
func (s *sim) buildFan() error {
	c := s.c
	cond := s.path.Conditions()
	rho := c.Fan.Density
	if math.IsNaN(float64(rho)) {
		rho = unit.StdAirDensity
	}
	points := make([]fan.CurvePoint, len(c.Fan.Curve))
	for i, p := range c.Fan.Curve {
		points[i] = fan.CurvePoint(p)
	}
	var err error
	if s.curve, err = fan.NewCurve(points, nil, cond.Speed, rho); err != nil {
		return err
	}
	s.speed = float64(cond.Speed)
	if g := s.ph.FanGain; g > 0 {
		s.speed *= math.Sqrt(g)
	}
	peak, _ := s.curve.Peak(cond.Density, cond.Speed)
	s.peak = float64(peak)
	suction := -float64(c.Duty.InletSP)
	if !(suction > 0) {
		suction = 500 // Pa; common practice
	}
	s.leakArea = leakShare * s.design / math.Sqrt(2*suction/float64(cond.Density))
	return nil
}

// begin sets the state of the first moment.
func (s *sim) begin() error {
	start := s.o.Start
	clock := float64(start.Hour()) + float64(start.Minute())/60 + float64(start.Second())/3600
	weekday := float64((int(start.Weekday())+6)%7) + clock/24
	s.weather = newWeather(stream(s.o.Seed, streamWeather), s.c, &s.ph, float64(start.YearDay()-1)+clock/24, clock)
	s.schedule = newSchedule(stream(s.o.Seed, streamSchedule), weekday, &s.ph)
	s.feed = newFeed(stream(s.o.Seed, streamFeed), &s.ph)
	for i := range s.o.Faults {
		s.settleFault(&s.o.Faults[i])
	}
	s.line.value = math.NaN()
	s.age(float64(s.o.Aged))
	s.damper, s.side.speed = float64(s.o.Damper), s.speed
	s.trimAt = math.Inf(1)
	if s.o.TrimEvery > 0 {
		s.trimAt = min(firstTrim, s.o.TrimEvery.Seconds())
	}
	s.weather.step(0, 0, 0)
	s.hourAt = hour
	if math.IsNaN(s.damper) {
		s.damper = s.trimmed(s.design)
	}
	s.faultAt = s.nextFault()
	s.shift = s.schedule.at(0, s.weekly())
	s.book.begin(s)
	if err := s.retune(); err != nil {
		return err
	}
	s.log = newLogger(s)
	return nil
}

// firstTrim is when somebody first comes back to new filters: they have seasoned some by then [s]. Common practice.
const firstTrim = 7 * day

// settleFault lets the seed choose what the fault leaves open.
func (s *sim) settleFault(f *Fault) {
	k, _ := kindOf(f.Cause)
	if pick := 1 + s.dice.IntN(k.variants); f.Variant == 0 {
		f.Variant = pick
	}
	if f.Ramp < 0 {
		f.Ramp = durationOf(k.ramp * day)
		if f.Cause == FanWeak && f.Variant == 1 {
			f.Ramp = durationOf(20 * day) // a wheel fouls slowly
		}
	}
}

// age passes a share of an ordinary life's dust through the filters at once: 25 times what seasons them.
func (s *sim) age(share float64) {
	if share == 0 {
		return
	}
	l := &s.ph.Law
	for i := range s.bank.Rows {
		r := &s.bank.Rows[i]
		dust := filter.Areal(share) * lifeDust(l)
		r.Season = l.SeasonRise * unit.Drag(-math.Expm1(-float64(dust/l.SeasonDust)))
		r.Creep = unit.Drag(float64(l.CreepDust) * float64(dust))
		r.Passed = dust
	}
}

// lifeDust is the areal dust over which creep by dust adds five clean drags: about a life.
func lifeDust(l *filter.Law) filter.Areal {
	return filter.Areal(5 * float64(l.Media) / max(float64(l.CreepDust), 1))
}

// Run runs a collector forward.
//
//	ctx   ends the run early with its error
//	c     the machine; it is not changed
//	opts  from NewOptions
//
// The same collector, options and seed give the same result bit for bit. It returns what is wrong with the options, or
// collector.ErrMissing where the file says too little (flow, rows and a fan curve are needed), or the Recorder's error.
func Run(ctx context.Context, c *collector.Collector, opts Options) (*Result, error) {
	s, err := newSim(c, opts)
	if err != nil {
		return nil, err
	}
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	return s.result()
}
