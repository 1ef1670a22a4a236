package judge

import (
	"fmt"
	"math"

	"dustwright/sense"
	"dustwright/unit"
)

// leads is a quantity that another moves with while nothing is wrong with that one: by what power of it.
type leads struct {
	of    sense.Quantity
	power float64
	mark  key
}

// follows lists them. The air follows the filters' dP, since the fan moves along its curve as the dust builds up
// and is cleaned off: a filter that takes a third to a half of the system's pressure makes it a sixth to a quarter
// for the airflow, twice that for a pressure (square law), and about half for the motor; common practice, no
// source. What a pulse takes out of the header goes with the pressure in it (flow through a valve is choked: in
// proportion to the pressure before it). What passes the filters, how fast the dP rises and how often it must be
// cleaned go with the dust that comes.
var follows = map[key][]leads{
	"flow": {{sense.DPRaw, -0.2, beyond}}, "inlet": {{sense.DPRaw, -0.4, beyond}},
	"amps": {{sense.DPRaw, -0.12, beyond}}, "watts": {{sense.DPRaw, -0.15, beyond}},
	"header-drop": {{sense.HeaderLevel, 1, beyond}},
	"emission":    {{sense.BinRate, 1, overBin}, {sense.DustTaken, 1, overTaken}, {sense.RiseRate, 1, overRise}},
	"rise":        {{sense.BinRate, 1, overBin}, {sense.DustTaken, 1, overTaken}},
	"busy":        {{sense.BinRate, 1, overBin}, {sense.DustTaken, 1, overTaken}, {sense.RiseRate, 1, overRise}},
}

// Marks of what a quantity shows beyond the dust that comes, told by the bin's rise, by what is taken out of it,
// and by the rise of the dP.
const (
	overBin   = "/over-bin"
	overTaken = "/over-taken"
	overRise  = "/over-rise"
)

// along is what a quantity shows beyond what those that it follows explain: a machine that has just
// cleaned for long moves more air than on average without anything being wrong, and a header that stands low
// falls less at a pulse.
func (k *quantity) along(in Input, m sense.Measure, out []sight) []sight {
	for _, l := range follows[k.key] {
		out = k.over(in, m, l, out)
	}
	return out
}

// kept looks whether cleaning takes the same share of the header's absolute pressure as ever although the header stands lower:
// a regulator turned down leaves the air it passes as free as before, a valve that blows and a line that starves do not. It is 1
// where the share is known to be the same and the level is well off, 0 where either is not so.
func kept(in Input, out []sight) []sight {
	level, share := in.Features.Get(sense.HeaderLevel), in.Features.Get(sense.HeaderEmptied)
	off := ratio.at(known(level.Now)) - ratio.at(known(level.Normal))
	d := ratio.at(known(share.Now)) - ratio.at(known(share.Normal))
	if off != off || d != d {
		return out
	}
	sigma := ratio.width(share.Now.Value, width(share.Now))
	alike := math.Max(0, 1-math.Hypot(d, sigma)/keptScale)
	return append(out, sight{"emptied/kept", alike * math.Tanh(math.Max(0, -off)/loweredScale), func(unit.System) string {
		return fmt.Sprintf("cleaning takes %.0f %% of the header's absolute pressure, as ever, although the header stands lower", 100*share.Now.Value)
	}})
}

// keptScale is the log ratio within which cleaning takes the same share out of the header, loweredScale that by which the header
// must stand lower for that to tell. Common practice, no source.
const keptScale, loweredScale = 0.1, 0.1

// over adds what the quantity shows beyond one that leads it.
func (k *quantity) over(in Input, m sense.Measure, l leads, out []sight) []sight {
	other := in.Features.Get(l.of)
	from, usual := known(other.Normal), known(m.Normal)
	if !(from > 0) || usual != usual {
		return out
	}
	for _, look := range [...]struct {
		mark     key
		now, led sense.Estimate
	}{{l.mark, m.Now, other.Now}, {fresh + l.mark, m.Fresh, other.Fresh}} {
		x, led := known(look.now), known(look.led)
		if !(led > 0) {
			continue
		}
		way := l.power * math.Log(led/from)
		d := k.form.at(x) - k.form.at(usual)
		if k.key == "inlet" { // suction stands below zero
			d = -d
		}
		if d -= way; d != d {
			continue
		}
		unsure := math.Hypot(0.5*way, finite(m.Spread)/math.Abs(usual))
		if l.mark != beyond {
			unsure = math.Hypot(math.Hypot(finite(m.Spread)/math.Abs(usual), math.Abs(l.power)*width(look.led)/led), math.Abs(l.power)*finite(other.Spread)/from)
		}
		out = append(out, sight{k.key + look.mark, d / math.Hypot(k.scale, unsure), nil})
	}
	return out
}
