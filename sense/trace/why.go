package trace

import (
	"fmt"
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// gauge prints a header pressure: the trade reads headers in psi, never in inches of water.
type gauge float64

// In prints the pressure.
func (g gauge) In(sys unit.System) string {
	p := float64(g)
	if sys == unit.SI {
		return fmt.Sprintf("%.0f kPa", p/1e3)
	}
	return fmt.Sprintf("%.1f psi", p/6894.757293168)
}

// explain writes the sentences: what is wrong with each valve, with all alike, and what limits the
// answer.
func (w *work) explain(r *Result) {
	for i := range r.Valves {
		v := &r.Valves[i]
		v.Why = w.why(*v, r)
		if v.Unsure {
			v.Why = collector.Say("%s%s", v.Why, w.doubt(*v))
		}
	}
	if w.silent {
		t := collector.Say("the header does not fall on any marked turn: no valve fires, so look first at what they share, the controller's output and its wiring, and whether the transmitter is open to the header")
		r.Whole = &t
	} else if known(w.hint.drop) && w.hint.drop < 0.9*w.centre.ref {
		if f := w.centre.drop / w.hint.drop; f < 0.55 || f > 1.8 {
			t := collector.Say("all valves alike take %s; from the collector file about %s is to be expected (on-time, valve flow, header volume)", gauge(w.centre.drop), gauge(w.hint.drop))
			r.Whole = &t
		}
	}
	w.notes(r)
}

// why is the reason for a valve's state.
func (w *work) why(v Valve, r *Result) collector.Text {
	b := w.beliefs[w.order.position[v.Number]]
	usual := gauge(w.centre.drop)
	switch {
	case v.State == StuckOpen:
		return w.whyStuck(v)
	case b.looks == 0:
		return collector.Say("no turn of it could be judged: the header was too low or the readings are missing")
	case v.State == Dead && w.silent:
		return collector.Say("the header does not fall on %s", turns(v.Due))
	case v.State == Dead:
		return collector.Say("the header does not fall on %s; the others take %s", turns(v.Due), usual)
	case v.State == Weak && b.kind[isFitful] > b.kind[isWeak]:
		return collector.Say("fires on %d of its %d turns only", v.Count-v.Doubles, v.Due)
	case v.State == Weak:
		return collector.Say("takes %s where the others take %s (%.2f of it)%s", gauge(v.Drop), usual, v.Share, w.shortOrSmall(v, r))
	case v.Late:
		return collector.Say("fires, but takes %s where the others take %s: it closes late", gauge(v.Drop), usual)
	case v.Doubles > 0:
		return collector.Say("takes %s as the others do, and opens a second time on %d of %d turns", gauge(v.Drop), v.Doubles, v.Due)
	case v.Count < v.Due:
		return collector.Say("takes %s as the others do, on %d of %d turns", gauge(v.Drop), v.Count, v.Due)
	}
	if v.Due == 1 {
		return collector.Say("takes %s as the others do, on its one turn", gauge(v.Drop))
	}
	return collector.Say("takes %s as the others do, on each of %d turns", gauge(v.Drop), v.Due)
}

// turns says on how many turns out of as many.
func turns(n int) string {
	if n == 1 {
		return "its one turn"
	}
	return fmt.Sprintf("any of its %d turns", n)
}

// shortOrSmall tells a valve that opens too short from one that opens too little, where the rate of
// fall shows it.
func (w *work) shortOrSmall(v Valve, r *Result) collector.Text {
	var sum, n float64
	for _, o := range r.Valves {
		if o.State == OK && !math.IsNaN(float64(o.Open)) {
			sum += float64(o.Open)
			n++
		}
	}
	if n < 1 || math.IsNaN(float64(v.Open)) {
		return collector.Say("")
	}
	switch f := float64(v.Open) / (sum / n); {
	case f < 0.78:
		return collector.Say("; the header falls as steeply but not as long: it opens too short")
	case f > 0.88:
		return collector.Say("; the header falls as long but less steeply: it opens too little")
	}
	return collector.Say("")
}

// whyStuck tells how the bleeding shows.
func (w *work) whyStuck(v Valve) collector.Text {
	pos := w.order.position[v.Number]
	for _, f := range w.fits {
		switch {
		case f.kind == tight || f.kind == drawn || f.valve >= 0 && f.valve != pos:
			continue
		case f.kind == forGood:
			g := f.bleed[0]
			return collector.Say("from its turn at %.1f s on the header bleeds and settles near %s; before, it held %s", w.turns[f.onset].at, gauge(settled(f, g, w.ambient)), gauge(w.centre.ref))
		case f.kind == holds:
			return collector.Say("after its turns the header goes on bleeding, while it recovers after the others")
		case f.kind == spell:
			return collector.Say("after its turn at %.1f s the header bleeds for %.1f s, then recovers", w.turns[f.onset].at, w.xs[f.hi-1].to-w.turns[f.onset].at)
		case f.kind == midway:
			return collector.Say("from about %.1f s on the header bleeds, and its turns are silent from then on", w.xs[f.lo].from)
		default:
			moved := collector.Say("and on this valve's turn it does not fall further")
			if v.Count > 0 && v.Share > 0.1 {
				moved = collector.Say("and on this valve's turn it falls only %.2f of what the others take", v.Share)
			}
			return collector.Say("the header stands at %s where %s is set, %s: it is open already", gauge(f.supply.level), gauge(w.set), moved)
		}
	}
	return collector.Say("the header bleeds after its turns")
}

// doubt names the next likely state.
func (w *work) doubt(v Valve) collector.Text {
	b := w.beliefs[w.order.position[v.Number]]
	all := map[State]float64{OK: b.kind[isOK] + b.kind[isLong], Weak: b.kind[isWeak] + b.kind[isFitful], Dead: b.kind[isDead], StuckOpen: b.stuck}
	next, p := State(""), 0.0
	for _, s := range []State{OK, Weak, Dead, StuckOpen} {
		if s != v.State && all[s] > p {
			next, p = s, all[s]
		}
	}
	if p < 0.05 {
		return collector.Say("; the trace tells little about it")
	}
	return collector.Say("; not sure: it may be %s (%.0f %%)", string(next), 100*p)
}

// notes says what limits the answer.
func (w *work) notes(r *Result) {
	say := func(format string, args ...any) { r.Notes = append(r.Notes, collector.Say(format, args...)) }
	if r.Relative {
		say("nothing in the trace tells the valves' numbers: they are counted from the first turn in it, valve %d at %.1f s", w.order.number[w.turns[0].index%w.n], w.turns[0].at)
	}
	if r.Cycles < 1.9 {
		say("%.1f cycles: with two or more, a chance miss can be told from a bad valve", r.Cycles)
	}
	if w.s.rate < 18 {
		say("%.0f readings a second; 20 or more show the bottom of a pulse", w.s.rate)
	}
	if nominal := w.nominal; known(nominal) && math.Abs(w.interval/nominal-1) > 0.04 {
		say("the pulses come every %.1f s, the collector file says %.1f s", w.interval, nominal)
	}
	for j, t := range w.turns {
		if t.pause {
			say("the controller paused %.0f s before valve %d", t.at-w.turns[max(0, j-1)].at, w.order.number[t.index%w.n])
			break
		}
	}
	if w.s.spikes > 0 {
		say("%d single readings stood far outside and were left out", w.s.spikes)
	}
	if r.Refill.Recovered < 0.95 {
		say("the header is back to %.0f %% of the drop only before the next pulse: the supply is short, and every pulse after the first is weaker for it", 100*r.Refill.Recovered)
	}
	if r.Bleed.Possible && r.Bleed.Valve == 0 {
		say("the header stands at %s where %s is set: it leaks, or the regulator is set lower; no single valve stands out", gauge(w.centre.ref), gauge(w.set))
	}
}
