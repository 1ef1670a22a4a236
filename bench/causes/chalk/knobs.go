package chalk

// knobs is what stands how at one moment: weather, production, hands and troubles have turned them.
type knobs struct {
	load, hold, clog float64 // dust over the design's; how hard it sticks and how many pores a kilogram plugs, over dry dust
	plateau, creep   float64 // share of pores lost by seasoning; share of plugged pores lost for good after it
	damper, shown    float64 // position, and what its transmitter has
	gates            [maxGates]float64
	main, leak       float64 // conductance of the main duct over a clean one; openings before the filters over all ducts
	speed, foul      float64
	setting, line    float64 // of the regulator, and of the compressor's line, over the regulator's design
	supply           float64 // free area of the supply over its own
	low, high        float64
	valve, hang      [maxRows]float64 // how far each opens; how long each hangs open behind its pulse [s]
	bleed            float64          // share of the supply that a valve lets out while it hangs, or all the time
	always           bool             // the bleed goes on without a pulse
	hole             [maxRows]float64 // share of a row's dust that goes through
	idle             float64          // share of the pulses due that the controller lets be
	dark             bool             // the controller is off
	lag, crack       [2]float64       // of the gauge's lines, dirty and clean side: time constant [s], share of the pressure lost to the room
	crossed          bool             // the lines are
	extra            float64          // share of the bin filled by what comes down no more
	bridged          bool             // the bin's probe hangs in the clear below a bridge
	unemptied        bool
	temp, humid      float64 // of the air [degrees C], [1]
	baro, zero       float64 // of the air, drift of the dP transmitter [Pa]
	life             int     // of filters
	push, stop, work bool    // hands on the cleaning and on the fan
	blank            bool    // nothing is logged
}

// trim moves the damper and its transmitter.
func (k *knobs) trim(by float64) { k.damper, k.shown = k.damper+by, k.shown+by }

// change turns knobs from one time to another [s], growing evenly in strength to 1 within ramp.
type change struct {
	from, to, ramp float64
	turn           func(k *knobs, s float64)
}

// stand is how the knobs stand at a time.
func (p *plan) stand(t float64) knobs {
	d := p.d
	k := knobs{load: p.cal.load[int(t/hour)], hold: 1, clog: 1, plateau: d.plateau, creep: d.creep, damper: d.trim, shown: d.trim,
		gates: allOpen, main: 1, speed: 1, setting: 1, line: hourly(p.cal.air, t), supply: 1, low: d.low, high: d.high,
		lag: [2]float64{2, 2}, temp: hourly(p.cal.temp, t), humid: hourly(p.cal.humid, t), baro: hourly(p.cal.baro, t)}
	for i := range k.valve {
		k.valve[i] = 1
	}
	for i := range p.changes {
		c := &p.changes[i]
		if t < c.from || t >= c.to {
			continue
		}
		s := 1.0
		if c.ramp > 0 {
			s = min(1, (t-c.from)/c.ramp)
		}
		c.turn(&k, s)
	}
	wet := max(0, k.humid-0.75)
	k.hold *= 1 + 1.5*wet // every dust sticks a little in wet air
	return k
}
