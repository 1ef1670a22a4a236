package fold

import "math"

const mostRows = 16

// row is what hangs behind one valve: two patches of cake in parallel, one bared lately and one that was not.
type row struct {
	fresh      float64 // share of the area that was bared last
	thin       float64 // dust on it [kg/m2]
	thick      float64 // dust on the rest
	passed     float64 // dust met since it was fitted [kg/m2]
	blind      float64 // drag that came to stay, over that of media and seasoning
	since      float64 // when it was pulsed last [s]
	vel        float64 // face velocity now [m/s]
	kept       float64 // area that still passes air, as a share
	sThin      float64 // drag of the patches now [Pa s/m]
	sThick     float64
	drag, hole float64 // of the row; conductance of a hole [m3/s at 1 Pa^0.5]
}

// mean is the dust on a row [kg/m2].
func (r *row) mean() float64 { return r.fresh*r.thin + (1-r.fresh)*r.thick }

// cloth is what the rows have in common.
type cloth struct {
	media, season, ripe float64 // drag new, drag that seasoning adds [Pa s/m], dust it takes for that [kg/m2]
	creep               float64 // drag that stays, per dust met [Pa s/m per kg/m2]
	throat              float64 // loss in the cartridge's neck per velocity squared
	k2, squeeze         float64 // drag per dust at 1 kPa [1/s] and its growth with pressure
	bares               float64 // share of the area that a good pulse bares
	back                float64 // share that flies up again
	stays               float64 // share of the dust on a bared spot that stays
	usual, sloughs      float64 // dust on a row when cleaning is due [kg/m2]; share of much more that slides off as the fan stops
}

// drags reckons the rows' drag at a pressure difference.
func (s *sim) drags() {
	c, k := &s.m.cloth, &s.k
	k2 := c.k2 * k.k2 * math.Pow(clamp(s.x, 60, 4000)/1000, c.squeeze)
	for i := range s.m.rows {
		r := &s.row[i]
		stay := c.media + c.season*(1-math.Exp(-r.passed/c.ripe)) + c.creep*r.passed + r.blind + k.blind[i]*(c.media+c.season)
		r.sThin, r.sThick = stay+k2*r.thin, stay+k2*r.thick
		r.kept = 1 - k.lost[i]
		r.drag = 1 / (r.kept * (r.fresh/r.sThin + (1-r.fresh)/r.sThick))
		r.hole = k.hole[i] * s.m.flow / float64(s.m.rows) / math.Sqrt(1000)
	}
}

// through is the flow through all rows at a pressure difference, with its slope; it leaves the rows' velocities.
func (s *sim) through(x float64) (q, slope float64) {
	t := s.m.cloth.throat * s.air.dense
	for i := range s.m.rows {
		r := &s.row[i]
		d := r.drag * s.air.sticky
		v := (math.Sqrt(d*d+4*t*x) - d) / (2 * t)
		r.vel = v
		h := r.hole * math.Sqrt(x)
		q += s.m.area*v + h
		slope += s.m.area/(2*t*v+d) + h/(2*x)
	}
	return q, slope
}

// settle finds the pressure difference across the filters at which fan and system meet, starting from the last.
func (s *sim) settle() {
	s.drags()
	x := math.Max(s.x, 20)
	for range 40 {
		q, dq := s.through(x)
		left, dl := s.air.spare(&s.m.fan, q)
		step := (left - x) / (dl*dq - 1)
		next := x - step
		if next <= 0.2*x {
			next = 0.2 * x
		} else if next > 3*x {
			next = 3 * x
		}
		done := math.Abs(next-x) < 0.02+1e-5*x
		x = next
		if done {
			break
		}
	}
	s.x = x
	s.q, _ = s.through(x)
}

// dust lays what the air carries on the rows for a while [s].
func (s *sim) dust(dt float64) {
	hoods := s.air.hoods(s.q)
	made := s.m.gen * s.load * s.k.load * math.Pow(clamp(hoods/s.m.flow, 0.02, 3), s.m.capture)
	up := s.carry() // dust the bin gives back
	drop := s.m.drop * (1 - 0.8*up)
	s.toBin(made * drop * dt)
	flying := made*(1-drop) + 0.9*up*s.m.gen*math.Min(1, s.q/s.m.flow)
	conc := flying / math.Max(s.q, 0.05*s.m.flow)
	for i := range s.m.rows {
		r := &s.row[i]
		c := conc
		if up > 0 { // the lower rows get more of what is whirled up
			c *= 1 + up*(2*float64(i)/float64(max(1, s.m.rows-1))-1)
		}
		x := r.vel * r.drag // across the cake, without the neck
		r.thin += c * x / r.sThin * dt
		r.thick += c * x / r.sThick * dt
		r.passed += c * r.vel * dt
	}
	s.made += made * dt
}

// knock is a pulse into a row: strength 1 is a good one. It returns the dust that came off [kg].
func (s *sim) knock(i int, strength, now float64) float64 {
	c, r := &s.m.cloth, &s.row[i]
	hold := s.k.hold * (1 + s.wet*2.2)
	part := c.bares * s.k.bares * (1 - 0.6*s.wet) * (1 - math.Exp(-1.7*math.Pow(strength, 1.6)/hold)) / (1 - math.Exp(-1.7))
	running := s.running
	if running {
		part *= 1.08 - 0.1*math.Min(2, r.vel*s.m.area*float64(s.m.rows)/s.m.flow)
	} else {
		part *= 1.15
	}
	part = clamp(part, 0, 0.96)
	old, young := part, 0.35*part
	if r.thin > 0.7*r.thick { // as good as one cake
		young = 0.9 * part
	}
	bare := old*(1-r.fresh) + young*r.fresh
	off := (1 - c.stays) * (old*(1-r.fresh)*r.thick + young*r.fresh*r.thin)
	left := r.mean() - off
	if bare > 0.02 {
		thin := c.stays * (old*(1-r.fresh)*r.thick + young*r.fresh*r.thin) / bare
		r.thick = math.Max(0, (left-bare*thin)/(1-bare))
		r.thin, r.fresh = thin, bare
	}
	r.since = now
	kg := off * s.m.area
	s.fallen(i, kg, running)
	return kg
}

// slough lets heavy cake slide off as the air stops.
func (s *sim) slough() {
	c := &s.m.cloth
	for i := range s.m.rows {
		r := &s.row[i]
		off := c.sloughs * r.thick / (1 + c.usual/math.Max(r.thick, 1e-9)) * (1 - 0.8*s.wet)
		r.thick -= off
		s.toBin(off * (1 - r.fresh) * s.m.area)
	}
}

// fallen shares the dust that came off a row between bin, that row and its neighbours.
func (s *sim) fallen(i int, kg float64, running bool) {
	back := 0.03
	if running {
		back = s.m.cloth.back * math.Min(2, s.q/s.m.flow) * s.k.back
	}
	back = clamp(back+0.5*s.carry(), 0, 0.95)
	s.toBin(kg * (1 - back))
	n := s.m.rows
	give := func(j int, share float64) {
		if j < 0 || j >= n {
			j = i
		}
		r := &s.row[j]
		w := kg * back * share / s.m.area
		r.thin += w
		r.thick += w
	}
	give(i, 0.45)
	give(i+1, 0.4)
	give(i-1, 0.15)
}
