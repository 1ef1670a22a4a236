package ear

import (
	"math"
	"slices"
)

// heard is a row with all its places measured.
type heard struct {
	*row
	list  []burst
	group group
	form  *template
	count int     // places that sound
	worth float64 // how much likelier a place is with its pulse than without, each held [ln]
}

// worthHeld is how much one place may speak for a row [ln].
const worthHeld = 40

// attend measures all places of a row; nil where they make no pulse.
func (s *sound) attend(r *row) *heard {
	list, quiet, g := s.gather(r)
	h := &heard{row: r, list: list, group: g}
	if h.form = s.draw(list, quiet, &g); h.form == nil {
		return nil
	}
	s.hear(h.form, list, quiet, &h.group)
	list = s.edges(h.form, list, &h.group)
	h.list = list
	for i := range list {
		if list[i].heard {
			h.count++
		}
		h.worth += math.Max(0, math.Min(worthHeld, list[i].alike-h.group.limit))
	}
	h.worth /= float64(len(list))
	return h
}

// best attends to the best row, and where that is doubtful to others too.
func (s *sound) best(rows []*row) *heard {
	var best *heard
	for _, r := range rows[:min(tried, len(rows))] {
		h := s.attend(r)
		if h != nil && (best == nil || h.worth > best.worth) {
			best = h
		}
		if best != nil && best.worth > 0.8*worthHeld && best.rival < rivalLimit {
			return best
		}
		if h == nil {
			continue
		}
		if again := s.search(s.likeness(h.form), s.candidates(r.interval, 0.03)); again != nil {
			if h = s.attend(again); h != nil && h.worth > best.worth {
				best = h
			}
		}
	}
	return best
}

// tried is how many rows are attended to at most.
const tried = 3

// conclude says what each valve does, from the rows found.
func (s *sound) conclude(rows []*row, spec Spec) (*Result, error) {
	h := s.best(rows)
	if h == nil {
		return nil, unusable("no pulses stand out of the noise; %s", closer)
	}
	if err := h.doubtful(); err != nil {
		return nil, err
	}
	s.doubles(h.form, h.list, h.row, &h.group)
	first, last := due(h.list, spec.Valves, float64(s.frames)*s.step, s.step, h.interval)
	res := &Result{}
	res.fill(s, h.list[first:last+1], h.row, &h.group, spec)
	return res, nil
}

// draw draws the template of the group from the places that look most like one another.
func (s *sound) draw(list, quiet []burst, g *group) *template {
	var strong, clean []burst
	for _, b := range list {
		if b.strength >= 0.5*g.usual && b.inside {
			strong = append(strong, b)
			if !b.hissing {
				clean = append(clean, b)
			}
		}
	}
	if len(clean) >= 2 {
		strong = clean
	}
	if len(strong) < 2 {
		return nil
	}
	t := s.template(strong, quiet, g.n)
	for range 2 {
		if t == nil {
			return nil
		}
		for i := range strong {
			s.settle(t, &strong[i], 3, 3)
		}
		t = s.template(strong, quiet, g.n)
	}
	return t
}

// edges takes silent places beside a rest away, since none need be due there, and adds those that sound.
func (s *sound) edges(t *template, list []burst, g *group) []burst {
	step := usualStep(list)
	for i := 1; i < len(list); i++ {
		if !list[i].paused {
			continue
		}
		for i < len(list) && !list[i].heard {
			list = slices.Delete(list, i, i+1)
		}
		for i > 0 && !list[i-1].heard {
			list = slices.Delete(list, i-1, i)
			i--
		}
		if i == 0 || i == len(list) {
			break
		}
		list[i].paused = true
		for {
			b := s.take(list[i-1].frame+int(step), g.n)
			if !s.fills(t, &b, g) || float64(list[i].frame-b.frame) < 0.6*step {
				break
			}
			list = slices.Insert(list, i, b)
			i++
		}
		for {
			b := s.take(list[i].frame-int(step), g.n)
			if !s.fills(t, &b, g) || float64(b.frame-list[i-1].frame) < 0.6*step {
				break
			}
			b.paused, list[i].paused = true, false
			list = slices.Insert(list, i, b)
		}
		list[i].paused = float64(list[i].frame-list[i-1].frame) > (1+restLeast)/2*step
	}
	return list
}

// fills looks for a pulse near a place and says whether there is one.
func (s *sound) fills(t *template, b *burst, g *group) bool {
	if !b.inside {
		return false
	}
	s.settle(t, b, reach, lateReach)
	s.fit(t, b)
	b.heard = b.sounds(g) && s.begins(t, *b, g)
	return b.heard
}

// Reach of a place, within which its pulse is looked for [frames].
const (
	reach     = 9
	lateReach = 20
)

// hear sets of each place how likely it holds a pulse and how loud that would be.
func (s *sound) hear(t *template, list, quiet []burst, g *group) {
	var null []float64
	for i := range quiet {
		s.settle(t, &quiet[i], reach, lateReach)
		s.fit(t, &quiet[i])
		null = append(null, quiet[i].likely)
	}
	if len(null) > 0 {
		g.between = quantile(null, 0.9)
	}
	g.quiet = quiet
	g.limit = g.limitOf(1)
	for pass := range 2 {
		if pass > 0 {
			s.straighten(list, g)
		}
		for i := range list {
			b := &list[i]
			due := b.frame
			s.settle(t, b, reach, lateReach)
			s.fit(t, b)
			b.heard = b.sounds(g)
			if b.heard && !s.begins(t, *b, g) {
				// A hiss that ends may hide how a pulse begins; what follows then has to tell.
				b.frame = due
				s.settle(t, b, 2, 2)
				s.fitFrom(t, b, min(2, len(t.cells)-1))
				b.heard = b.sounds(g)
			}
		}
	}
}

// limitOf is how likely so many places of one valve together have to be to hold its pulses [ln]: more than nearly all of as
// many places between pulses.
func (g *group) limitOf(places int) float64 {
	var null []float64
	for i := range g.quiet {
		sum := g.quiet[i].apart
		for j := 1; j < places; j++ {
			sum = added(sum, g.quiet[(i+j*7)%len(g.quiet)].apart)
		}
		null = append(null, slices.Max(sum[:]))
	}
	if len(null) == 0 {
		return leastLikely
	}
	return math.Max(leastLikely, 1.25*quantile(null, 0.95))
}

// sounds says whether a pulse is likely there, and not one fainter than pulses are.
func (b *burst) sounds(g *group) bool { return audible(b.likely-g.limit, b.level, &b.bass) }

// audible says whether so much likeliness beyond the limit [ln] of a pulse of a level [dB] is enough, or so much bass: a
// dull pulse is one and so is one faint in bass and treble alike, but a pilot that clicks is none.
func audible(beyond, level float64, bass *[levels]float64) bool {
	if beyond <= 0 {
		return false
	}
	sure, low, _ := peak(bass[:])
	evenly := beyond > clearly && level > faintest-5 && low > level-3
	return level > faintest || sure > leastLikely && (low > faintest+2 || evenly)
}

// clearly is how much likelier than enough a very faint pulse has to be [ln].
const clearly = 40

// begins says whether a place is heard over what sounds just before it too: a hiss that ends is no pulse.
func (s *sound) begins(t *template, b burst, g *group) bool {
	louder := 0.0
	for k := range bands {
		before := s.mean(k, b.frame-9, b.frame-3)
		if before > b.noise[k] {
			louder += t.weight[k][0] * math.Log(before/b.noise[k])
			b.noise[k] = before
		}
	}
	if louder < 0.1 {
		return true
	}
	s.fit(t, &b)
	return b.likely > g.limit
}

// straighten puts silent places where their neighbours that sound say a pulse was due. Over a rest nothing is said.
func (s *sound) straighten(list []burst, g *group) {
	step := usualStep(list)
	for i := range list {
		if list[i].heard {
			continue
		}
		a, b := i, i
		for a >= 0 && !list[a].heard {
			if list[a].paused {
				a = 0
			}
			a--
		}
		for b < len(list) && !list[b].heard {
			if b++; b < len(list) && list[b].paused {
				b = len(list)
			}
		}
		frame := 0
		switch {
		case a >= 0 && b < len(list):
			frame = list[a].frame + (list[b].frame-list[a].frame)*(i-a)/(b-a)
		case a >= 0:
			frame = list[a].frame + int(step*float64(i-a))
		case b < len(list):
			frame = list[b].frame - int(step*float64(b-i))
		}
		if frame > 0 && frame < s.frames {
			moved := s.take(frame, g.n)
			moved.strength, moved.ratio, moved.paused = list[i].strength, list[i].ratio, list[i].paused
			list[i] = moved
		}
	}
}

// usualStep is from one place to the next, rests aside [frames].
func usualStep(list []burst) float64 {
	var v []float64
	for i := 1; i < len(list); i++ {
		if !list[i].paused {
			v = append(v, float64(list[i].frame-list[i-1].frame))
		}
	}
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	cut := len(v) / 4
	return mean(v[cut : len(v)-cut])
}

// leastLikely is how much likelier a pulse has to be than none, to be heard [ln].
const leastLikely = 5

const closer = "lay the phone closer to the collector, away from the fan, and record at least one whole cycle while it cleans"

// doubtful refuses what is no row of pulses.
func (h *heard) doubtful() error {
	switch {
	case h.count < 2 || float64(h.count) < 0.3*float64(len(h.list)):
		return unusable("no regular row of pulses stands out of the noise; %s", closer)
	case h.rival > rivalLimit && !(h.worth > worthSure && h.usual() > betweenLimit*h.group.between):
		return unusable("other sounds come as often and as loud as the pulses would, as in music or steady hammering; record again when it is quieter, closer to the collector")
	}
	return nil
}

// usual is how likely the pulses heard usually are [ln].
func (h *heard) usual() float64 {
	var v []float64
	for i := range h.list {
		if h.list[i].heard {
			v = append(v, h.list[i].likely)
		}
	}
	return quantile(v, 0.5)
}

// A row whose places are worth so much [ln], so many times what lies between them, is one for all its rivals.
const (
	worthSure    = 20
	betweenLimit = 2.5
)

// rivalLimit is how much of the row's reward a row between its places may get.
const rivalLimit = 0.8

// doubles looks for a second pulse like the group's soon after each one heard. What follows most
// pulses at the same time is the room or the pulse itself.
func (s *sound) doubles(t *template, list []burst, r *row, g *group) {
	var after []int
	heard := 0
	for i := range list {
		b := &list[i]
		if !b.heard {
			continue
		}
		heard++
		until := b.frame + int(math.Min(0.45*r.interval, 2)/s.step)
		best, top := 0, 0.0
		again := *b
		for f := b.frame + max(14, g.n/2+6); f < min(until, s.frames-g.n); f++ {
			again.frame = f
			if m := s.match(t, &again, 0); m > top {
				best, top = f, m
			}
		}
		if best == 0 || top < 0.5*b.match {
			continue
		}
		again.frame = best
		for k := range bands {
			again.noise[k] = math.Max(b.noise[k], s.mean(k, best-9, best-3))
		}
		s.fit(t, &again)
		if again.likely > math.Max(g.limit, 0.15*b.likely) && again.level > b.level-5 {
			b.double = best
			after = append(after, best-b.frame)
		}
	}
	for i := range list {
		b := &list[i]
		same := 0
		for _, d := range after {
			if d-b.double+b.frame <= 4 && b.double-b.frame-d <= 4 {
				same++
			}
		}
		if heard > 3 && 2*same > heard {
			b.double = 0
		}
	}
}

// due returns the first and the last place of the row at which a pulse was really due. Cleaning may
// begin after the recording and end before it: a silent place at an end counts only where its valve is
// not heard anywhere else.
func due(list []burst, valves int, seconds, step, interval float64) (first, last int) {
	last = len(list) - 1
	for first < last && !list[first].heard {
		first++
	}
	for last > first && !list[last].heard {
		last--
	}
	if valves == 0 {
		return first, last
	}
	before, after := first, len(list)-1-last // silent places to either side
	front := float64(list[first].frame) * step
	back := seconds - float64(list[last].frame)*step
	for last-first+1 < valves && before+after > 0 {
		if before > 0 && (front >= back || after == 0) {
			first, before, front = first-1, before-1, front-interval
		} else {
			last, after, back = last+1, after-1, back-interval
		}
	}
	elsewhere := func(i int) bool {
		for k := first; k <= last; k++ {
			if (k-i)%valves == 0 && list[k].heard {
				return true
			}
		}
		return false
	}
	for before > 0 && last-first+1 >= valves && list[first-1].inside && !elsewhere(first-1) {
		first, before = first-1, before-1
	}
	for after > 0 && last-first+1 >= valves && list[last+1].inside && !elsewhere(last+1) {
		last, after = last+1, after-1
	}
	return first, last
}
