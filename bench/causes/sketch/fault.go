package sketch

import (
	"math"
	"math/rand/v2"
)

const none = "none"

// causes are the names of what can be wrong, as the design has them.
var causes = [...]string{"filters-blinded", "dust-load-heavy", "cake-damp", "airflow-high", "airflow-low", "duct-blocked", "leak-inward",
	"fan-weak", "cleaning-off", "header-pressure-low", "valve-dead", "valve-weak", "valve-stuck-open", "gauge-line-blocked",
	"gauge-line-off", "filter-leak", "bin-overfull"}

// fault is what is wrong, since when, and in which of its ways.
type fault struct {
	cause    string
	number   int
	severity float64
	old      float64 // days
	onset    float64 // days since the start
	ramp     float64 // days until it is there in full, 0 for at once
	way      int     // a cause's variant
	extent   float64 // a number within the variant, 0 to 1
}

func drawFault(r *rand.Rand, m *machine, want wish) fault {
	healthy := r.Float64() < healthyShare
	f := fault{cause: causes[r.IntN(len(causes))], severity: uniform(r, 0.25, 1), way: r.IntN(12), extent: r.Float64()}
	number := 1 + r.IntN(m.rows)
	f.old = math.Exp(uniform(r, math.Log(0.15), math.Log(28)))
	ramped, slow, fromStart := r.Float64() < 0.5, uniform(r, 0.1, 1), r.Float64() < startShare
	switch {
	case want.cause != "":
		f.cause, f.severity, f.old = want.cause, want.severity, want.old
		ramped, fromStart = false, false
	case healthy:
		f.cause = none
	}
	switch f.cause {
	case none:
		return fault{cause: none, onset: math.Inf(1)}
	case "valve-dead", "valve-weak", "valve-stuck-open", "filter-leak":
		f.number = number
	case "filters-blinded":
		if want.cause == "" {
			f.old, ramped = f.old+10, true
		}
	}
	switch f.cause {
	case "valve-dead", "cleaning-off", "gauge-line-off":
		f.severity = 1 - 0.4*(1-f.severity)
	}
	if ramped {
		f.ramp = slow // as a share of old until placed
	}
	if fromStart {
		f.onset, f.ramp = -1, 0
	}
	return f
}

// placed lets the fault come up so many days before the end, early enough that the fan has run
// for two hours since.
func (f fault) placed(c clock, s *shifts) fault {
	if f.cause == none {
		return f
	}
	if f.onset < 0 {
		f.old = c.length()
		return f
	}
	f.old = min(f.old, c.length()-8)
	i, ran := c.steps-1, 0.0
	for ; i > 0 && (ran < 7200 || c.length()-c.days(i) < f.old); i-- {
		if s.on[i] {
			ran += c.step
		}
	}
	f.old = c.length() - c.days(i)
	f.onset = c.days(i)
	f.ramp *= f.old
	if f.cause != "filters-blinded" {
		f.ramp = min(f.ramp, 6)
	}
	return f
}

// grown is how far the fault has come at a day, 0 to its severity.
func (f fault) grown(day float64) float64 {
	switch {
	case day < f.onset:
		return 0
	case f.ramp == 0:
		return f.severity
	}
	return f.severity * min(1, (day-f.onset)/f.ramp)
}

// effect is what the machine feels of a fault at one time; whole is a sound machine.
type effect struct {
	residual, cake, bite, dust float64 // factors
	back                       float64 // share of pulsed-off dust that returns, added
	inlet                      float64 // factor of the ducts' loss
	hole                       float64 // air by an opening, as a share of what the ducts pass
	pressure, speed            float64 // of the fan, factors
	flowTo                     float64 // the damper lets this share of design flow through, 0 for as set
	slipped                    bool    // its position does not show it
	idle, mute                 bool    // the controller does not call; its outputs do not work
	supply, refill             float64 // header at rest, speed of its refill: factors
	valve                      float64 // how much the numbered valve opens
	bleed                      float64 // share of the header's pressure that an open valve takes for good
	lag                        float64 // of the sensing line [s]
	scale, offset              float64 // of the reading
	flutter                    float64 // of the reading
	leak                       float64 // of a row, 0 to 1
	full                       float64 // bin beyond its fill, 0 to 1
}

var whole = effect{residual: 1, cake: 1, bite: 1, dust: 1, inlet: 1, pressure: 1, speed: 1, supply: 1, refill: 1, valve: 1, scale: 1}

// effect at a day, with the humidity of the air.
func (f fault) effect(day, humidity float64) effect {
	e := whole
	s := f.grown(day)
	if s == 0 {
		return e
	}
	switch f.cause {
	case "filters-blinded":
		e.residual, e.bite = 1+(0.35+1.0*f.extent)*s+0.3*s*s, 1-0.5*s
	case "dust-load-heavy":
		e.dust = 1 + (1.2+1.8*f.extent)*s
	case "cake-damp":
		wet := s // oil out of the process
		if f.way%2 == 0 {
			wet = s * min(1, max(0.3, (humidity-0.2)/0.4))
		}
		e.cake, e.bite = 1+2.2*wet, 1-0.75*wet
	case "duct-blocked":
		e.inlet = 1 + 2.2*s
	case "leak-inward":
		e.hole = 0.06 + 0.5*s
	case "bin-overfull":
		e.full, e.back, e.dust = s, 0.65*s, 1+0.6*s
	case "filter-leak":
		e.leak = s
	}
	f.onAir(&e, s)
	f.onCleaning(&e, s, day)
	f.onGauge(&e, s)
	return e
}

func (f fault) onAir(e *effect, s float64) {
	switch f.cause {
	case "airflow-high":
		e.flowTo, e.slipped = 1.06+0.25*s, f.way%4 == 0
	case "airflow-low":
		e.flowTo, e.slipped = 0.94-0.38*s, f.way%4 == 0
	case "fan-weak":
		switch f.way % 3 {
		case 0: // the belt slips
			e.speed = 1 - 0.05 - 0.2*s
		case 1: // the wheel is fouled
			e.pressure = 1 - 0.08 - 0.35*s
		default: // worn, both
			e.speed, e.pressure = 1-0.1*s, 1-0.05-0.2*s
		}
	}
}

func (f fault) onCleaning(e *effect, s, day float64) {
	switch f.cause {
	case "cleaning-off": // for good, or by a bad contact for most of the hours
		hour := math.Floor(day*24) * 12.9898
		noise := math.Abs(math.Mod(math.Sin(hour)*43758.5, 1))
		off := s > 0.85*f.severity && noise < 0.7+0.32*s
		e.idle, e.mute = off && f.way%3 != 0, off && f.way%3 == 0
	case "header-pressure-low":
		switch f.way % 3 {
		case 0: // the regulator is set or stuck low
			e.supply = 1 - 0.12 - 0.45*s
		case 1: // the supply line or the dryer is narrow
			e.refill = 1 / (1 + 7*s)
		default:
			e.supply, e.refill = 1-0.05-0.3*s, 1/(1+2.5*s)
		}
	case "valve-dead":
		e.valve = 0
	case "valve-weak":
		e.valve = 1 - 0.25 - 0.55*s
	case "valve-stuck-open":
		e.bleed = 0.3 + 0.6*s
	}
}

func (f fault) onGauge(e *effect, s float64) {
	switch f.cause {
	case "gauge-line-blocked":
		e.lag = 300 * math.Exp(6.5*s)
	case "gauge-line-off":
		switch f.way % 4 {
		case 0: // off
			e.scale, e.offset, e.flutter = 0.02, 10*(f.extent-0.5), 1
		case 1: // crossed
			e.scale = -1
		case 2: // cracked
			e.scale, e.flutter = 0.75-0.5*s, 6
		default: // one side open to the room
			e.scale, e.offset = -0.3*f.extent, -15*s
		}
	}
}
