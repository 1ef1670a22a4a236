package judge

import (
	"math"
	"strings"

	"dustwright/sense"
	"dustwright/unit"
)

// sight is one thing seen, on a scale on which 0 is what a sound collector shows and 1 is worth a
// second look.
type sight struct {
	key  key
	x    float64
	says func(unit.System) string // the fact as a clause with numbers; nil where another sight of the quantity says it
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
	out = levels(in, kept(in, out))
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

// trimmed reports that where the damper stands is no finding for a cause that is the damper's: somebody noted to have moved
// it, or the airflow by what is read is not on the side of design on which the cause brings it.
func trimmed(f *sense.Features, c Cause) bool {
	flow := known(f.Get(sense.FlowShare).Now)
	if onlyDesign(f) {
		flow = math.NaN()
	}
	switch c {
	case AirflowHigh:
		return damperTold(f) || flow < 1+nearDesign
	case AirflowLow:
		return damperTold(f) || flow > 1-nearDesign
	}
	return false
}

// nearDesign is how far the airflow may lie off design, as a share of it, and still be that of design: a damper that stands
// elsewhere than it used to was trimmed then. Common practice, no source.
const nearDesign = 0.03

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

// known reports the term that says only that the sight was there.
func (t *term) known() bool { return strings.HasSuffix(t.name, "?") }

// culpritScale is the log likelihood ratio of the valves that is worth a second look. Common practice, no source.
const culpritScale = 3

// bends are how many times what is worth a second look each bend of a sight reaches: a header that has lost a quarter is
// not one that has lost nearly all, and a valve that never opens shows it a hundred times over.
var bends = [...]float64{1, 4, 16}

// TermNames names the terms of a sight that stands on the side of x: what the valves say counts in full, every sight by its
// bends, each side of 0 by itself, and by having been seen at all.
func TermNames(sight string, x float64) []string {
	side := "+"
	if x < 0 {
		side = "-"
	}
	var out []string
	culprit := strings.HasPrefix(sight, Culprits)
	if culprit {
		out = append(out, sight)
	}
	name := sight
	for range bends {
		name += side
		out = append(out, name)
	}
	if group := key(sight).group(); !culprit && (group == sight || sight[len(group)] == ':') {
		out = append(out, sight+"?")
	}
	return out
}

// TermValues appends to out what the terms of a sight are, in the order of TermNames; one more at the end means nothing
// where that names none.
func TermValues(out []float64, sight string, x float64) []float64 {
	if strings.HasPrefix(sight, Culprits) {
		out = append(out, x)
		x /= culpritScale
	}
	for _, b := range bends {
		out = append(out, math.Tanh(math.Abs(x)/b))
	}
	return append(out, 1)
}

// terms bends the sights.
func terms(seen []sight) []term {
	var out []term
	var values []float64
	for i, s := range seen {
		if s.x != s.x {
			continue
		}
		values = TermValues(values[:0], string(s.key), s.x)
		for j, n := range TermNames(string(s.key), s.x) {
			if values[j] != 0 {
				out = append(out, term{n, values[j], i})
			}
		}
	}
	return out
}

// Sights returns what is seen, by name, on a scale on which 0 is what a sound collector shows and 1 worth a second look,
// for those who fit or check the model.
func Sights(in Input) map[string]float64 { return byName(observe(in, facts(in.Features))) }

// byName are the sights that have a place on their scale.
func byName(seen []sight) map[string]float64 {
	out := map[string]float64{}
	for _, s := range seen {
		if s.x == s.x {
			out[string(s.key)] = s.x
		}
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
