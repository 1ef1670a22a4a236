package quill

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// knobs are what troubles change in a machine. The zero value is a sound one.
type knobs struct {
	valve               int     // number of the valve or row concerned, 0 none
	closed, hole        float64 // share of the media closed for good, what passes a row [of what passes sound filters]
	dusty, water, steam float64 // dust beyond the usual, as share of it; water that stays in the cake; humidity the process adds
	gate                float64 // turn of the damper
	plug, stack, hatch  float64 // resistance added in the ducts and behind the fan, opening behind the hoods [of the ducts]
	slip, foul          float64 // share of speed and of pressure the fan lacks
	deaf, late          float64 // share of hours in which no valve fires, how much too high cleaning starts [of the set point]
	regulator, tired    float64 // share of pressure the header's regulator lacks, of its air the compressor
	choke               float64 // resistance added before the header [of the supply's]
	miss, short, tear   float64 // of the valve: share of pulses it stays shut, of its time it isn't open, of its opening it lacks
	bleed, hang         float64 // how far it stays open all the time, how long after its pulse [s]
	line, crack         float64 // of the dP gauge: time constant of a plugged line [s], hall air the clean side's line takes in
	heap                float64 // level in the hopper at least, 0 the bin's
	slack               bool    // the damper's position transmitter doesn't show its turn
	cross, bridged      bool    // the gauge's lines are at the wrong ports; the dust hangs above the bin
}

// way is one in which a trouble comes: what it changes at strength x, 0.25 to 1.
type way func(k *knobs, x float64)

// ways lists them by cause. Those of valves and rows work on knobs.valve.
var ways = map[judge.Cause][]way{
	judge.FiltersBlinded: {func(k *knobs, x float64) { k.closed = 0.72 * math.Pow(x, 0.7) }},
	judge.DustLoadHeavy:  {func(k *knobs, x float64) { k.dusty = 3.5 * x }},
	judge.CakeDamp:       {func(k *knobs, x float64) { k.water = 1.5 * x }, func(k *knobs, x float64) { k.water, k.steam = x, 0.5*x }},
	judge.AirflowHigh:    {func(k *knobs, x float64) { k.gate = 0.6 * x }, func(k *knobs, x float64) { k.gate, k.slack = 0.6*x, true }},
	judge.AirflowLow: {func(k *knobs, x float64) { k.gate = -0.5 * x }, func(k *knobs, x float64) { k.gate, k.slack = -0.5*x, true },
		func(k *knobs, x float64) { k.stack = 3.3 * x }},
	judge.DuctBlocked: {func(k *knobs, x float64) { k.plug = 4 * math.Pow(x, 1.4) }},
	judge.LeakInward:  {func(k *knobs, x float64) { k.hatch = 1.2 * x }},
	judge.FanWeak: {func(k *knobs, x float64) { k.slip = 0.33 * x }, func(k *knobs, x float64) { k.foul = 0.5 * x },
		func(k *knobs, x float64) { k.foul = 0.45 + 0.2*x }},
	judge.CleaningOff: {func(k *knobs, _ float64) { k.deaf = 1 }, func(k *knobs, x float64) { k.deaf = 0.6 + 0.4*x },
		func(k *knobs, x float64) { k.late = 1.5 * x }},
	judge.HeaderPressureLow: {func(k *knobs, x float64) { k.regulator = 0.65 * x }, func(k *knobs, x float64) { k.choke = 30 * math.Pow(x, 1.5) },
		func(k *knobs, x float64) { k.tired = 0.95 * math.Sqrt(x) }},
	judge.ValveDead:        {func(k *knobs, x float64) { k.miss = 0.8 + 0.2*x }},
	judge.ValveWeak:        {func(k *knobs, x float64) { k.tear = 0.75 * x }, func(k *knobs, x float64) { k.short = 0.75 * x }},
	judge.ValveStuckOpen:   {func(k *knobs, x float64) { k.bleed = x }, func(k *knobs, x float64) { k.hang = 11 * math.Pow(x, 1.5) }},
	judge.GaugeLineBlocked: {func(k *knobs, x float64) { k.line = 900 * (math.Pow(400, x) - 1) }},
	judge.GaugeLineOff: {func(k *knobs, x float64) { k.crack = 0.35 + 0.65*x }, func(k *knobs, _ float64) { k.cross = true },
		func(k *knobs, x float64) { k.crack = 0.8 * x }},
	judge.FilterLeak:  {func(k *knobs, x float64) { k.hole = 15 * x }},
	judge.BinOverfull: {func(k *knobs, x float64) { k.heap = 0.84 + 0.26*x }, func(k *knobs, x float64) { k.heap, k.bridged = 0.84+0.26*x, true }},
}

// trouble is what goes wrong with one machine.
type trouble struct {
	cause      judge.Cause
	way        way
	number     int
	severity   float64
	onset, end float64 // when it begins and is all there [s since the log began]
}

// goWrong draws how a trouble comes to a machine of so many rows whose log is so long [s].
func goWrong(r *rand.Rand, cause judge.Cause, rows int, length float64) *trouble {
	t := &trouble{cause: cause, way: pick(r, ways[cause]...), severity: between(r, 0.25, 1)}
	e, _ := judge.CauseOf(cause)
	t.number = either(e.Numbered, 1+r.IntN(rows), 0)
	old := min(3*3600*math.Pow(5*7*24/3.0, r.Float64()), 0.8*length)
	t.onset = length - old
	t.end = t.onset + old*either(r.Float64() < 0.5, between(r, 0.2, 0.9), 0) // half creep up
	if r.Float64() < 0.125 {                                                 // there from the first reading
		t.onset, t.end = 0, 0
	}
	return t
}

// at returns what is changed at a time.
func (t *trouble) at(now float64) knobs {
	var k knobs
	if t == nil || now < t.onset {
		return k
	}
	k.valve = t.number
	t.way(&k, t.severity*either(now < t.end, (now-t.onset)/(t.end-t.onset), 1))
	return k
}
