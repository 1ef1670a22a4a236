package stencil

import "math"

// patches is how many patches of cake each row is reckoned with.
const patches = 7

// row is the cloth behind one valve: patches of cake that a pulse bares or leaves, each as it happens.
type row struct {
	load    [patches]float64 // [g/m2]
	pass    [patches]float64 // conductance of each per area, [m/(Pa s)]
	open    float64          // mean of them
	leak    float64          // of a hole, over the area of the row [m/(Pa s)]
	bare    float64          // mean penetration over that of bare media
	share   float64          // of the machine's area
	residue float64          // beyond that of the other rows [Pa s/m]
}

// drag is that of a patch [Pa s/m]: what is under the cake, and the cake by a power of its load.
func (s *shop) drag(base, load, firm float64) float64 {
	if load <= 0 {
		return base
	}
	return base + s.coef*firm*math.Pow(load, s.n)
}

// firmness is how much more a cake resists under a dP [Pa] than at 600 Pa.
func (s *shop) firmness(dp float64) float64 { return math.Pow(max(100, dp)/600, s.squeeze) }

// base is the drag without cake: media, and what stays in it for good as the root of the dust fed.
func (w *world) base() float64 {
	return w.media + w.old + w.root*math.Sqrt(w.total/w.year)*(1+0.5*w.level(blinded)) + w.clog
}

// settle reckons the conductance of a row anew.
func (w *world) settle(r *row) {
	base := w.base() + r.residue
	sum, bare := 0.0, 0.0
	for i, load := range r.load {
		r.pass[i] = 1 / w.drag(base, load, w.firm*w.wet)
		sum += r.pass[i]
		bare += 1 / (1 + load*load/110)
	}
	r.open, r.bare = sum/patches+r.leak, 0.03+bare/patches
}

// feed lays dust on the patches, each by the air it passes, and returns how much passed the cloth [g].
func (w *world) feed(grams, dp float64) float64 {
	var total float64
	for i := range w.cloth {
		total += w.cloth[i].share * w.cloth[i].open
	}
	if total <= 0 || grams <= 0 {
		return 0
	}
	passed := 0.0
	for i := range w.cloth {
		r := &w.cloth[i]
		mine := grams * r.share * r.open / total
		hole := mine * r.leak / r.open
		through := hole + (mine-hole)*w.fine*r.bare
		passed += through
		stays := (mine - through) / (w.area * r.share) // [g/m2]
		inner := (r.open - r.leak) * patches
		for p := range r.load {
			r.load[p] += stays * r.pass[p] / inner * patches
		}
		w.settle(r)
	}
	w.total += (grams - passed) / w.area
	w.firm = w.firmness(dp)
	return passed
}

// puff bares patches of a row with a chance that grows with the pulse's energy over that of a full one, and returns
// what falls [g].
func (w *world) puff(r *row, energy, face float64) float64 {
	chance := w.grip * (1 - math.Exp(-2.2*math.Pow(max(0, energy), 1.4))) / (1 + 25*face)
	chance *= 1 - 0.35*w.hygro*max(0, w.air.humidity-0.7)/0.3
	chance *= (1 - 0.8*w.level(damp)) * (1 - 0.5*w.level(blinded))
	fell := 0.0
	for p := range r.load {
		if w.chance.Float64() < chance {
			kept := 0.04 * w.chance.Float64()
			fell += r.load[p] * (1 - kept)
			r.load[p] *= kept
		}
	}
	w.settle(r)
	return fell * w.area * r.share / patches
}

// slough lets some of the cake fall by its own weight when the air stands still, the more the thicker it hangs.
func (w *world) slough() {
	usual := math.Pow(300*w.area/w.design/w.coef, 1/w.n)
	for i := range w.cloth {
		r := &w.cloth[i]
		for p, load := range r.load {
			falls := load * min(0.35, 0.03*load/usual)
			r.load[p] -= falls
			w.falls += falls * w.area * r.share / patches
		}
		w.settle(r)
	}
}

// caked is all the dust that sits on the cloth [g].
func (w *world) caked() float64 {
	sum := 0.0
	for i := range w.cloth {
		for _, load := range w.cloth[i].load {
			sum += load * w.area * w.cloth[i].share / patches
		}
	}
	return sum
}

// conductance is that of all rows together per area [m/(Pa s)].
func (w *world) conductance() float64 {
	sum := 0.0
	for i := range w.cloth {
		sum += w.cloth[i].share * w.cloth[i].open
	}
	return sum
}
