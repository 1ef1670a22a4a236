package judge

import (
	"math"

	"dustwright/sense"
)

// follows is by how much, in the log, a quantity of the air falls for each unit that the log of the filters'
// dP rises while nobody touches anything: the fan moves along its curve as the dust builds up and is cleaned
// off. A filter that takes a third to a half of the system's pressure makes it a sixth to a quarter for the
// airflow, twice that for a pressure (square law), and about half for the motor. Common practice, no source.
var follows = map[key]float64{"flow": 0.2, "inlet": 0.4, "amps": 0.12, "watts": 0.15}

// along is what a quantity shows beyond what the filters' dP, as read, explains: a machine that has just
// cleaned for long moves more air than on average without anything being wrong.
func (k *quantity) along(in Input, m sense.Measure, out []sight) []sight {
	e, ok := follows[k.key]
	raw := in.Features.Get(sense.DPRaw)
	from, usual := known(raw.Normal), known(m.Normal)
	if !ok || !(from > 0) || usual != usual {
		return out
	}
	for _, look := range [...]struct {
		mark    key
		now, dp sense.Estimate
	}{{beyond, m.Now, raw.Now}, {fresh + beyond, m.Fresh, raw.Fresh}} {
		x, dp := known(look.now), known(look.dp)
		if !(dp > 0) {
			continue
		}
		way := e * math.Log(dp/from)
		d := k.form.at(x) - k.form.at(usual)
		if k.key == "inlet" { // suction stands below zero
			d = -d
		}
		if d += way; d == d {
			out = append(out, sight{k.key + look.mark, d / math.Hypot(k.scale, math.Hypot(0.5*way, finite(m.Spread)/math.Abs(usual))), nil})
		}
	}
	return out
}
