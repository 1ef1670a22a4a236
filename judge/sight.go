package judge

import (
	"math"
	"strings"

	"dustwright/sense"
)

// sight is one thing seen, on a scale on which 0 is what a sound collector shows and 1 is worth a
// second look.
type sight struct {
	key  key
	x    float64
	says func() string // the fact as a clause with numbers; nil where another sight of the quantity says it
}

// key names what is seen: the quantity, and behind a mark what it is held against. "raw" is held against
// the collector's own normal, "raw/sure" the same in its own uncertainty, "raw/fresh" the last hours
// alone, "raw/onset" the jump or bend found in it, "raw/trend" where it goes, "flow/beyond" what
// the filters' dP does not explain of it, and "raw:high" a fixed
// reference.
type key string

// Marks behind the quantity's name in a key.
const (
	sure   = "/sure"
	fresh  = "/fresh"
	onset  = "/onset"
	trend  = "/trend"
	beyond = "/beyond"
)

// group is the quantity of a key: of all sights of one quantity only the one that tells most is given as
// a reason.
func (k key) group() string {
	for i := range k {
		if k[i] == '/' || k[i] == ':' {
			return string(k[:i])
		}
	}
	return string(k)
}

// damper reports a sight of where the damper stands or what was done to it.
func (k key) damper() bool {
	return k.group() == "damper" || k == "changed:"+sense.DamperMove || k == "moved:"+sense.DamperMove
}

// observe lists what is seen, leaving out what the record does not show; each is what is seen of each valve.
func observe(in Input, each []valveSights) []sight {
	var out []sight
	for i := range quantities {
		out = quantities[i].see(in, out)
	}
	out = levels(in, out)
	out = reading(in, out)
	out = valves(each, out)
	return changed(in, out)
}

// changed looks at what was done to the machine lately: new filters and moved set points explain much. Of
// what can be moved both ways it also sees which way: a damper that was opened may be open too far.
func changed(in Input, out []sight) []sight {
	for _, kind := range [...]string{"filters", "damper", "setpoint-high", "setpoint-low", "header-set"} {
		age, way := math.Inf(1), math.NaN()
		for _, c := range in.Features.Changes {
			if old := in.Features.At.Sub(c.At).Hours() / 24; c.Kind == kind && c.Confidence > 0.5 && old < age {
				age, way = old, math.Log(c.After/c.Before)
			}
		}
		if x := math.Exp(-age / changeFades); x > 0.01 {
			out = append(out, sight{key: key("changed:" + kind), x: x})
		}
		if fade := math.Exp(-age / moveFades); kind != "filters" && fade > 0.05 && way == way {
			out = append(out, sight{key: key("moved:" + kind), x: math.Max(-farthest, math.Min(farthest, way)) / moveScale * fade})
		}
	}
	return out
}

// damperTold reports that the last move of the damper is one that somebody noted.
func damperTold(f *sense.Features) bool {
	for i := len(f.Changes) - 1; i >= 0; i-- {
		if c := &f.Changes[i]; c.Kind == sense.DamperMove {
			return c.Logged
		}
	}
	return false
}

// changeFades and moveFades are how long a change and its direction matter [days]; moveScale is the log
// ratio of a move that is worth a second look.
const (
	changeFades = 10
	moveFades   = 25
	moveScale   = 0.15
)

// term is one number the model weighs: a sight bent so that what is far out counts no more than a few
// times what is worth a second look.
type term struct {
	name string
	x    float64
	from int // index of the sight
}

// culpritScale is the log likelihood ratio of the valves that is worth a second look. Common practice, no source.
const culpritScale = 3

// farOut and farthestOut are how many times what is worth a second look the broader bends of a sight reach: a header
// that has lost a quarter is not one that has lost nearly all, and a valve that never opens shows it a hundred times over.
const (
	farOut      = 4
	farthestOut = 16
)

// terms bends the sights: each side of 0 by itself, on three scales, and whether it was seen at all.
func terms(seen []sight) []term {
	var out []term
	for i, s := range seen {
		if s.x != s.x {
			continue
		}
		side, x := "+", s.x
		if x < 0 {
			side, x = "-", -x
		}
		name := string(s.key)
		if strings.HasPrefix(name, Culprits) {
			out = append(out, term{name, s.x, i})
			x /= culpritScale
		}
		if x > 0 {
			out = append(out, term{name + side, math.Tanh(x), i}, term{name + side + side, math.Tanh(x / farOut), i},
				term{name + side + side + side, math.Tanh(x / farthestOut), i})
		}
		if strings.HasPrefix(name, Culprits) {
			continue
		}
		if s.key.group() == name || name[len(s.key.group())] == ':' {
			out = append(out, term{name + "?", 1, i})
		}
	}
	return out
}

// Terms returns the numbers a judgement is made from, by name, for those who fit or check the model.
func Terms(in Input) map[string]float64 {
	out := map[string]float64{}
	for _, t := range terms(observe(in, facts(in.Features))) {
		out[t.name] = t.x
	}
	return out
}

// known returns the value of an estimate, NaN where it has none.
func known(e sense.Estimate) float64 {
	if !e.Known() {
		return math.NaN()
	}
	return e.Value
}

// width returns the standard uncertainty of an estimate, 0 where it is not known.
func width(e sense.Estimate) float64 { return finite(e.Sigma) }

// finite returns v, and 0 for what is no finite number.
func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}
