package outline

import "math"

// row is one row of cartridges: its cake in patches, its media, and what passed.
type row struct {
	cake  [patches]float64 // kg/m2
	media float64          // drag [Pa s/m]
	given float64          // drag [Pa s/m] that a trouble added
	dose  float64          // dust it took since new [hours of full production]
	g     float64          // conductance
	share float64          // of the flow
}

// stiff is the cake's drag per kg/m2 now: it grows with the pressure over it by a power law, and with damp.
func (w *world) stiff(k *knobs) float64 {
	cake := w.m.media.cake * k.cake * (1 + 0.7*w.s.tack)
	if w.m.media.squeeze > 0 {
		cake *= math.Exp(w.m.media.squeeze * math.Log(max(w.s.wind.dp, 50)/500))
	}
	return cake
}

// feel finds what a row lets through.
func (w *world) feel(k *knobs, i int, cake float64) {
	r := &w.s.row[i]
	r.given = k.given[i]
	base, g := r.media+r.given, 0.0
	for _, c := range r.cake {
		g += 1 / (base + cake*c)
	}
	r.g = g / patches
}

// join sums the rows up as parallel resistances into the drag of all [Pa s/m] and shares the flow out.
func (w *world) join() {
	sum := 0.0
	for i := range w.m.rows {
		sum += w.s.row[i].g
	}
	w.s.drag = float64(w.m.rows) / sum
	for i := range w.m.rows {
		w.s.row[i].share = w.s.row[i].g / sum
	}
}

// resist does so for all rows.
func (w *world) resist(k *knobs) {
	w.cake = w.stiff(k)
	for i := range w.m.rows {
		w.feel(k, i, w.cake)
	}
	w.join()
}

// lay brings dust onto the rows for a time: thin patches get more.
func (w *world) lay(k *knobs, dt float64) {
	m := w.m
	air := w.s.wind.filters * m.design
	mass := w.comes * k.dust * air * dt // all that comes [kg]
	fine := mass * (1 - m.dust.coarse*k.settles)
	w.fall(k, mass-fine)
	for i := range m.rows {
		r := &w.s.row[i]
		dose := fine * r.share / m.area
		w.spread(r, dose, w.cake)
		r.dose += dose / m.dust.hourly
		r.media = m.seasoned(r.dose)
	}
}

// seasoned is the drag of media that took so many hours of full production.
func (m *machine) seasoned(hours float64) float64 {
	return m.media.clean * (1 + m.media.season*hours/(hours+m.media.soon) + m.media.creep*hours/1000)
}

// spread lays kg/m2 onto a row's patches, as the air goes.
func (w *world) spread(r *row, dose, cake float64) {
	var g [patches]float64
	sum := 0.0
	for j, c := range r.cake {
		g[j] = 1 / (r.media + r.given + cake*c)
		sum += g[j]
	}
	dose *= patches / sum
	for j := range r.cake {
		r.cake[j] += dose * g[j]
	}
}

// shake is a pulse on a row: each patch lets go or does not; a part of what comes off goes back to the row
// below, the one above and itself.
func (w *world) shake(k *knobs, i int, strength float64) {
	m := w.m
	r := &w.s.row[i]
	grip := m.media.grip * strength / (1 + 2.5*w.s.tack) * k.release
	back := min(0.9, m.media.back+k.back)
	if !w.s.running {
		grip *= 1.5
		back *= 0.15
	}
	ref := 300 * m.area * float64(m.rows) / m.design / m.media.cake // cake of 300 Pa at design flow
	mass := 0.0
	for j, c := range r.cake {
		odds := grip * (0.5 + 0.7*min(c/ref, 2))
		if w.chance.Float64()*(1+odds) < odds {
			off := c * m.media.takes * min(1, 0.4+0.6*strength)
			r.cake[j] -= off
			mass += off / patches
		}
	}
	if mass == 0 {
		return
	}
	cake := w.cake
	below, above := min(i+1, m.rows-1), max(i-1, 0)
	w.spread(&w.s.row[below], 0.5*back*mass, cake)
	w.spread(&w.s.row[above], 0.2*back*mass, cake)
	w.spread(r, 0.3*back*mass, cake)
	w.fall(k, mass*(1-back)*m.area)
	w.feel(k, i, cake)
	w.feel(k, below, cake)
	w.feel(k, above, cake)
}

// fall lets dust into the bin; a flat hopper holds some back for a while.
func (w *world) fall(k *knobs, kg float64) {
	if k.bridge {
		w.s.hung += kg
		return
	}
	if w.m.bin.angle < 55 {
		w.s.hung += 0.3 * kg
		kg *= 0.7
		loose := 0.002 * w.s.hung
		w.s.hung -= loose
		kg += loose
	}
	w.s.bin += kg
}
