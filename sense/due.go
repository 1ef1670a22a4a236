package sense

import "math"

// dueRows is how many pulses that were due are kept until their turns are told.
const dueRows = 32

// Due is where the pulses stand that no log names nor counts, but that the header shows: a controller that goes by its clock fires
// every interval, so that between two falls some intervals apart the pulses were due that drew no air. It is exported for gob.
type Due struct {
	Last   int64   // when the header last fell [unix ns]; 0 none that the next could follow
	Before float64 // header before the next row [Pa]
	Most   float64 // most it fell in a row since Last [Pa]
	Usual  float64 // usual fall [Pa]; 0 none yet
	N      int32
	Rows   [dueRows]DueRow
	Turn   int                  // of the first of Rows, or of the next
	Going  bool                 // Rows go on where others, whose turns are known, ended
	Seen   [mostTurns][2]uint32 // how often the header fell in each turn, and how often not
}

// DueRow is a pulse that was due. It is exported for gob.
type DueRow struct {
	T         int64
	Fall, Ref float64 // of the header, and its level before [Pa]
	Missed    bool
}

// A fall counts as on time within dueNear of the interval. Fewer than leastDues pulses show no turn, and dueFast is how much of
// the interval a row may take. Common practice, no source.
const (
	dueNear   = 0.25
	leastDues = 3
	dueFast   = 0.6
	usualPart = 0.05 // by which each fall moves the usual one
)

// due follows the pulses of a controller that cleans by the clock, or says that it cleans, where the log has none.
func (p *airPass) due(set machineFacts, st *State) {
	logged := st.Named || p.h.Seen>>Pulse&1 == 1
	if logged || p.low == nil || set.valves < 2 || set.valves > mostTurns || !(p.w.step > 0 && p.w.step < dueFast*set.interval) {
		return
	}
	d := &p.s.Due
	for i, x := range p.low {
		ref := d.Before
		d.Before = x
		if y := at(p.ch.col[Header], i); !(y <= x) && y == y {
			d.Before = y
		}
		on := p.w.run[i] && (p.w.clean[i] || !p.w.flags && set.timed)
		if !on || x != x || !(ref > 0) || !(p.w.gap[i] <= 1.5*p.w.step) {
			p.endDue(set)
			continue
		}
		if fall := ref - x; fall > max(firstFall*ref, noDropShare*d.Usual) {
			p.fell(DueRow{T: p.ch.t[i], Fall: fall, Ref: ref}, set)
		} else {
			d.Most = max(d.Most, fall)
		}
	}
}

// fell takes in a fall, and the pulses that were due between the one before and it.
func (p *airPass) fell(r DueRow, set machineFacts) {
	d := &p.s.Due
	if d.Last > 0 {
		gap := float64(r.T-d.Last) * 1e-9 / set.interval
		k := math.Round(gap)
		switch {
		case gap <= dueNear: // still the same pulse
			return
		case math.Abs(gap-k) > dueNear || k > float64(set.valves):
			p.endDue(set)
		default:
			for j := 1.0; j < k; j++ {
				p.addDue(DueRow{T: d.Last + int64(j*set.interval*1e9), Fall: d.Most, Ref: r.Ref, Missed: true}, set)
			}
		}
	}
	p.addDue(r, set)
	if d.Usual == 0 {
		d.Usual = r.Fall
	}
	d.Usual += usualPart * (r.Fall - d.Usual)
	d.Last, d.Most = r.T, 0
}

// addDue keeps a pulse, and tells the turns of those before it where there are enough.
func (p *airPass) addDue(r DueRow, set machineFacts) {
	d := &p.s.Due
	if d.N == dueRows {
		p.placeDue(set)
		d.Going = true
	}
	d.Rows[d.N] = r
	d.N++
}

// endDue ends a row of pulses: how many are due until the header falls again nobody knows.
func (p *airPass) endDue(set machineFacts) {
	d := &p.s.Due
	if d.Going || d.N >= leastDues {
		p.placeDue(set)
	}
	d.Last, d.Most, d.N, d.Going = 0, 0, 0, false
}

// placeDue writes the pulses into the day's counts by their turns.
func (p *airPass) placeDue(set machineFacts) {
	d := &p.s.Due
	rows := d.Rows[:d.N]
	if !d.Going {
		d.Turn = d.likeliest(rows, set.valves)
	}
	for i := range rows {
		r, valve := &rows[i], uint8(d.Turn+1)
		f := p.h.firing(p.h.day(r.T/1e9), maskOf(valve), valve)
		f.Rows++
		f.fell(r.Fall, r.Ref)
		if r.Missed {
			d.Seen[d.Turn][1]++
			f.missed(r.T)
		} else {
			d.Seen[d.Turn][0]++
			f.dropped(r.T)
		}
		d.Turn = (d.Turn + 1) % set.valves
	}
	p.h.Turns, d.N = true, 0
}

// likeliest is the turn of the first pulse by which they miss and fall as those before did, each in its turn.
func (d *Due) likeliest(rows []DueRow, valves int) int {
	best, most := d.Turn, math.Inf(-1)
	for k := range valves {
		first, l := (d.Turn+k)%valves, 0.0
		for i := range rows {
			seen := d.Seen[(first+i)%valves]
			missed := Edge{seen[0] + seen[1], seen[1]}.usual()
			if !rows[i].Missed {
				missed = 1 - missed
			}
			l += math.Log(max(missed, strayLack))
		}
		if l > most {
			best, most = first, l
		}
	}
	return best
}
