package fold

// knobs is all that a story or a trouble can turn on a machine, as it stands at one moment.
type knobs struct {
	load, k2, bares, hold, back float64 // dust made; its drag; area a pulse bares; how it clings; share that flies up again
	blind, lost, hole           [mostRows]float64

	duct, shut, leak  float64 // ducts' conductance left; share of it that a branch closes; openings, over the ducts' conductance
	speed, head, slip float64 // of the fan
	wheel             float64 // share of shaft power a fouled wheel still takes
	goal              float64 // what an automatic holds, over its set point
	setMix, setTo     float64 // damper moved to a position, seen at its pointer
	slipMix, slipTo   float64 // blade elsewhere than its pointer

	dead         bool // controller does not pulse
	startUp      float64
	high, lower  float64 // set points over what they were
	pace         float64 // interval over what it was
	abort        int     // ends a cleaning after so many pulses; 0 never
	noDowntime   bool
	moreDowntime int

	set, supply, lineDip, headerLeak float64
	misses, opens, lasts, tube       [mostRows]float64
	bleeds, late                     [mostRows]float64
	lateBleed                        float64
	unseen                           [mostRows]bool // its pulses do not get into the log

	lagDirty, lagClean     float64 // of plugged lines [s]
	crackDirty, crackClean float64 // share of ambient pressure let in
	even                   float64 // share by which the two sides are joined
	crossed                bool

	wetAir, pulseWater, dew float64
	humid, hot              float64 // added to humidity, temperature

	noEmpty bool
	emptyAt float64 // over what it was
	bridge  float64 // share of the falling dust that stays in the hopper
	lift    float64 // how much a full bin gives back
}

// still is the machine as built.
func still() knobs {
	k := knobs{load: 1, k2: 1, bares: 1, hold: 1, back: 1, duct: 1, speed: 1, head: 1, wheel: 1, goal: 1, high: 1, lower: 1,
		pace: 1, set: 1, supply: 1, emptyAt: 1, lift: 0.35}
	for i := range mostRows {
		k.opens[i], k.lasts[i], k.tube[i] = 1, 1, 1
	}
	return k
}
